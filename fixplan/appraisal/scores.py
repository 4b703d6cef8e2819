"""Published scores and cut-offs, computed only from what is given.

An item that is not given leaves a sum open: the score then says "cannot be computed from what is given", names what is
missing, and states a stratum only when every possible value of the missing items leads to the same one. Angles are in
degrees, vitamin D in ng/mL, body mass index in kg/m2, ages in years.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from fixplan.appraisal.score import (
    Bounds,
    Score,
    at_least,
    band_score,
    finite,
    positive,
    reading,
    sum_of_items,
)

EATING = ("no dietary restriction", "some dietary restriction", "eating disorder")
"""Energy availability as the triad score grades it: 0, 1 and 2 points."""


@dataclass(frozen=True)
class ScoreInputs:
    """What the scores may use; None is "not given". Units as in the head of the module."""

    ray: int | None = None
    metatarsus_adductus_angle: float | None = None
    calcaneal_pitch: float | None = None
    meary_angle: float | None = None
    engel_angle: float | None = None
    vitamin_d: float | None = None
    outer_ap: float | None = None
    canal_ap: float | None = None
    energy_availability: str | None = None
    bmi: float | None = None
    menarche_age: float | None = None
    menses_per_year: float | None = None
    bmd_z: float | None = None
    earlier_stress_fractures: int | None = None
    earlier_at_high_risk_site: bool | None = None
    bony_tenderness: bool | None = None
    pes_cavus: bool | None = None
    load_raised: bool | None = None


def scores(given: ScoreInputs) -> tuple[Score, ...]:
    """Every score in a fixed order, those that cannot be computed among them. Raises ValueError as each of them."""
    earlier = None if given.earlier_stress_fractures is None else given.earlier_stress_fractures > 0
    return (
        triad_score(
            energy_availability=given.energy_availability,
            bmi=given.bmi,
            menarche_age=given.menarche_age,
            menses_per_year=given.menses_per_year,
            bmd_z=given.bmd_z,
            earlier_stress_fractures=given.earlier_stress_fractures,
            earlier_at_high_risk_site=given.earlier_at_high_risk_site,
        ),
        bone_stress_rule(
            bony_tenderness=given.bony_tenderness,
            earlier_injury=earlier,
            pes_cavus=given.pes_cavus,
            load_raised=given.load_raised,
        ),
        vitamin_d(given.vitamin_d),
        metatarsus_adductus(given.metatarsus_adductus_angle),
        engel(given.engel_angle),
        calcaneal_pitch(given.calcaneal_pitch),
        meary(given.meary_angle),
        cortical_index(given.ray, given.outer_ap, given.canal_ap),
    )


def triad_score(
    *,
    energy_availability: str | None = None,
    bmi: float | None = None,
    menarche_age: float | None = None,
    menses_per_year: float | None = None,
    bmd_z: float | None = None,
    earlier_stress_fractures: int | None = None,
    earlier_at_high_risk_site: bool | None = None,
) -> Score:
    """Cumulative risk score of the female athlete triad, 0 to 12 points; six items of 0, 1 or 2 (MOU14).

    Strata 0 to 1 low, 2 to 5 moderate, 6 and more high (DES14, from memory). One earlier stress fracture counts 1, or 2
    at a high-risk site; when the site is not said that item is open. Raises ValueError for an impossible input.
    """
    if energy_availability is not None and energy_availability not in EATING:
        raise ValueError(
            f"energy_availability: {energy_availability!r} is not one of {', '.join(EATING)}; give one of these"
        )
    count = at_least("earlier_stress_fractures", earlier_stress_fractures, 0)
    items = {
        "energy availability": _both(None if energy_availability is None else EATING.index(energy_availability)),
        "body mass index": _both(_falling(positive("bmi", bmi), at_1=(18.5, False), at_2=(17.5, True))),
        "age at menarche": _both(_rising(positive("menarche_age", menarche_age), 15.0, 16.0)),
        "menses in twelve months": _both(
            _falling(at_least("menses_per_year", menses_per_year, 0), at_1=(9.0, True), at_2=(6.0, False))
        ),
        "Z-score of bone mineral density": _both(
            _falling(finite("bmd_z", bmd_z), at_1=(-1.0, False), at_2=(-2.0, True))
        ),
        "earlier stress fractures, and whether at a high-risk site": _earlier(count, earlier_at_high_risk_site),
    }
    return sum_of_items(
        "triad",
        "cumulative risk of the female athlete triad",
        items,
        2,
        ((0, "low"), (2, "moderate"), (6, "high")),
        "Risk ratio against the low stratum in 239 collegiate women: moderate 2.6 (1.3 to 5.5), high 3.8 (1.8 to 8.0). "
        "Published for women.",
        ("MOU14", "DES14", "TEN17"),
        "M-h",
        "women athletes; strata from memory",
    )


def bone_stress_rule(
    *,
    bony_tenderness: bool | None = None,
    earlier_injury: bool | None = None,
    pes_cavus: bool | None = None,
    load_raised: bool | None = None,
) -> Score:
    """Rule for bone stress injury: tenderness 3, earlier injury 2, pes cavus 2, more walking or running 1 (CPR20).

    3 points or more are positive: sensitivity 97.5 %, specificity 54.2 %, negative predictive value 98.2 %.
    """
    points = {
        "bony tenderness": (bony_tenderness, 3),
        "earlier bone stress injury": (earlier_injury, 2),
        "pes cavus": (pes_cavus, 2),
        "more walking or running": (load_raised, 1),
    }
    items = {
        name: (0, worth) if said is None else (worth * said, worth * said) for name, (said, worth) in points.items()
    }
    return sum_of_items(
        "bone-stress-rule",
        "rule for bone stress injury",
        items,
        0,
        ((0, "negative"), (3, "positive")),
        "Sensitivity 97.5 %, specificity 54.2 %, negative predictive value 98.2 % in the series that made it.",
        ("CPR20",),
        "F",
        "778 patients, 204 with a bone stress injury",
    )


def metatarsus_adductus(angle: float | None) -> Score:
    """Traditional angle: to 15 degrees normal (JAP11); to 20 mild, to 25 moderate, above severe (from memory)."""
    return band_score(
        "metatarsus-adductus",
        "metatarsus adductus angle",
        finite("metatarsus_adductus_angle", angle),
        "deg",
        ((15.0, "normal"), (20.0, "mild"), (25.0, "moderate"), (math.inf, "severe")),
        "15 or less is read as normal; the grades above it are from memory.",
        ("JAP11", "MEMORY"),
        "M-h",
        "inclusion limit of one study; trade",
    )


def engel(angle: float | None) -> Score:
    """Engel angle: to 24 degrees normal, above abnormal. The cut-off is from memory and unverified."""
    return band_score(
        "engel",
        "Engel angle",
        finite("engel_angle", angle),
        "deg",
        ((24.0, "normal"), (math.inf, "abnormal")),
        "The cut-off is from memory and unverified.",
        ("ENG83",),
        "M-m",
        "571 films",
    )


def calcaneal_pitch(angle: float | None) -> Score:
    """Calcaneal pitch: below 18 degrees flat, 30 and more cavus, between them neither (RAD, second-hand)."""
    value = finite("calcaneal_pitch", angle)
    band = None if value is None else "cavus" if value >= 30 else "flat" if value < 18 else "neither"
    return reading(
        "calcaneal-pitch",
        "calcaneal pitch",
        value,
        "deg",
        band,
        "30 or more is read as cavus, below 18 as flat; the normal ranges proposed differ (10 to 25, 20 to 30).",
        ("RAD",),
        "F2",
        "reference site",
    )


def meary(angle: float | None) -> Score:
    """Talus to first metatarsal on the lateral film, convex upward positive: cavus above 4 degrees (from memory)."""
    value = finite("meary_angle", angle)
    band = None
    if value is not None:
        grades = ((30.0, "severe cavus"), (15.0, "moderate cavus"), (4.0, "mild cavus"), (-4.0, "normal"))
        band = next((word for at, word in grades if value > at), "normal" if value == -4 else "below normal")
    return reading(
        "meary",
        "angle of talus to first metatarsal, lateral film",
        value,
        "deg",
        band,
        "0 ± 4 is read as normal; the grades are from memory.",
        ("MEMORY",),
        "M-h",
        "trade",
    )


def vitamin_d(level: float | None) -> Score:
    """25-hydroxyvitamin D against the cut-offs of four series; their cut-offs differ."""
    return band_score(
        "vitamin-d",
        "25-hydroxyvitamin D",
        positive("vitamin_d", level),
        "ng/mL",
        (
            (20.0, "below 20"),
            (30.0, "20 to below 30"),
            (40.0, "30 to below 40"),
            (math.inf, "40 or more"),
        ),
        "The cut-offs differ: 20 (BUR11), 30 (SHM16, KNE21), 40 (MIL20).",
        ("BUR11", "SHM16", "KNE21", "MIL20"),
        "F",
        "service women; 37 athletes; review; 802 collegiate athletes",
        upper_included=False,
    )


def cortical_index(ray: int | None, outer_ap: float | None, canal_ap: float | None) -> Score:
    """Outer over inner width on the AP film [mm / mm]; 1.62 parts insufficiency fractures of ray 4 (LEN22)."""
    outer, canal = positive("outer_ap", outer_ap), positive("canal_ap", canal_ap)
    value = None if outer is None or canal is None else outer / canal
    if value is not None and value <= 1.0:
        raise ValueError(f"canal_ap: {canal} mm is not below the outer width {outer} mm; measure both at one level")
    band = None
    if value is not None and ray == 4:
        band = "below 1.62" if value < 1.62 else "1.62 or more"
    return reading(
        "cortical-index",
        "metatarsal cortical index",
        value,
        "1",
        band,
        "For the fourth, 1.62 parted insufficiency fractures from controls (sensitivity and specificity 78 %); no "
        "cut-off for other rays is given here.",
        ("LEN22",),
        "F",
        "18 patients, 18 controls",
    )


def _both(points: int | None) -> Bounds:
    return None if points is None else (points, points)


def _earlier(count: float | None, high_risk: bool | None) -> Bounds:
    if count is None:
        return (2, 2) if high_risk else None
    if count == 0 or count >= 2:
        return _both(0 if count == 0 else 2)
    return (1, 2) if high_risk is None else _both(2 if high_risk else 1)


def _falling(value: float | None, *, at_1: tuple[float, bool], at_2: tuple[float, bool]) -> int | None:
    """Points that rise as the value falls; each cut-off says whether it belongs to the worse side itself."""
    if value is None:
        return None

    def below(cut: tuple[float, bool]) -> bool:
        return value < cut[0] or (cut[1] and value == cut[0])

    return 2 if below(at_2) else 1 if below(at_1) else 0


def _rising(value: float | None, at_1: float, at_2: float) -> int | None:
    return None if value is None else 2 if value >= at_2 else 1 if value >= at_1 else 0
