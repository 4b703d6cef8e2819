"""Lines in and out of a terminal, or of what stands in for one: plain text, 80 columns, no colour."""

from __future__ import annotations

import textwrap
from typing import TextIO

WIDTH = 80
LONGEST = 2000
"""Project default: the longest line read as an answer; a measurement is a few words."""


class Left(Exception):
    """The person left; the message says how."""


class Terminal:
    """Asks on `output`, reads from `source`."""

    def __init__(self, source: TextIO, output: TextIO) -> None:
        self._source, self._output = source, output

    def say(self, text: str = "", indent: str = "", label: str = "") -> None:
        """Print wrapped text; what follows `label` hangs under its first word."""
        start = indent + (f"{label:<8}" if label else "")
        lines = textwrap.wrap(
            text,
            WIDTH,
            initial_indent=start,
            subsequent_indent=" " * len(start),
            break_on_hyphens=False,
            break_long_words=False,  # a path has to stay whole to be copied
        )
        self.write("\n".join(lines or [start.rstrip()]) + "\n")

    def write(self, text: str) -> None:
        """Print text as it is; a sign the terminal cannot show gets a stand-in."""
        encoding = getattr(self._output, "encoding", None) or "utf-8"
        self._output.write(text.encode(encoding, errors="replace").decode(encoding))
        self._output.flush()

    def ask(self, prompt: str = "> ") -> str:
        """One line, without blanks at its ends. Raises Left at the end of the input and on `quit` or `exit`."""
        while True:
            self.write(prompt)
            try:
                line = self._source.readline(LONGEST)
            except UnicodeDecodeError:
                self.say("This line cannot be read as text. Write +/- for the plus-minus sign.", label="  !")
                continue
            if not line:
                self.write("\n")
                raise Left("The input has ended.")
            if len(line) >= LONGEST and not line.endswith("\n"):
                self._skip_line()
                self.say(f"The line is longer than {LONGEST} signs. Type a shorter answer.", label="  !")
                continue
            text = line.strip()
            if text.casefold() in ("quit", "exit"):
                raise Left("Left.")
            return text

    def choose(self, prompt: str, *answers: str) -> str:
        """One of `answers`; an empty line is the first of them. Raises Left as `ask` does."""
        while True:
            text = self.ask(prompt).casefold() or answers[0]
            for answer in answers:
                if text == answer or text == answer[0]:
                    return answer
            self.say(f"Type one of: {', '.join(answers)}. Enter means {answers[0]}.", label="  !")

    def _skip_line(self) -> None:
        while (rest := self._source.readline(LONGEST)) and not rest.endswith("\n"):
            pass
