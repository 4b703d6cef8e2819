"""Is this usually a case for a construct at all? Asked before any size.

The answer is what published series say about the site, never advice: `plan` means that constructs are published for
it, not that one is needed. The grounds are statements of `evidence.toml`.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from fixplan.appraisal.evidence import statement

PLAN, QUESTION, OUTSIDE = "plan", "question", "outside scope"

NOT_ASKED = (
    "Not known here: age, bone density, circulation, skin, infection, smoking, medicines, and what the patient "
    "wants. Each may change the answer."
)
"""What the appraisal never sees."""


@dataclass(frozen=True)
class Reason:
    """One ground, with the ids of its sources and how well it is known."""

    text: str
    sources: tuple[str, ...]
    grade: str


@dataclass(frozen=True)
class Scope:
    """`verdict`: plan, question or outside scope; `sentence` says it in words; `not_asked` what was not known."""

    verdict: str
    sentence: str
    reasons: tuple[Reason, ...]
    not_asked: str = NOT_ASKED


def appraise_scope(
    ray: int,
    zone: int | str,
    *,
    healing: str | None = None,
    pattern: str | None = None,
    crosses_tmt: bool | None = None,
    previous: str | None = None,
) -> Scope:
    """Appraise a site.

    ray 1 to 5; zone 1, 2 or 3 for ray 5, "base", "shaft" or "neck" for the others; healing "acute", "delayed",
    "nonunion" or None (not said); pattern "simple" or "comminuted"; previous: state of an earlier screw
    ("removed", "broken", "in place") or None. Raises ValueError for a ray or zone that does not exist.
    """
    key = str(zone)
    if isinstance(ray, bool) or ray not in (1, 2, 3, 4, 5):
        raise ValueError(f"ray: {ray!r} is not one of 1 to 5; give the number of the metatarsal")
    allowed = ("1", "2", "3") if ray == 5 else ("base", "shaft", "neck")
    if key not in allowed:
        raise ValueError(f"zone: {zone!r} of ray {ray} is not one of {', '.join(allowed)}; give one of these")
    failed = healing in ("delayed", "nonunion") or previous is not None
    if ray == 5:
        verdict, sentence, ids = _zone1(failed) if key == "1" else _zone23(key, failed)
    elif key == "base":
        verdict, sentence, ids = _BASES[ray](failed)
    elif ray == 1:
        verdict, sentence, ids = _first(f"{key} of")
    else:
        verdict, sentence, ids = _low_risk(ray, key, failed)
    reasons = [Reason(s.text, s.sources, s.grade) for s in map(statement, ids)]
    if pattern == "comminuted":
        reasons.append(Reason("Comminution is unusual in a stress fracture: is this one?", ("COMMON",), "C"))
    if crosses_tmt and key != "base":
        verdict = QUESTION if verdict == PLAN else verdict
        reasons.append(
            Reason(
                "A plate across the tarsometatarsal joint is published for the base, not for this zone.",
                ("MOR20",),
                "F",
            )
        )
    return Scope(verdict, sentence, tuple(reasons))


_Found = tuple[str, str, tuple[str, ...]]


def _zone1(failed: bool) -> _Found:
    ids = ("zone1-avulsion", "zone1-threshold", "zone1-functional")
    if failed:
        text = "Zone 1 that has not united: usually not a case for this construct; the series here leave it out."
        return QUESTION, text, ids
    return OUTSIDE, "Usually not a case for this construct: a zone 1 avulsion.", ids


def _zone23(key: str, failed: bool) -> _Found:
    state = "that has not united" if failed else "of the fifth metatarsal"
    text = f"Zone {key} {state}: fixation is published for this site, and so are results without it."
    ids = ("high-risk-fifth", "pooled-stress")
    return PLAN, text, ids + (("trial-acute", "cast-acute-older") if key == "2" else ("zone3-where",))


def _low_risk(ray: int, key: str, failed: bool) -> _Found:
    name = {2: "second", 3: "third", 4: "fourth"}[ray]
    ids = ("low-risk-central", "central-protected")
    if failed:
        text = f"{key.capitalize()} of the {name} metatarsal that has not united: no series was found."
        return QUESTION, text, ids
    text = (
        f"Usually not a case for this construct: a stress fracture of the {key} of the {name} metatarsal usually "
        "gets rest and protected load."
    )
    return OUTSIDE, text, ids


def _first(where: str) -> _Found:
    text = f"{where.capitalize()} the first metatarsal: no series of fixed stress fractures was found."
    return QUESTION, text, ("nothing-found", "bridge-plate-general")


def _base2(failed: bool) -> _Found:
    ids = ("high-risk-second-base", "second-base-plate", "second-base-drilling", "second-base-dancers")
    if failed:
        text = (
            "Base of the second metatarsal that has not united: a plate across the tarsometatarsal joint is "
            "published, in one case."
        )
        return PLAN, text, ids
    text = "Base of the second metatarsal: constructs are published only after treatment without surgery failed."
    return QUESTION, text, ids


def _base3(failed: bool) -> _Found:
    state = " that has not united" if failed else ""
    text = f"Base of the third metatarsal{state}: no series of fixed stress fractures was found."
    return QUESTION, text, ("nothing-found", "base-t-plate")


def _base4(failed: bool) -> _Found:
    state = " that has not united" if failed else ""
    text = f"Base of the fourth metatarsal{state}: planned as a lateral ray; no series of this base was found."
    return PLAN, text, ("fourth-by-analogy", "lateral-mobility", "base-t-plate")


_BASES: dict[int, Callable[[bool], _Found]] = {
    1: lambda failed: _first("base of"),
    2: _base2,
    3: _base3,
    4: _base4,
}
