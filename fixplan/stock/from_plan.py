"""From a plan to what its case asks of the shelf: first choice, one up, one down, further sizes for the room."""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from fixplan.kits.model import KitSet, Plate
from fixplan.problems import InputError, Problem
from fixplan.stock.from_kit import Gtins, construct
from fixplan.stock.model import Item, Need

PLAN_FORMAT = "fixplan-plan/1"
SCREW, PLATE = "screw", "plate"
CONSTRUCTS = (SCREW, PLATE)


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
    label = plan["case"]["label"]
    if not has[chosen]:
        what = f"a {prefer}" if prefer else "a construct"
        why = (plan[chosen] or {}).get("answer") or "it was not considered"
        notes.append(f"The plan has no first choice for {what}: {why} Ask the surgeon what to lay out.")
        return Need(label, day, order, (), notes=tuple(notes))
    if prefer is None and has[SCREW] and has[PLATE]:
        notes.append(
            "The plan holds a screw and a plate; this list lays out the screw. Ask whether the plate is wanted."
        )
    elif prefer is None and chosen == PLATE and plan[SCREW]:
        notes.append("The plan found no screw to choose first; this list lays out the plate.")
    part = plan[chosen]
    if chosen == PLATE:
        roles = []
        for role in ("first_choice", "one_up", "one_down"):
            codes, more = _plate_codes(part, part[role], kits)
            roles.append(construct(kits, codes, gtins))
            notes += [n for n in more if n not in notes]
        return Need(label, day, order, roles[0], roles[1], roles[2], notes=tuple(notes))
    named = [part[role] for role in ("first_choice", "one_up", "one_down")]
    further = [code for code in part["have_in_room"] if code not in named]
    first, up, down = (_screw(kits, code, gtins) for code in named)
    return Need(label, day, order, first, up, down, construct(kits, further, gtins), tuple(notes))


def _screw(kits: KitSet, code: str | None, gtins: Gtins) -> tuple[Item, ...]:
    return construct(kits, [code], gtins) if code else ()


def _scope(plan: Mapping[str, Any]) -> list[str]:
    fit = plan["fit_for_planning"]
    if fit["verdict"] == "plan":
        return []
    return [f"Fit for planning: {fit['verdict']}. {fit['sentence']} Ask the surgeon before anything is opened."]


def _plate_codes(part: Mapping[str, Any], code: str | None, kits: KitSet) -> tuple[list[str], list[str]]:
    """The plate and its screws by code, and what the plan could not say of them."""
    if not code:
        return [], []
    found = next((c for c in part["candidates"] if c["item"] == code), None)
    if found is None:
        return [code], [f"{code}: its screws are not in the plan; ask the surgeon which lengths to lay out."]
    filled = [s for s in found["screws"] if s["filled"]]
    open_holes = [str(s["hole"]) for s in filled if not s["screw"]]
    notes = []
    if open_holes:
        plate = kits.items.get(code)
        system = f"{plate.screw_system:g} mm " if isinstance(plate, Plate) else ""
        holes = f"{len(open_holes)} screw{'s' if len(open_holes) > 1 else ''} (hole {_listed(open_holes)} of {code})"
        notes.append(f"{holes}: length measured in theatre; take the whole range of {system}screws.")
    return [code, *(s["screw"] for s in filled if s["screw"])], notes


def _listed(words: Sequence[str]) -> str:
    return " and ".join([", ".join(words[:-1]), words[-1]] if len(words) > 1 else words)
