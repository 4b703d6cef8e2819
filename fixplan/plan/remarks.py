"""Findings on the plan as a whole: what was left out, the checks of mechanics and strain theory, the films."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from fixplan.bone.defaults import default
from fixplan.case.model import Case
from fixplan.digits import beside
from fixplan.plan.frame import Reader
from fixplan.plan.inputs import Parameter
from fixplan.plan.resolve import Resolved
from fixplan.plan.types import (
    CAUTION,
    FAIL,
    PASS,
    Finding,
    LoadResponse,
    PlateCandidate,
    PlatePlan,
    ScrewCandidate,
    ScrewPlan,
)

OF_THE_CASE = frozenset({"planned_for", "left_out", "images", "plantar_gap", "revision", "level_and_zone"})
"""Rules whose findings hold whatever the construct."""


def remarks(
    case: Case, resolved: Resolved, screw: ScrewPlan | None, plate: PlatePlan | None, on: date
) -> tuple[Finding, ...]:
    """Findings on the case and on the constructs chosen first, in reading order; `on` is the day of the plan."""
    found = _day(case, on)
    found += [
        Finding("left_out", f"{kind} not sized", CAUTION, None, None, "1", why, source)
        for kind, why, source in resolved.left_out
    ]
    found += [
        Finding("images", "scale of the images", CAUTION, None, None, "1", text, source)
        for text, source in resolved.cautions
    ]
    for kind, part in (("screw", screw), ("plate", plate)):
        if part is None:
            continue
        chosen = next((c for c in part.candidates if c.item == part.first_choice), None)
        if chosen is not None:
            found += mechanics_findings(kind, chosen, resolved)
    return (*found, *_films(case, resolved))


def hardest(responses: Sequence[LoadResponse]) -> LoadResponse:
    """The load case with the least factor against yield at the loose end."""
    return min(responses, key=lambda r: r.loose.yield_factor)


def widest(responses: Sequence[LoadResponse]) -> LoadResponse:
    """The load case that strains the gap most at the loose end, opening or closing it; without a gap, opens it most."""
    return max(responses, key=lambda r: r.loose.gap_opening_mm if r.loose.gap_strain is None else r.loose.gap_strain)


def opens_most(responses: Sequence[LoadResponse]) -> LoadResponse:
    """The load case that opens the gap most at the loose end; one that closes it further may strain it more."""
    return max(responses, key=lambda r: r.loose.gap_opening_mm)


def yield_finding(kind: str, responses: tuple[LoadResponse, ...], thresholds: dict[str, Parameter]) -> Finding:
    """The least factor against yield over all load cases of the first (protected) moment, at the loose end."""
    first = responses[0]
    same = [r for r in responses if r.activity == first.activity]
    worst = hardest(same)
    least = thresholds["yield_factor_min"]
    low = 1.0 if least.low is None else least.low
    factor = worst.loose.yield_factor
    return Finding(
        "yield_factor",
        f"{kind}: factor against yield",
        PASS if factor >= least.value else CAUTION if factor >= low else FAIL,
        factor,
        least.value,
        "1",
        f"Hardest load case: {worst.label} ({worst.moment_N_mm / 1000:.1f} N m at the fracture, an assumed moment). At "
        f"the loose end, {worst.loose.critical_section}: yield over stress {beside(factor, low, least.value)}; bonded "
        f"end {worst.bonded.yield_factor:.1f}. The band of that moment reaches {worst.moment_hi_N_mm / 1000:.1f} N m. "
        "One static load; not fatigue.",
        f"{least.source}, {worst.source}",
    )


def under_load(responses: tuple[LoadResponse, ...]) -> str:
    """One line for the first page: the least factor against yield of each activity, at the loose end."""
    if not responses:
        return ""
    parts = []
    for activity in dict.fromkeys(r.activity for r in responses):
        factor = min(r.loose.yield_factor for r in responses if r.activity == activity)
        when = "" if activity == responses[0].activity else " before union"
        bends = " (it would bend)" if factor < 1 else ""
        parts.append(
            f"{activity}{when} {beside(factor, 1.0)}{bends}" if factor < 10 else f"{activity}{when} {factor:.0f}{bends}"
        )
    return f"Least factor against yield, loose end, assumed moments: {'; '.join(parts)}. One static load, not fatigue."


def _day(case: Case, on: date) -> list[Finding]:
    if case.planned_for is None or case.planned_for >= on:
        return []
    why = (
        f"The day planned for, {case.planned_for.isoformat()}, lies before the day of this plan, {on.isoformat()}. "
        "Check the date: the times after surgery are counted from it."
    )
    return [Finding("planned_for", "day of surgery in the past", CAUTION, None, None, "1", why, "PROJECT")]


def mechanics_findings(kind: str, chosen: ScrewCandidate | PlateCandidate, resolved: Resolved) -> list[Finding]:
    """The checks of mechanics and strain theory on one construct; none where no response was computed."""
    if not chosen.response:
        return []
    response, found = chosen.response[0], []
    loose, bonded = response.loose, response.bonded
    found.append(yield_finding(kind, chosen.response, resolved.thresholds))
    later = [r for r in chosen.response if r.activity != response.activity]
    if later:
        least = resolved.thresholds["yield_factor_min"]
        hard = hardest(later)
        factor = hard.loose.yield_factor
        found.append(
            Finding(
                "yield_factor_activity",
                f"{kind}: {hard.activity} before it has united",
                PASS if factor >= least.value else CAUTION,
                factor,
                least.value,
                "1",
                f"Not united, and the moment assumed for {hard.activity} ({hard.moment_N_mm / 1000:.1f} N m): yield "
                f"over stress {beside(factor, 1.0, least.value)} at the loose end"
                + (". Below 1 the implant would bend before the bone carries load." if factor < 1 else "."),
                f"{least.source}, {hard.source}",
            )
        )
    if kind == "screw":
        ends = resolved.thresholds["stiffness_published_low"], resolved.thresholds["stiffness_published_high"]
        inside = ends[0].value <= loose.stiffness_N_per_mm <= ends[1].value
        found.append(
            Finding(
                "stiffness_published",
                "stiffness beside the published bench tests",
                PASS if inside else CAUTION,
                loose.stiffness_N_per_mm,
                ends[1].value,
                "N/mm",
                f"Computed bracket {loose.stiffness_N_per_mm:.0f} to {bonded.stiffness_N_per_mm:.0f} N/mm. Published "
                f"means lie at {ends[0].value:g} to {ends[1].value:g} N/mm, on other set-ups and levers, and in bench "
                "tests a thicker screw was not stiffer although it held better (KEL01, SHA01). Do not read a rank "
                "of sizes from the bonded end.",
                f"{ends[0].source}, {ends[1].source}, KEL01, SHA01",
            )
        )
    same = [r for r in chosen.response if r.activity == response.activity and r.loose.gap_strain is not None]
    if same:
        most = widest(same)
        loose, bonded = most.loose, most.bonded
    if loose.gap_strain is not None and bonded.gap_strain is not None:
        theory = [resolved.thresholds[f"strain_limit_{n}"] for n in ("bone", "cartilage", "granulation")]
        limits = [t.value for t in theory]
        percent = "{:g}, {:g} and {:g} %".format(*(100 * limit for limit in limits))
        names = ("bone", "cartilage", "granulation tissue")
        borne = [n for n, limit in zip(names, limits) if loose.gap_strain <= limit]
        text = f"tolerated in theory by {borne[0]} and softer tissue" if borne else "above all three limits"
        found.append(
            Finding(
                "gap_strain",
                f"{kind}: strain in the gap, a theory check",
                CAUTION if loose.gap_strain > limits[1] else PASS,
                loose.gap_strain,
                limits[1],
                "1",
                f"Gap strain {100 * bonded.gap_strain:.0f} to {100 * loose.gap_strain:.0f} % over the bracket; the "
                f"upper value is {text} ({percent}). Not pass or fail: plated sheep bones healed at a mean of "
                "51 % (BJRgap).",
                ", ".join(dict.fromkeys([*(t.source for t in theory), "BJRgap"])),
            )
        )
    if kind == "plate":
        found.append(
            Finding(
                "kind",
                "screw or plate",
                PASS,
                None,
                None,
                "1",
                "Bench tests disagree: an intramedullary screw was stiffer than a low-profile hook plate (HUH16); a "
                "plantar-lateral plate bore more cycles than a screw (DUP18). No kind is ranked above the other here.",
                "HUH16, DUP18",
            )
        )
    return found


def _films(case: Case, resolved: Resolved) -> list[Finding]:
    found = []
    if case.bone.ray == 5 and case.fracture.gap is not None:
        limit = resolved.thresholds["plantar_gap_poor"]
        read = resolved.value("gap")
        gap = float(Reader(resolved).true("gap"))
        poor = max(gap, read) >= limit.value
        whose = "in one series" if limit.origin == "assumed" else "by the limit set for this case"
        why = (
            f"A plantar gap of {limit.value:g} mm or more has a poor outlook {whose}."
            if poor
            else f"Below the {limit.value:g} mm from which the outlook is poor {whose}."
        )
        if read > gap:
            why += (
                f" True to size it is {gap:.2f} mm, on the film it reads {read:.2f} mm; the larger counts, since "
                "whether the limit was read off a film or true to size is not known."
            )
        found.append(
            Finding(
                "plantar_gap",
                "gap of the fracture",
                CAUTION if poor else PASS,
                gap,
                limit.value,
                "mm",
                why,
                limit.source,
            )
        )
    if case.previous is not None:
        state = {
            "in place": "It is still in place: no size here holds before it is out.",
            "broken": "It is broken: no size here holds before all of it is out, and removal may widen the hole.",
            "removed": "It was removed.",
        }[case.previous.state]
        found.append(
            Finding(
                "revision",
                "earlier screw",
                CAUTION,
                case.previous.screw_diameter.value,
                None,
                "mm",
                f"{state} The hole of the earlier screw counts as the canal where it is wider. Published practice for "
                "refracture and non-union in elite athletes: a solid screw of 5.5 mm or more with cancellous graft "
                "(HUN11); graft and a search for infection are not planned here.",
                "HUN11",
            )
        )
    level = resolved.parameters["from_base"]
    if level.origin == "measured" and case.bone.ray == 5:
        usual = default(5, "from_base", zone=case.fracture.zone)
        true = level.value / resolved.value("magnification_lateral")
        low, high = usual.low, usual.high
        if low is not None and high is not None and not low - usual.sd <= true <= high + usual.sd:
            found.append(
                Finding(
                    "level_and_zone",
                    "level of the fracture against its zone",
                    CAUTION,
                    true,
                    high if true > high else low,
                    "mm",
                    f"Zone {case.fracture.zone} is usually placed at {low:g} to {high:g} mm from the proximal end (no "
                    f"source gives its borders with a spread); here the fracture lies at {true:.1f} mm. Check zone and "
                    "level: the zone is told by the joint of fourth and fifth, not by the distance.",
                    usual.source,
                )
            )
    return found
