"""`fixplan specs --defaults`: every default, constant and bound that is not a planning threshold, with its origin."""

from __future__ import annotations

import importlib
import json
import pkgutil
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

import fixplan.mechanics
from fixplan.cautions import CAUTION_SHORT, CAUTIONS
from fixplan.sources import GRADES, Threshold, read_table, source

NUMBERS = ("value", "sd", "low", "high")


@dataclass(frozen=True)
class Row:
    """One entry: `numbers` by what each is (value, sd, low, high, ...), in `unit`; `grade` is how well it is known."""

    group: str
    name: str
    numbers: Mapping[str, float | int | str]
    unit: str
    source: str
    grade: str
    text: str = ""

    def plain(self) -> dict[str, Any]:
        return {**vars(self), "numbers": dict(self.numbers)}


def rows() -> tuple[Row, ...]:
    """All of them, group by group. Raises KeyError when a row names an unknown source."""
    found = (*_population(), *_correction(), *_published(), *_loads(), *_rules(), *_bounds(), *_draws())
    for row in found:
        for id in row.source.split(", "):
            source(id)
    return found


def list_defaults() -> tuple[str, str]:
    """As text and as JSON."""
    data = {
        "format": "fixplan-defaults/1",
        "defaults": [row.plain() for row in rows()],
        "grades": dict(GRADES),
        "cautions": list(CAUTIONS),
    }
    lines, group = [], ""
    for row in rows():
        if row.group != group:
            group = row.group
            lines += ["", group]
        lines.append(f"{row.name}: {numbers(row.numbers, row.unit)}  [{row.source}; {known(row.grade)}]")
        lines += [f"  {row.text}"] if row.text else []
    text = "\n".join([*lines[1:], "", CAUTION_SHORT, ""])
    return text, json.dumps(data, indent=2, ensure_ascii=False) + "\n"


def threshold_text(t: Threshold) -> str:
    """One planning threshold with all that is known of it."""
    found = {k: getattr(t, k) for k in NUMBERS if getattr(t, k) is not None and (k != "sd" or t.sd > 0)}
    first = numbers(found, t.unit).removeprefix("value ")
    spread = f"; sd: {t.sd_source}" if t.sd_source else ""
    also = f"; see also {', '.join(t.also)}" if t.also else ""
    end = {"low": "; a least value", "high": "; a greatest value"}.get(t.end, "")
    head = f"{t.name} = {first}  [{t.source}: {t.kind}, grade {t.grade}{spread}{also}{end}]\n  {t.meaning}\n"
    return head + (f"  {t.note}\n" if t.note else "")


def numbers(found: Mapping[str, float | int | str], unit: str) -> str:
    """Every number in words with the unit behind the last: "value 71.4, sd 6.1, low 59.3, high 83.5 mm"."""
    said = ", ".join(f"{k} {v if isinstance(v, str) else f'{v:.10g}'}" for k, v in found.items())
    return said if unit in ("1", "") else f"{said} {unit}"


def known(grade: str) -> str:
    return f"grade {grade}, {GRADES[grade]}" if grade in GRADES else grade


def _numbers(row: Mapping[str, Any]) -> dict[str, float]:
    return {k: row[k] for k in NUMBERS if row.get(k) is not None}


def _population() -> Iterator[Row]:
    group = "Published values of the bone"
    table = read_table("fixplan.bone", "population.toml")
    for part, records in table.items():
        if part in ("outer", "measure"):
            continue
        for name, row in records.items():
            where = f"{row['population']}. {row['note']}"
            spread = f" Spread: {row['sd_source']}." if "sd_source" in row else ""
            spread += f" See also {', '.join(row['also'])}." if "also" in row else ""
            yield Row(group, f"{part}.{name}", _numbers(row), row["unit"], row["source"], row["grade"], where + spread)
            for k, other in enumerate(row.get("other", ())):
                title = f"{part}.{name}, another series {k + 1}"
                yield Row(group, title, _numbers(other), other["unit"], other["source"], other["grade"], other["note"])
    outer = table["outer"]
    origin = outer["source"], outer["grade"]
    share = {"share of the width": outer["sd_fraction"]}
    yield Row(group, "outer, standard deviation", share, "1", outer["sd_source"], "D", outer["note"])
    for ray in (k for k in outer if k.startswith("ray")):
        for plane, widths in outer[ray].items():
            at = {f"at {f:g}": w for f, w in zip(outer["fraction"], widths)}
            yield Row(group, f"outer.{ray}.{plane}", at, "1", *origin, "Outer width over the length, by station.")


def _correction() -> Iterator[Row]:
    from fixplan.mechanics import correction_data as data

    group = "Local corrections of the beam"
    for name, value in vars(data).items():
        if not name.isupper() or isinstance(value, str):
            continue
        if isinstance(value, (int, float)):
            yield Row(group, name, {"value": value}, "1", data.ORIGIN, "fitted", data.ORIGIN_TEXT)
        elif all(isinstance(v, (int, float)) for v in value):
            unit = "mm" if name.endswith("_MM") else "1"
            ends = dict(zip(("low", "high"), value, strict=True))
            yield Row(group, name, ends, unit, data.ORIGIN, "range of the solids", data.ORIGIN_TEXT)
    for r in data.RESIDUALS:
        found: dict[str, float | int | str] = {"cases": r.cases, "held out": r.held_out}
        for key in ("plain", "corrected", "corrected_held_out"):
            low, high = getattr(r, key)
            words = key.replace("_", " ")
            found |= {f"{words} low": low, f"{words} high": high}
        yield Row(group, f"residual, {r.family}, {r.quantity}", found, "%", data.ORIGIN, "measured against the solids")


