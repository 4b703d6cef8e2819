"""What draws cost: a plan with 10 000 draws beside the same plan without, and the time against the number of draws.

    python tests/bench/bench_draws.py [--cases zone-2-runner zone-2-stations ...] [--numbers 1000 10000 100000]

Seconds of processor time. "Solver" is the time inside the batched corridor and windows of the draws (`size`), all else
is drawing, choosing and summing up. The budget: with draws <= 3 x without + solver. Peak resident memory is told after
each number of draws.
"""

from __future__ import annotations

import argparse
import datetime
import resource
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

from fixplan.case import read_case
from fixplan.kits import load_kits
from fixplan.plan import draws
from fixplan.plan.make import make_plan
from fixplan.report.html import render_html
from fixplan.report.jsonio import render_json
from fixplan.resources import resource_dir

DAY = datetime.date(2026, 11, 25)


class Clock:
    """Adds up the processor time of a function."""

    def __init__(self, work: Callable[..., Any]) -> None:
        self.work, self.spent = work, 0.0

    def __call__(self, *args: Any, **more: Any) -> Any:
        start = time.process_time()
        found = self.work(*args, **more)
        self.spent += time.process_time() - start
        return found


def once(path: Path, number: int, clock: Clock) -> tuple[float, float]:
    """Seconds of the whole command after start-up (read, plan, both documents), and those of the solver."""
    clock.spent = 0.0
    start = time.process_time()
    plan = make_plan(read_case(path), load_kits(), DAY, draws=number)
    render_html(plan)
    render_json(plan)
    return time.process_time() - start, clock.spent


def peak() -> float:
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--cases", nargs="+", default=["zone-2-runner", "zone-2-stations", "zone-2-landmarks"])
    parser.add_argument("--numbers", nargs="+", type=int, default=[1_000, 10_000, 100_000])
    given = parser.parse_args()
    clock = Clock(draws.size)
    draws.size = clock  # type: ignore[assignment]
    for name in given.cases:
        path = Path(str(resource_dir("demo_cases") / f"{name}.toml"))
        once(path, 0, clock)  # start-up of SymPy and the templates
        plain = once(path, 0, clock)[0]
        print(f"{name}: without draws {plain:.2f} s")
        for number in given.numbers:
            whole, solver = once(path, number, clock)
            verdict = "within" if whole <= 3 * plain + solver else "over"
            print(
                f"  {number:>7} draws: {whole:6.2f} s, of it solver {solver:6.2f} s; "
                f"budget {3 * plain + solver:6.2f} s ({verdict}); "
                f"{1e6 * whole / number:6.0f} us a draw; peak {peak():.0f} MiB"
            )


if __name__ == "__main__":
    main()
