"""The command line: parse, call one function, write or print. Heavy rooms are imported inside the commands."""

from __future__ import annotations

import os
import sys
from datetime import date
from pathlib import Path
from typing import Annotated, Any

import typer

from fixplan import __version__
from fixplan.cli_options import (
    DRAWS,
    EPILOG,
    DrawsOption,
    Format,
    FormatOption,
    OnlyOption,
    OnOption,
    OutOption,
    SeedOption,
    SpecsOption,
    folders,
    show,
)
from fixplan.cli_stock import coverage_command, stock_command

# one thread per process keeps start-up short and timings steady; the arrays here are small
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

app = typer.Typer(
    name="fixplan",
    help="Plan the fixation of a metatarsal stress fracture: which screws or plates fit, and what the beams say.",
    epilog=EPILOG,
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)


def _version(wanted: bool) -> None:
    if wanted:
        typer.echo(f"fixplan {__version__}")
        raise typer.Exit


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

    show(plan_one(case, out, folders(specs, only_specs), on or date.today(), seed, draws), output)


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
    seed: SeedOption = 0,
    draws: DrawsOption = DRAWS,
) -> None:
    """The quick answer without a file: windows, sizes and what was assumed. Writes nothing."""
    from fixplan.commands import quick

    show(quick(ray, length, canal, zone, folders(specs, only_specs), on or date.today(), seed, draws), output)


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
    seed: SeedOption = 0,
    draws: DrawsOption = DRAWS,
) -> None:
    """Set two to four constructs side by side. Reads CASE.toml; writes LABEL-compare.html and .json into --out.

    The first choice that screw and plate stand for is that of `fixplan plan` with the same draws and seed.
    """
    from fixplan.commands import compare_constructs

    found = compare_constructs(case, construct or (), out, folders(specs, only_specs), on or date.today(), seed, draws)
    show(found, output)


app.command("stock", epilog=EPILOG)(stock_command)
app.command("coverage", epilog=EPILOG)(coverage_command)


@app.command("specs", epilog=EPILOG)
def specs_command(
    specs: SpecsOption = None,
    only_specs: OnlyOption = False,
    thresholds: Annotated[
        bool, typer.Option("--thresholds", help="Print every planning threshold with its origin instead.")
    ] = False,
    sources: Annotated[bool, typer.Option("--sources", help="Print every source instead.")] = False,
    defaults: Annotated[
        bool, typer.Option("--defaults", help="Print every other default, constant and bound with its origin instead.")
    ] = False,
    output: FormatOption = Format.text,
) -> None:
    """List and check kits. Reads the kits of the project and of --specs; says what is wrong by file, table and key."""
    from fixplan.commands import list_all_defaults, list_sources, list_specs, list_thresholds

    if defaults:
        show(list_all_defaults(), output)
    elif thresholds:
        show(list_thresholds(), output)
    elif sources:
        show(list_sources(), output)
    else:
        show(list_specs(folders(specs, only_specs)), output)


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
