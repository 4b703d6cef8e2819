"""The command line: parse, call one function, write or print. Heavy rooms are imported inside the commands."""

from __future__ import annotations

import os
import sys
from datetime import date
from enum import StrEnum
from pathlib import Path
from typing import Annotated, Any

import typer

from fixplan import __version__

# one thread per process keeps start-up short and timings steady; the arrays here are small
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

EPILOG = (
    "Planning support and teaching only; not a medical device, not a treatment recommendation. "
    "Exit status: 0 done; 3 done, and something is short (stock only); 2 the input was refused; 1 an internal error."
)
app = typer.Typer(
    name="fixplan",
    help="Plan the fixation of a metatarsal stress fracture: which screws or plates fit, and what the beams say.",
    epilog=EPILOG,
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
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


def _version(wanted: bool) -> None:
    if wanted:
        typer.echo(f"fixplan {__version__}")
        raise typer.Exit


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
ShelfOption = Annotated[Path, typer.Option("--shelf", help="The shelf: CSV or .xlsx, one line per pack or lot.")]
RecalledOption = Annotated[
    Path | None, typer.Option("--recalled", help="Recalled lots (CSV, .xlsx): lot, and optionally item, GTIN, note.")
]
CodesOption = Annotated[Path | None, typer.Option("--codes", help="Item code of each GTIN (CSV, .xlsx): gtin, item.")]
SheetOption = Annotated[str | None, typer.Option("--sheet", help="Sheet of the workbook that holds the shelf.")]
ColumnOption = Annotated[
    list[str] | None,
    typer.Option("--column", metavar="HEADER=FIELD", help="What a column is, where its header is not understood."),
]
LengthUnitOption = Annotated[str, typer.Option("--length-unit", help="mm or cm, where no header of a length names it.")]
OnePerLineOption = Annotated[
    bool, typer.Option("--one-per-line", help="The shelf has no quantity column: each line is one piece.")
]
# ten thousand draws give a share of one half to within one percentage point (two standard errors)
DRAWS = 10_000


@app.callback()
def root(
    version: Annotated[
        bool, typer.Option("--version", callback=_version, is_eager=True, help="Print the version and stop.")
    ] = False,
) -> None:
    """Plan the fixation of a metatarsal stress fracture."""


@app.command("plan", epilog=EPILOG)
def plan_command(
    case: Annotated[Path, typer.Argument(metavar="CASE.toml", help="The case file.")],
    out: OutOption = Path(),
    specs: SpecsOption = None,
    only_specs: OnlyOption = False,
    on: OnOption = None,
    output: FormatOption = Format.text,
    seed: SeedOption = 0,
    draws: DrawsOption = DRAWS,
) -> None:
    """Plan one case. Reads CASE.toml; writes LABEL-plan.html, .json and .csv into --out; prints a summary."""
    from fixplan.commands import plan_one

    _print(plan_one(case, out, _folders(specs, only_specs), on or date.today(), seed, draws), output)


@app.command("size", epilog=EPILOG)
def size_command(
    ray: Annotated[int, typer.Option("--ray", help="Metatarsal, 1 to 5.")],
    length: Annotated[str, typer.Option("--length", help="Length with its unit, for instance '71 mm'.")],
    canal: Annotated[str, typer.Option("--canal", help="Narrowest canal diameter, for instance '4.7 mm'.")],
    zone: Annotated[str, typer.Option("--zone", help="Ray 5: 1, 2 or 3; other rays: base, shaft or neck.")],
    specs: SpecsOption = None,
    only_specs: OnlyOption = False,
    on: OnOption = None,
    output: FormatOption = Format.text,
) -> None:
    """The quick answer without a file: windows, sizes and what was assumed. Writes nothing."""
    from fixplan.commands import quick

    _print(quick(ray, length, canal, zone, _folders(specs, only_specs), on or date.today()), output)


@app.command("compare", epilog=EPILOG)
def compare_command(
    case: Annotated[Path, typer.Argument(metavar="CASE.toml", help="The case file.")],
    construct: Annotated[
        list[str] | None,
        typer.Option(
            "--construct",
            help="Two to four times: screw, plate or an item code, then words if wanted: solid, hollow, steel, "
            "titanium, longer, shorter, wider, narrower, screws=N (a side of a plate), gap=open, gap=closed:60N. "
            "Without it the constructs under [compare] in the case file.",
        ),
    ] = None,
    out: OutOption = Path(),
    specs: SpecsOption = None,
    only_specs: OnlyOption = False,
    on: OnOption = None,
    output: FormatOption = Format.text,
) -> None:
    """Set two to four constructs side by side. Reads CASE.toml; writes LABEL-compare.html and .json into --out."""
    from fixplan.commands import compare_constructs

    _print(compare_constructs(case, construct or (), out, _folders(specs, only_specs), on or date.today()), output)


@app.command("stock", epilog=EPILOG)
def stock_command(
    shelf: ShelfOption,
    cases: Annotated[
        list[Path] | None,
        typer.Argument(metavar="[CASE.toml ...]", help="Case files, or plans written before (LABEL-plan.json)."),
    ] = None,
    theatre_list: Annotated[
        Path | None,
        typer.Option("--list", help="Theatre list (CSV, .xlsx or TOML): case file, date, order; instead of CASE."),
    ] = None,
    recalled: RecalledOption = None,
    codes: CodesOption = None,
    expiring: Annotated[
        int, typer.Option("--expiring-within", min=0, help="Mark what expires within so many days after its case.")
    ] = 30,
    resupply: Annotated[
        int | None, typer.Option("--resupply", min=0, help="Calendar days from order to shelf; gives the order-by day.")
    ] = None,
    uses: Annotated[
        int, typer.Option("--uses-per-day", min=1, help="Cases a day that one reusable instrument or tray serves.")
    ] = 1,
    construct: Annotated[
        Construct | None,
        typer.Option("--construct", help="Lay out this one; by default the screw where there is one, else the plate."),
    ] = None,
    sheet: SheetOption = None,
    column: ColumnOption = None,
    length_unit: LengthUnitOption = "",
    one_per_line: OnePerLineOption = False,
    out: OutOption = Path(),
    specs: SpecsOption = None,
    only_specs: OnlyOption = False,
    on: OnOption = None,
    output: FormatOption = Format.text,
    seed: SeedOption = 0,
    draws: DrawsOption = DRAWS,
) -> None:
    """Is every size and instrument on the shelf, in date on the day?

    Reads the shelf (CSV or .xlsx) and case files, each planned for its own planned_for date, or a theatre list. Tells
    how the shelf was read, then writes theatre-list.html, LABEL-pick.html for each case, order.csv, order.xlsx and
    stock.json into --out. The sizes are those of `fixplan plan` with the same draws and seed. Exit status: 0 covered;
    3 something is short; 2 refused, and nothing is written.
    """
    from fixplan.commands_stock import ShelfFile, Terms, stock

    result = stock(
        cases or (),
        theatre_list,
        ShelfFile(shelf, sheet, tuple(column or ()), length_unit, one_per_line),
        recalled,
        codes,
        _folders(specs, only_specs),
        Terms(on or date.today(), expiring, resupply, uses, construct, seed, draws),
        out,
        _teller(output),
    )
    _print(result, output)


@app.command("coverage", epilog=EPILOG)
def coverage_command(
    shelf: ShelfOption,
    population: Annotated[
        Path | None,
        typer.Option("--population", help="Past cases (CSV, .xlsx): item used, or ray, length, canal, zone."),
    ] = None,
    kit: Annotated[
        list[str] | None, typer.Option("--kit", help="A kit to choose sizes from; by default those on the shelf.")
    ] = None,
    series: Annotated[
        Series, typer.Option("--series", help="Published series that patients are drawn from; the two disagree.")
    ] = Series.DES16,
    zone: Annotated[int, typer.Option("--zone", min=1, max=3, help="Fracture zone of the drawn patients.")] = 2,
    share: Annotated[
        float | None, typer.Option("--share", help="Wanted share of patients; by default the threshold room_coverage.")
    ] = None,
    rate: Annotated[float | None, typer.Option("--rate", help="Cases a week; with --resupply gives the depth.")] = None,
    resupply: Annotated[int | None, typer.Option("--resupply", min=0, help="Days from order to shelf.")] = None,
    service: Annotated[
        float, typer.Option("--service", help="Chance that one resupply meets all demand (project default).")
    ] = 0.95,
    recalled: RecalledOption = None,
    codes: CodesOption = None,
    sheet: SheetOption = None,
    column: ColumnOption = None,
    length_unit: LengthUnitOption = "",
    one_per_line: OnePerLineOption = False,
    out: OutOption = Path(),
    specs: SpecsOption = None,
    only_specs: OnlyOption = False,
    on: OnOption = None,
    output: FormatOption = Format.text,
    seed: SeedOption = 0,
    draws: Annotated[
        int, typer.Option("--draws", min=100, max=100_000, help="Made-up patients of the published population.")
    ] = 2000,
) -> None:
    """Whom does the shelf serve, which sizes to hold, and how many of each?

    Reads the shelf and, unless --population names past cases, draws patients from published means and spreads. Writes
    coverage.html and coverage.json into --out: share served today, smallest set, trade-off curve, depth of stock.
    """
    from fixplan.commands_coverage import Aims, Group, cover
    from fixplan.commands_stock import ShelfFile
    from fixplan.sources import threshold

    result = cover(
        ShelfFile(shelf, sheet, tuple(column or ()), length_unit, one_per_line),
        population,
        kit or (),
        Group(series, zone),
        Aims(threshold("room_coverage").value if share is None else share, service, rate, resupply),
        recalled,
        codes,
        _folders(specs, only_specs),
        on or date.today(),
        draws,
        seed,
        out,
        _teller(output),
    )
    _print(result, output)


@app.command("specs", epilog=EPILOG)
def specs_command(
    specs: SpecsOption = None,
    only_specs: OnlyOption = False,
    thresholds: Annotated[
        bool, typer.Option("--thresholds", help="Print every planning threshold with its origin instead.")
    ] = False,
    sources: Annotated[bool, typer.Option("--sources", help="Print every source instead.")] = False,
    output: FormatOption = Format.text,
) -> None:
    """List and check kits. Reads the kits of the project and of --specs; says what is wrong by file, table and key."""
    from fixplan.commands import list_sources, list_specs, list_thresholds

    if thresholds:
        _print(list_thresholds(), output)
    elif sources:
        _print(list_sources(), output)
    else:
        _print(list_specs(_folders(specs, only_specs)), output)


@app.command("demo", epilog=EPILOG)
def demo_command(
    out: OutOption = Path("reports/demo"),
    on: OnOption = None,
) -> None:
    """Plan every demo case (all invented) into --out, by default the folder reports/demo."""
    from fixplan.commands import demo

    typer.echo(demo(out, on or date(2026, 11, 25)))


@app.command("validate", epilog=EPILOG)
def validate_command(
    out: OutOption = Path("reports"),
) -> None:
    """Compare the mechanics with published examples, libraries, solids and bench tests; writes validation.html."""
    from fixplan.commands_validate import validate

    typer.echo(validate(out))


@app.command("new", epilog=EPILOG)
def new_command(
    target: Annotated[Path | None, typer.Argument(metavar="[CASE.toml]", help="The file to write.")] = None,
) -> None:
    """Ask for the measurements one by one, each with what it is and how to take it, and write the case file."""
    from fixplan.interview import run

    raise typer.Exit(run(target, sys.stdin, sys.stdout))


def _teller(output: Format) -> Any:
    """Where the reading of the shelf is told: before the result, and never inside JSON."""
    return lambda text: typer.echo(f"{text}\n", err=output is Format.json)


def _folders(specs: list[Path] | None, only: bool) -> tuple[Path, ...]:
    from fixplan.problems import InputError, Problem
    from fixplan.resources import resource_dir

    own = tuple(specs or ())
    if only and not own:
        raise InputError([Problem("--only-specs", "no folder is given", "name one with --specs DIR")])
    for folder in own:
        if not folder.is_dir():
            raise InputError([Problem("--specs", f"'{folder}' is not a folder", "name a folder of kit files")])
    return own if only else (resource_dir("implant_specs"), *own)


def _print(result: Any, output: Format) -> None:
    typer.echo(result.json() if output is Format.json else result.text(), nl=False)
    if status := getattr(result, "status", 0):
        raise typer.Exit(status)


def main() -> None:
    """Run the command line: a refusal is one message and status 2; the unexpected says how to report it, status 1."""
    for stream in (sys.stdout, sys.stderr):
        # a terminal that cannot show a sign gets a stand-in for it, not a traceback
        getattr(stream, "reconfigure", lambda **_: None)(errors="replace")
    from fixplan.problems import InputError

    try:
        app(prog_name="fixplan")
    except InputError as refused:
        _refuse(refused)
        sys.exit(2)
    except BrokenPipeError:
        # the reader (a pager, head) went away: not an error of ours
        os.dup2(os.open(os.devnull, os.O_WRONLY), 1)
        sys.exit(0)
    except OSError as error:
        typer.echo(f"fixplan: {error.filename or 'file'}: {error.strerror or error}; nothing was written", err=True)
        sys.exit(2)
    except Exception as error:
        if os.environ.get("FIXPLAN_TRACE"):
            raise
        typer.echo(
            f"fixplan: internal error ({type(error).__name__}: {error}). Nothing was written. Please report it with "
            f"the command, the input and this line: fixplan {__version__}. FIXPLAN_TRACE=1 shows where it happened.",
            err=True,
        )
        sys.exit(1)


def _refuse(refused: Any) -> None:
    subject = getattr(refused, "subject", "") or "input"
    count = len(refused.problems)
    typer.echo(f"fixplan: {subject} was refused: {count} problem{'s' if count > 1 else ''}", err=True)
    for problem in refused.problems:
        typer.echo(f"  - {problem}", err=True)