def _published() -> Iterator[Row]:
    from fixplan.mechanics.published import Published

    seen: set[int] = set()
    names = [f"fixplan.mechanics.{m.name}" for m in pkgutil.iter_modules(fixplan.mechanics.__path__)]
    for name in [*names, "fixplan.plan.life"]:
        for value in vars(importlib.import_module(name)).values():
            held = value.values() if isinstance(value, Mapping) else value if isinstance(value, tuple) else (value,)
            for p in held:
                if isinstance(p, Published) and id(p) not in seen:
                    seen.add(id(p))
                    found = {"value": p.mid, "low": p.lo, "high": p.hi}
                    kept = {k: v for k, v in found.items() if v is not None}
                    yield Row("Numbers of the mechanics", p.name, kept, p.unit, p.source, p.grade, p.note)


def _loads() -> Iterator[Row]:
    from fixplan.mechanics.loads import GRAVITY, LOADS, STEPS_PER_DAY

    group = "Loads"
    for r in LOADS:
        found = {k: v for k, v in (("value", r.mid), ("low", r.lo), ("high", r.hi)) if v is not None}
        ray = "" if r.ray is None else f", ray {r.ray}"
        yield Row(group, f"{r.activity}, {r.quantity}{ray}", found, r.unit, r.source, r.grade, r.note)
    for s in STEPS_PER_DAY:
        steps = {k: v for k, v in (("low", s.lo), ("high", s.hi)) if v is not None}
        yield Row(group, f"steps per day, {s.level}", steps, "1", s.source, s.grade)
    text = "Standard acceleration of free fall, ISO 80000-3."
    yield Row(group, "gravity", {"value": GRAVITY}, "m/s²", "MEMORY", "M-h", text)


def _rules() -> Iterator[Row]:
    from fixplan.plan import chances, draws
    from fixplan.sizing.choose import MARGIN_TIE_MM
    from fixplan.sizing.rules import ROUNDING_MM

    for name, value, unit, text in (
        ("tie of length margins", MARGIN_TIE_MM, "mm", "Margins closer than this are equal; finer than any reading."),
        ("tie of chances", draws.TIE_ERRORS, "1", "Chances within so many standard errors of the best are equal."),
        ("rounding of a limit", ROUNDING_MM, "mm", "A size that stands on its limit to this meets it."),
        ("some", draws.SOME, "1", "A size that meets every rule in fewer draws carries a caution anyway."),
        ("least influence", chances.LEAST_SHARE, "1", "An input that explains less of the spread is not printed."),
    ):
        yield Row("Rules of the choice", name, {"value": value}, unit, "PROJECT", "P", text)
    yield from _bow()


def _bow() -> Iterator[Row]:
    from fixplan.bone import bow

    for name, value, origin, text in (
        ("level of the bow", bow.LEVEL, "COMMON, DAVIES87", "Of its intervals; a bow is seen where chance is less."),
        ("least stations", bow.LEAST_STATIONS, "PROJECT", "One more than the unknowns of a plane; fewer fit no bow."),
        ("straight ends tried", bow.GRID, "PROJECT, GOLUB73", "Along the stations; then polished between two."),
    ):
        yield Row("Fit of the bow", name, {"value": value}, "1", origin, "P", text)


def _bounds() -> Iterator[Row]:
    from fixplan.case.fields import fields, limits

    group = "Bounds of the case file"
    for f in fields().values():
        ends = {k: v for k, v in (("low", f.low), ("high", f.high)) if v is not None}
        if ends:
            yield Row(group, f.key, ends, f.unit, f.source, "P" if f.source == "PROJECT" else "", f.why)
    for x in limits().values():
        grade = "P" if x.source == "PROJECT" else ""
        yield Row(group, x.name, {"value": x.value}, "1", x.source, grade, x.why)


def _draws() -> Iterator[Row]:
    from fixplan import cli_options, commands, commands_coverage
    from fixplan.plan import chances, draws, population

    for name, value, text in (
        ("draws of a plan", cli_options.DRAWS, "A share of one half stands to one percentage point; --draws."),
        ("draws of a demo plan", commands.DEMO_DRAWS, "A share of one half stands to two percentage points."),
        ("draws behind a band", chances.BAND_DRAWS, "A 5 % quantile is one of between 4 and 6 %."),
        ("draws of a population", population.DRAWS, "Bones of each series on the validation page."),
        ("patients drawn for a shelf", cli_options.COVERAGE_DRAWS, "fixplan coverage; --draws."),
        ("patients drawn for the demo shelf", commands_coverage.DEMO_DRAWS, "fixplan demo."),
        ("least batch of draws", draws.LEAST_BATCH, "Bones that are seldom possible are still found."),
        ("most rounds of draws", draws.MAX_ROUNDS, "After these the uncertainties are refused as too wide."),
        ("rounds of a population", population.ROUNDS, "A bone that stays impossible is left out and counted."),
        ("service level", cli_options.SERVICE, "Chance that one resupply meets all demand; --service."),
    ):
        yield Row("Draws and stock", name, {"value": value}, "1", "PROJECT", "P", text)
