"""The options that the theatre's commands share, declared once: the shelf, the lists beside it, kits, result."""

from __future__ import annotations

import functools
import inspect
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from fixplan.cli_options import (
    Format,
    FormatOption,
    OnlyOption,
    OnOption,
    OutOption,
    SeedOption,
    SpecsOption,
    folders,
)

if TYPE_CHECKING:
    from fixplan.commands_shelf import Given


@dataclass(frozen=True)
class Common:
    """What both commands are given."""

    given: Given
    resupply: int | None
    out: Path
    on: date
    output: Format
    seed: int


def common(
    shelf: Annotated[Path, typer.Option("--shelf", help="The shelf: CSV or .xlsx, one line per pack or lot.")],
    recalled: Annotated[
        Path | None,
        typer.Option(
            "--recalled",
            help="Recalled lots (CSV, .xlsx): lot (or all), or also item, GTIN, note.",
        ),
    ] = None,
    codes: Annotated[
        Path | None, typer.Option("--codes", help="Item code of each GTIN (CSV, .xlsx): gtin, item.")
    ] = None,
    resupply: Annotated[
        int | None,
        typer.Option("--resupply", min=0, help="Working days (Monday to Friday) from order to shelf."),
    ] = None,
    sheet: Annotated[str | None, typer.Option("--sheet", help="Sheet of the workbook that holds the shelf.")] = None,
    column: Annotated[
        list[str] | None,
        typer.Option("--column", metavar="HEADER=FIELD", help="What a column is, where its header is not understood."),
    ] = None,
    length_unit: Annotated[
        str, typer.Option("--length-unit", help="mm or cm, where no header of a length names it.")
    ] = "",
    one_per_line: Annotated[
        bool, typer.Option("--one-per-line", help="The shelf has no quantity column: each line is one piece.")
    ] = False,
    out: OutOption = Path(),
    specs: SpecsOption = None,
    only_specs: OnlyOption = False,
    on: OnOption = None,
    output: FormatOption = Format.text,
    seed: SeedOption = 0,
) -> Common:
    """The shared options as one value."""
    from fixplan.commands_shelf import Given, ShelfFile

    file = ShelfFile(shelf, sheet, tuple(column or ()), length_unit, one_per_line)
    given = Given(file, recalled, codes, folders(specs, only_specs))
    return Common(given, resupply, out, on or date.today(), output, seed)


def with_shelf(command: Callable[..., None]) -> Callable[..., None]:
    """A command whose first argument is Common, as one that takes the shared options beside its own."""
    shared = inspect.signature(common, eval_str=True).parameters
    own = list(inspect.signature(command, eval_str=True).parameters.values())[1:]

    @functools.wraps(command)
    def told(**words: Any) -> None:
        command(common(**{name: words.pop(name) for name in shared}), **words)

    first, *rest = (p.replace(kind=inspect.Parameter.KEYWORD_ONLY) for p in shared.values())
    mine = [p.replace(kind=inspect.Parameter.KEYWORD_ONLY) for p in own]
    told.__signature__ = inspect.Signature([first, *mine, *rest])  # type: ignore[attr-defined]
    return told
