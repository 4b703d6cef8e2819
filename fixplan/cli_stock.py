"""The theatre's commands on the command line: is it on the shelf, and which sizes to hold."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from fixplan.cli_options import COVERAGE_DRAWS, DRAWS, SERVICE, Construct, DrawsOption, Series, show, teller
from fixplan.cli_shelf import Common, with_shelf


@with_shelf
def stock_command(
    common: Common,
    cases: Annotated[
        list[Path] | None,
        typer.Argument(metavar="[CASE.toml ...]", help="Case files, or plans written before (LABEL-plan.json)."),
    ] = None,
    theatre_list: Annotated[
        Path | None,
        typer.Option("--list", help="Theatre list (CSV, .xlsx or TOML): case file, date, order; instead of CASE."),
    ] = None,
    expiring: Annotated[
        int, typer.Option("--expiring-within", min=0, help="Mark what expires within so many days after its case.")
    ] = 30,
    uses: Annotated[
        int, typer.Option("--uses-per-day", min=1, help="Cases a day that one reusable instrument or tray serves.")
    ] = 1,
    construct: Annotated[
        Construct | None,
        typer.Option("--construct", help="Lay out this one; by default the screw where there is one, else the plate."),
    ] = None,
    draws: DrawsOption = DRAWS,
) -> None:
    """Is every size and instrument on the shelf, in date on the day?

    Reads the shelf (CSV or .xlsx) and case files, each planned for its own planned_for date, or a theatre list. Tells
    how the shelf was read, then writes theatre-list.html, LABEL-pick.html for each case, order.csv, order.xlsx and
    stock.json into --out. With --resupply the order sheet gives the last working day to order, so that it arrives
    before the day of surgery. The sizes are those of `fixplan plan` with the same draws and seed; a long list is
    quicker with plans written before. Exit status: 0 covered; 3 something is short, or a screw length is not known; 2
    refused, and nothing is written.
    """
    from fixplan.commands_stock import Terms, stock

    terms = Terms(common.on, expiring, common.resupply, uses, construct, common.seed, draws)
    result = stock(cases or (), theatre_list, common.given, terms, common.out, teller(common.output))
    show(result, common.output)


@with_shelf
def coverage_command(
    common: Common,
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
    service: Annotated[
        float, typer.Option("--service", help="Chance that one resupply meets all demand (project default).")
    ] = SERVICE,
    draws: Annotated[
        int, typer.Option("--draws", min=100, max=100_000, help="Made-up patients of the published population.")
    ] = COVERAGE_DRAWS,
) -> None:
    """Whom does the shelf serve, which sizes to hold, and how many of each?

    Reads the shelf and, unless --population names past cases, draws patients from published means and spreads. Writes
    coverage.html and coverage.json into --out: share served today, smallest set, trade-off curve, depth of stock.
    """
    from fixplan.commands_coverage import Aims, cover
    from fixplan.commands_people import Group
    from fixplan.sources import threshold

    aims = Aims(threshold("room_coverage").value if share is None else share, service, rate, common.resupply)
    people = Group(series, zone)
    result = cover(
        common.given, population, kit or (), people, aims, common.on, draws, common.seed, common.out,
        teller(common.output),
    )  # fmt: skip
    show(result, common.output)
