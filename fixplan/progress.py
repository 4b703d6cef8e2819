"""A progress bar on standard error for work that takes more than a second; nothing where nobody watches."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager

PATIENCE_S = 1.0


@contextmanager
def progress_bar(what: str) -> Iterator[Callable[[int, int], None]]:
    """Yield a function to be told of (done, total); the bar appears after a second and only on a terminal."""
    start = time.monotonic()
    bar = None
    task = None

    def tell(done: int, total: int) -> None:
        nonlocal bar, task
        if bar is None:
            if done >= total or not sys.stderr.isatty() or time.monotonic() - start < PATIENCE_S:
                return
            from rich.console import Console
            from rich.progress import Progress

            bar = Progress(console=Console(stderr=True), transient=True)
            bar.start()
            task = bar.add_task(what, total=total)
        if task is not None:
            bar.update(task, completed=done)

    try:
        yield tell
    finally:
        if bar is not None:
            bar.stop()
