"""What each command does, between the command line and the rooms: read, call, write whole files or none."""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

from fixplan.atomic import write_all
from fixplan.case.read import parse_case, read_case
from fixplan.cautions import CAUTION_SHORT, CAUTIONS
from fixplan.commands_defaults import list_defaults, threshold_text
from fixplan.declare import to_plain
from fixplan.kits import KitError, KitSet, load_kits
from fixplan.plan.compare import compare
from fixplan.plan.make import make_plan
from fixplan.plan.types import Plan
from fixplan.problems import InputError, Problem
from fixplan.progress import progress_bar
from fixplan.report.compare_html import render_compare_html
from fixplan.report.compare_text import render_compare_text
from fixplan.report.html import render_html
from fixplan.report.jsonio import render_compare_json, render_json
from fixplan.report.tables import candidates_csv
from fixplan.report.text import render_text
from fixplan.resources import resource_dir
from fixplan.sources import CITATION_NOTE, all_sources, thresholds

# fewer than a plan of one's own: a share of one half stands to within two points (two standard errors)
DEMO_DRAWS = 2_000
# the demo case whose comparison is rendered, and what is compared
DEMO_COMPARED = ("zone-2-runner", ("screw solid", "screw hollow", "plate"))


@dataclass(frozen=True)
class Result:
    """What a command prints: as text or as JSON, whichever is asked for; and its exit status."""

    text: Callable[[], str]
    json: Callable[[], str]
    status: int = 0


def plan_one(case: Path, out: Path, folders: Sequence[Path], on: date, seed: int = 0, draws: int = 0) -> Result:
    """Plan a case file and write the HTML, JSON and CSV documents into `out`."""
    check_out(out)
    read = read_case(case)
    kits = load_kits(folders)
    with progress_bar("draws") as tell:
        plan = make_plan(read, kits, on, seed=seed, draws=draws, progress=tell)
    files = _write(plan, out)
    written = "Written: " + ", ".join(str(f) for f in files) + "\n"
    return Result(lambda: render_text(plan).rstrip("\n") + "\n\n" + written, lambda: render_json(plan))


def compare_constructs(
    case: Path,
    constructs: Sequence[str],
    out: Path,
    folders: Sequence[Path],
    on: date,
    seed: int = 0,
    draws: int = 0,
) -> Result:
    """Set constructs side by side and write the HTML and JSON documents into `out`."""
    check_out(out)
    read = read_case(case)
    kits = load_kits(folders)
    with progress_bar("draws") as tell:
        found = compare(read, kits, on, constructs, seed=seed, draws=draws, progress=tell)
    files = _write_all(
        out, found.case.label, {"compare.html": render_compare_html, "compare.json": render_compare_json}, found
    )
    written = "Written: " + ", ".join(str(f) for f in files) + "\n"
    return Result(
        lambda: render_compare_text(found).rstrip("\n") + "\n\n" + written, lambda: render_compare_json(found)
    )


def quick(
    ray: int, length: str, canal: str, zone: str, folders: Sequence[Path], on: date, seed: int = 0, draws: int = 0
) -> Result:
    """Plan from four values, without a file, by the rules of `plan`; nothing is written."""
    table: dict[str, Any] = {
        "bone": {"ray": ray, "length": length, "isthmus": {"canal": canal}},
        "fracture": {"zone": int(zone) if zone.isdigit() else zone},
    }
    case = parse_case(table, "command line", quick=True)
    with progress_bar("draws") as tell:
        plan = make_plan(case, load_kits(folders), on, seed=seed, draws=draws, worksheet=False, progress=tell)
    return Result(lambda: render_text(plan), lambda: render_json(plan))


def demo(out: Path, on: date) -> str:
    """Plan every demo case into `out`, then hold the demo's theatre list against its shelf; returns what to print."""
    from fixplan.commands_coverage import demo_coverage
    from fixplan.commands_stock import demo_list

    kits = load_kits()
    lines = []
    folder = resource_dir("demo_cases")
    for path in sorted([*folder.glob("*.toml"), *folder.glob("theatre/*.toml")]):
        plan = make_plan(read_case(path), kits, on, draws=DEMO_DRAWS)
        lines += [f"{plan.case.label:<10}{path.name:<28}{f}" for f in _write(plan, out)[:1]]
    name, constructs = DEMO_COMPARED
    specs = (resource_dir("implant_specs"),)
    compare_constructs(folder / f"{name}.toml", constructs, out, specs, on, draws=DEMO_DRAWS)
    lines += ["", f"Compared: {', '.join(constructs)}, {name}.toml"]
    lines += ["", "Theatre list and shelf, all invented:", demo_list(folder, out, on).text().partition("\n")[0]]
    lines += [demo_coverage(folder, out, on).text().partition("\n")[0]]
    return "\n".join(["Demo cases, all invented:", *lines, "", CAUTION_SHORT])


