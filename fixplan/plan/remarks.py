"""Findings on the plan as a whole: what was left out, the checks of mechanics and strain theory, the films."""

from __future__ import annotations

from fixplan.case.model import Case
from fixplan.plan.resolve import Resolved
from fixplan.plan.types import CAUTION, FAIL, PASS, Finding, PlateCandidate, PlatePlan, ScrewCandidate, ScrewPlan


def remarks(case: Case, resolved: Resolved, screw: ScrewPlan | None, plate: PlatePlan | None) -> tuple[Finding, ...]:
    """Findings that belong to no single size, in reading order."""
    found = [
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
            found += _mechanics(kind, chosen, resolved)
    return (*found, *_films(case, resolved))


def _mechanics(kind: str, chosen: ScrewCandidate | PlateCandidate, resolved: Resolved) -> list[Finding]:
    if not chosen.response:
        return []
    response, found = chosen.response[0], []
    loose, bonded = response.loose, response.bonded
    least = resolved.thresholds["yield_factor_min"]
    low = 1.0 if least.low is None else least.low
    factor = loose.yield_factor
    verdict = PASS if factor >= least.value else CAUTION if factor >= low else FAIL
    found.append(
        Finding(
            "yield_factor",
            f"{kind}: factor against yield",
            verdict,
            factor,
            least.value,
            "1",
            f"At the loose end, {response.activity} ({response.moment_N_mm / 1000:.1f} N m at the fracture, an assumed "
            f"moment), {loose.critical_section}: yield over stress {factor:.1f}; bonded end {bonded.yield_factor:.1f}. "
            f"The band of that moment reaches {response.moment_hi_N_mm / 1000:.1f} N m.",
            f"{least.source}, {response.source}",
        )
    )
    for later in chosen.response[1:]:
        if later.activity == response.activity:
            continue
        factor = later.loose.yield_factor
        found.append(
            Finding(
                "yield_factor_activity",
                f"{kind}: {later.activity} before it has united",
                PASS if factor >= least.value else CAUTION,
                factor,
                least.value,
                "1",
                f"With the gap still open and the moment assumed for {later.activity} "
                f"({later.moment_N_mm / 1000:.1f} N m): yield over stress {factor:.1f} at the loose end"
                + (". Below 1 the implant would bend before the bone carries load." if factor < 1 else "."),
                f"{least.source}, {later.source}",
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
    if loose.gap_strain is not None and bonded.gap_strain is not None:
        limits = [resolved.thresholds[f"strain_limit_{n}"].value for n in ("bone", "cartilage", "granulation")]
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
                f"upper value is {text} (2, 10 and 100 %). Not pass or fail: plated sheep bones healed at a mean of "
                "51 % (BJRgap).",
                "PER02, BJRgap",
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
        gap = resolved.value("gap")
        poor = gap >= limit.value
        why = (
            "A plantar gap of 1 mm or more had a poor outlook in one series."
            if poor
            else "Below the 1 mm of one series."
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
        found.append(
            Finding(
                "revision",
                "earlier screw",
                CAUTION,
                case.previous.screw_diameter.value,
                None,
                "mm",
                "The hole of the earlier screw counts as the canal where it is wider. Published practice for "
                "refracture and non-union in elite athletes: a solid screw of 5.5 mm or more with cancellous "
                "graft (HUN11).",
                "HUN11",
            )
        )
    return found
