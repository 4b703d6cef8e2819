"""What the commands share: their options, how a result is printed, and the folders of kits."""

from __future__ import annotations

from datetime import date
from enum import StrEnum
from pathlib import Path
from typing import Annotated, Any

import typer

EPILOG = (
    "Planning support and teaching only; not a medical device, not a treatment recommendation. "
    "Exit status: 0 done; 3 done, and something is short or a screw length is unknown (stock only); "
    "2 the input was refused; 1 an internal error."
)


class Format(StrEnum):
    """How a result is printed."""

    text = "text"
    json = "json"


class Series(StrEnum):
    """A published series of fifth metatarsals, by its source."""

    DES16 = "DES16"
    OCH15 = "OCH15"


class Construct(StrEnum):
    """Which construct of a plan is laid out."""

    screw = "screw"
    plate = "plate"


def _day(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise typer.BadParameter(f"'{text}' is not a date; write it as 2026-12-03") from None


OutOption = Annotated[
    Path, typer.Option("--out", help="Folder the files are written to; made if it is not there.", file_okay=True)
]
SpecsOption = Annotated[
    list[Path] | None,
    typer.Option("--specs", help="A folder of kits of your own, read beside ours. May be given more than once."),
]
OnlyOption = Annotated[bool, typer.Option("--only-specs", help="Read the folders of --specs instead of our kits.")]
OnOption = Annotated[
    Any, typer.Option("--on", parser=_day, metavar="DATE", help="Date the document bears; today by default.")
]
FormatOption = Annotated[Format, typer.Option("--format", help="Print the result as text or as JSON.")]
SeedOption = Annotated[int, typer.Option("--seed", min=0, help="Seed of the draws.")]
DrawsOption = Annotated[int, typer.Option("--draws", min=0, max=1_000_000, help="Number of draws; 0 for none.")]
# ten thousand draws give a share of one half to within one percentage point (two standard errors)
DRAWS = 10_000
# made-up patients held against a shelf: a share of one half to within two percentage points
COVERAGE_DRAWS = 2_000
# chance that one resupply meets all demand: a project default
SERVICE = 0.95


def folders(specs: list[Path] | None, only: bool) -> tuple[Path, ...]:
    from fixplan.problems import InputError, Problem
    from fixplan.resources import resource_dir

    own = tuple(specs or ())
    if only and not own:
        raise InputError([Problem("--only-specs", "no folder is given", "name one with --specs DIR")])
    for folder in own:
        if not folder.is_dir():
            raise InputError([Problem("--specs", f"'{folder}' is not a folder", "name a folder of kit files")])
    return own if only else (resource_dir("implant_specs"), *own)


def teller(output: Format) -> Any:
    """Where the reading of the shelf is told: before the result, and never inside JSON."""
    return lambda text: typer.echo(f"{text}\n", err=output is Format.json)


def show(result: Any, output: Format) -> None:
    typer.echo(result.json() if output is Format.json else result.text(), nl=False)
    if status := getattr(result, "status", 0):
        raise typer.Exit(status)