def check_out(out: Path) -> None:
    """Refuse an --out that is a file before any work is done."""
    if out.exists() and not out.is_dir():
        raise InputError([Problem("--out", f"'{out}' is not a folder", "name a folder; it is made if it is not there")])


def _write(plan: Plan, out: Path) -> list[Path]:
    made: dict[str, Callable[[Any], str]] = {
        "plan.html": render_html,
        "plan.json": render_json,
        "sizes.csv": candidates_csv,
    }
    return _write_all(out, plan.case.label, made, plan)


def _write_all(out: Path, label: str, made: dict[str, Callable[[Any], str]], result: Any) -> list[Path]:
    """Render every document first, then write them all or none."""
    check_out(out)
    stem = re.sub(r"[^A-Za-z0-9._-]+", "-", label).strip("-.") or "case"
    contents = {out / f"{stem}-{name}": render(result) for name, render in made.items()}
    out.mkdir(parents=True, exist_ok=True)
    write_all(contents)
    return list(contents)


def list_specs(folders: Sequence[Path]) -> Result:
    """Every kit with what it holds; raises KitError with all that is wrong."""
    kits = load_kits(folders)
    rows = [(k, _counts(kits, k.id)) for k in kits.kits.values()]
    text = "\n".join(
        [
            *(f"{k.id}\n  {k.title}\n  {counts}; {k.status} ({k.source}); {k.file}" for k, counts in rows),
            "",
            f"{len(rows)} kits, {len(kits.items)} items, no problem found.",
            CAUTION_SHORT,
            "",
        ]
    )
    data = {
        "format": "fixplan-specs/1",
        "kits": [
            {"id": k.id, "title": k.title, "status": k.status, "source": k.source, "sha256": k.sha256, "holds": c}
            for k, c in rows
        ],
        "cautions": list(CAUTIONS),
    }
    return Result(lambda: text, lambda: _dump(data))


def _counts(kits: KitSet, kit: str) -> str:
    parts = (
        ("intramedullary screws", kits.im_screws),
        ("screws for plates", kits.cortical_screws),
        ("plates", kits.plates),
        ("instruments", kits.instruments),
    )
    found = [f"{sum(x.kit == kit for x in items)} {name}" for name, items in parts if any(x.kit == kit for x in items)]
    materials = sum(m.kit == kit for m in kits.materials.values())
    return ", ".join(found + ([f"{materials} materials"] if materials else [])) or "empty"


def list_thresholds() -> Result:
    """Every planning threshold with value, spread, band, unit, source, kind and grade."""
    rows = list(thresholds().values())
    text = "".join(threshold_text(t) for t in rows)
    data = {"format": "fixplan-thresholds/1", "thresholds": [to_plain(t) for t in rows], "cautions": list(CAUTIONS)}
    return Result(
        lambda: text + "\n" + CAUTION_SHORT + "\n", lambda: json.dumps(data, indent=2, ensure_ascii=False) + "\n"
    )


def list_all_defaults() -> Result:
    """Every default, constant and bound that is not a planning threshold, with its origin."""
    text, data = list_defaults()
    return Result(lambda: text, lambda: data)


def list_sources() -> Result:
    """Every source with its kind and how it is known."""
    rows = list(all_sources().values())
    text = "".join(f"{s.id}  [{s.kind}; {s.verified}]\n  {s.text}\n" for s in rows)
    data = {"format": "fixplan-sources/1", "sources": [to_plain(s) for s in rows], "note": CITATION_NOTE}
    return Result(lambda: f"{text}\n{CITATION_NOTE}\n", lambda: _dump(data))


def _dump(data: dict[str, Any]) -> str:
    return json.dumps(data, indent=2, ensure_ascii=False) + "\n"


__all__ = [
    "KitError",
    "Result",
    "compare_constructs",
    "demo",
    "list_all_defaults",
    "list_sources",
    "list_specs",
    "list_thresholds",
    "plan_one",
    "quick",
]
