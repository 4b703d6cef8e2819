"""What an earlier screw or a nonunion changes, and what is published for it. Evidence, never advice."""

from __future__ import annotations

from dataclasses import dataclass

from fixplan.appraisal.evidence import Statement, statements
from fixplan.appraisal.scope import Reason

STATES = ("removed", "broken", "in place")
"""What may have become of an earlier screw."""

_NOTHING = Reason("Nothing was found on revision at this site.", ("PROJECT",), "P")


@dataclass(frozen=True)
class Revision:
    """How the model treats the earlier screw (`model`), and the published practice (`published`)."""

    heading: str
    model: tuple[Reason, ...]
    published: tuple[Statement, ...]


def revision_context(
    ray: int,
    zone: int | str,
    *,
    healing: str | None = None,
    previous: str | None = None,
    screw_diameter: float | None = None,
) -> Revision | None:
    """The revision section of a plan, or None when there was no screw and healing has not failed.

    previous: state of the earlier screw; screw_diameter [mm] of it. Raises ValueError for an unknown state or a
    diameter that is not above 0.
    """
    if previous is not None and previous not in STATES:
        raise ValueError(f"previous: {previous!r} is not one of {', '.join(STATES)}; give one of these")
    if screw_diameter is not None and not screw_diameter > 0:
        raise ValueError(f"screw_diameter: {screw_diameter} mm is not above 0; give the earlier screw's diameter")
    if previous is None and healing not in ("delayed", "nonunion"):
        return None
    key = str(zone)
    bound = [s for s in statements().values() if s.topic == "revision"]
    published = tuple(s for s in bound if s.applies.to(ray, key, healing, previous))
    if previous is None:
        heading = "Delayed union" if healing == "delayed" else "Nonunion"
        return Revision(heading, () if published else (_NOTHING,), published)
    size = "its hole" if screw_diameter is None else f"its hole, {screw_diameter:.1f} mm"
    model = [
        Reason(
            f"The model takes {size}, as the canal wherever it is wider than the canal. The next screw has to be wider "
            "than the hole by twice the bite.",
            ("PROJECT",),
            "P",
        )
    ]
    if previous == "broken":
        model.append(
            Reason(
                "Part of the earlier screw may lie in the canal. Taking it out may widen the canal by an amount that "
                "is not known here.",
                ("COMMON",),
                "C",
            )
        )
    if previous == "in place":
        model.append(
            Reason("The sizes hold only once the earlier screw is out, without loss of bone.", ("PROJECT",), "P")
        )
    if not published:
        model.append(_NOTHING)
    return Revision(f"After an earlier screw ({previous})", tuple(model), published)
