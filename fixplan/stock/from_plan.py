"""From a plan to what its case asks of the shelf: first choice, one up, one down, further sizes for the room."""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from fixplan.kits.model import KitSet, Plate
from fixplan.problems import InputError, Problem
from fixplan.stock.from_kit import Gtins, construct
from fixplan.stock.model import ROLES, Item, Need, Unmeasured

PLAN_FORMAT = "fixplan-plan/1"
SCREW, PLATE = "screw", "plate"
CONSTRUCTS = (SCREW, PLATE)
FAILS = "fail"
"""The verdict of a plan on a size that breaks one of its rules."""


def read_plan(path: str | Path, kits: KitSet) -> dict[str, Any]:
    """A plan that was written as JSON, with its kits held against those of today.

    Raises:
        InputError: when it is no plan, or a kit has changed since it was made.
    """
    path = Path(path)
    try:
        found = json.loads(path.read_text(encoding="utf-8"))
    except (OSError, UnicodeDecodeError, json.JSONDecodeError) as error:
        raise InputError(
            [Problem(str(path), f"cannot be read ({error})", "the -plan.json of `fixplan plan`")]
        ) from None
    if not isinstance(found, dict) or found.get("format") != PLAN_FORMAT:
        right = f"the -plan.json of `fixplan plan`, or a case file that ends in .toml (format {PLAN_FORMAT})"
        raise InputError([Problem(str(path), "is no plan of this version", right)])
    try:
        stamps = dict(found["provenance"]["kits"])
        plain = [found["case"]["label"], found["fit_for_planning"]["verdict"], found["screw"], found["plate"]]
    except (KeyError, TypeError, ValueError):
        raise InputError([Problem(str(path), "parts of the plan are missing", "plan the case again")]) from None
    del plain
    changed = [k for k, stamp in stamps.items() if k not in kits.kits or kits.kits[k].sha256 != stamp]
    if changed:
        what = f"made with other contents of {', '.join(sorted(changed))} than the kits read today"
        raise InputError([Problem(str(path), what, "plan the case again, or name its kits with --specs")])
    return found


def need_of(
    plan: Mapping[str, Any],
    kits: KitSet,
    day: dt.date,
    order: int,
    *,
    prefer: str | None = None,
    gtins: Gtins = None,
) -> Need:
    """The need of a planned case (the plan as JSON data) on its day and at its place in the list.

    The construct is the one the plan chose: the screw where it has a first choice, else the plate. `prefer` asks for
    one of CONSTRUCTS whatever the other is. A plan without a first choice gives a need without items, never covered.

    Raises:
        ValueError: when the plan names an item that the kits do not hold, or `prefer` is neither construct.
    """
    if prefer not in (None, *CONSTRUCTS):
        raise ValueError(f"prefer is {prefer!r}; give one of {', '.join(CONSTRUCTS)}, or None")
    has = {c: bool(plan[c] and plan[c]["first_choice"]) for c in CONSTRUCTS}
    chosen = prefer if prefer is not None else SCREW if has[SCREW] else PLATE
    notes = _scope(plan)
    label, mark = plan["case"]["label"], f"plan of input {plan['inputs_sha256'][:12]}"
    site = f"{plan['case']['side']} foot, metatarsal {plan['case']['ray']}"
    if not has[chosen]:
        what = f"The plan has no {prefer} of first choice" if prefer else "The plan chose no construct"
        why = (plan[chosen] or {}).get("answer") or f"A {chosen} was not considered, or could not be planned."
        notes.append(f"{what}. {why} Ask the surgeon what to lay out.")
        return Need(label, day, order, (), notes=tuple(notes), plan=mark, site=site)
    if prefer is None and has[SCREW] and has[PLATE]:
        notes.append(
            "The plan holds a screw and a plate; this list lays out the screw. Ask whether the plate is wanted."
        )
    elif prefer is None and chosen == PLATE and plan[SCREW]:
        notes.append("The plan found no screw to choose first; this list lays out the plate.")
    part = plan[chosen]
    notes += _failing(part)
    if chosen == PLATE:
        plates = [_plate(part, part[role]) for role in ("first_choice", "one_up", "one_down")]
        first, up, down = (construct(kits, p.codes, gtins) for p in plates)
        unmeasured = tuple(
            Unmeasured(r, p.codes[0], p.open_holes, _system(kits, p))
            for r, p in zip(ROLES, plates)
            if p.open_holes or not p.listed
        )
        return Need(label, day, order, first, up, down, notes=tuple(notes), plan=mark, site=site, unmeasured=unmeasured)
    named = [part[role] for role in ("first_choice", "one_up", "one_down")]
    further = [code for code in part["have_in_room"] if code not in named]
    first, up, down = (_screw(kits, code, gtins) for code in named)
    return Need(label, day, order, first, up, down, construct(kits, further, gtins), tuple(notes), mark, site)


def _screw(kits: KitSet, code: str | None, gtins: Gtins) -> tuple[Item, ...]:
    return construct(kits, [code], gtins) if code else ()


def _failing(part: Mapping[str, Any]) -> list[str]:
    """Notes on sizes to lay out that break a rule of the plan: a back-up is the next size, whether it fits or not."""
    named = [(role, part[key]) for role, key in zip(ROLES, ("first_choice", "one_up", "one_down")) if part[key]]
    further = [(ROLES[3], code) for code in part.get("have_in_room", ()) if code not in dict(named).values()]
    found = {c["item"]: c for c in part["candidates"]}
    notes = []
    for role, code in (*named, *further):
        broken = [f["why"] for f in found.get(code, {}).get("findings", ()) if f["verdict"] == FAILS]
        if broken:
            notes.append(
                f"{role.capitalize()}, {code}: the plan marks it {FAILS}. {' '.join(broken)} "
                "Ask the surgeon whether to lay it out."
            )
    return notes


def _scope(plan: Mapping[str, Any]) -> list[str]:
    fit = plan["fit_for_planning"]
    if fit["verdict"] == "plan":
        return []
    return [f"Fit for planning: {fit['verdict']}. {fit['sentence']} Ask the surgeon before anything is opened."]


@dataclass(frozen=True)
class _Plate:
    """A plate with its screws by code, the holes whose screw the plan could not size, and whether it lists any."""

    codes: tuple[str, ...] = ()
    open_holes: tuple[int, ...] = ()
    listed: bool = True


def _plate(part: Mapping[str, Any], code: str | None) -> _Plate:
    if not code:
        return _Plate()
    found = next((c for c in part["candidates"] if c["item"] == code), None)
    if found is None:
        return _Plate((code,), (), False)
    filled = [s for s in found["screws"] if s["filled"]]
    screws = tuple(s["screw"] for s in filled if s["screw"])
    # a plate of which no hole is filled is held by nothing: its screws are not listed
    return _Plate((code, *screws), tuple(s["hole"] for s in filled if not s["screw"]), bool(filled))


def _system(kits: KitSet, plate: _Plate) -> float | None:
    thing = kits.items.get(plate.codes[0])
    return thing.screw_system if isinstance(thing, Plate) else None
