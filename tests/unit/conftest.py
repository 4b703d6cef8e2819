"""What several tests need: the command line run in this process."""

from __future__ import annotations

import sys
from collections.abc import Callable

import pytest

from fixplan.cli import main

Run = Callable[..., tuple[int, str, str]]


@pytest.fixture
def run(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Run:
    """Run the command line in this process; returns exit status, standard output and standard error."""

    def go(*words: object) -> tuple[int, str, str]:
        monkeypatch.setattr(sys, "argv", ["fixplan", *map(str, words)])
        try:
            main()
        except SystemExit as stop:
            status = stop.code if isinstance(stop.code, int) else 0
        else:
            status = 0
        out, err = capsys.readouterr()
        return status, out, err

    return go
