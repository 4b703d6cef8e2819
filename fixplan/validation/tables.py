"""Numbers of standards, handbooks and papers: cores of bone screws, stress areas, circle segments, torques, pull-out.

ISO 5835 (cores), ISO 898-1 (stress areas), ISO 6475 (breaking torque) and the handbook's segments are from memory; what
they imply is worked by hand and so says the row.
"""

from __future__ import annotations

from functools import partial

from fixplan.mechanics import section as sec
from fixplan.mechanics.loadcases import structural_EI_im_device
from fixplan.mechanics.loads import moment_from_strain
from fixplan.mechanics.preload import stress_area
from fixplan.mechanics.purchase import cancellous_band, pullout_force, thread_shape_factor
from fixplan.mechanics.straightening import bow_radius, tangent_offset
from fixplan.mechanics.torsion import implied_shear
from fixplan.validation.rows import HAND, MEMORY, Example

#: bone screws of ISO 5835 (from memory): major, core, pitch in mm
THREADS = {
    "HA 1.5": (1.5, 1.1, 0.5),
    "HA 2.0": (2.0, 1.3, 0.6),
    "HA 2.7": (2.7, 1.9, 1.0),
    "HA 3.5": (3.5, 2.4, 1.25),
    "HA 4.5": (4.5, 3.0, 1.75),
    "HB 6.5": (6.5, 3.0, 2.75),
}
_CORES = (
    ("HA 1.5", 0.950, 0.0719, 0.1307, 0.1437),
    ("HA 2.0", 1.327, 0.1402, 0.2157, 0.2804),
    ("HA 2.7", 2.835, 0.6397, 0.6734, 1.2794),
    ("HA 3.5", 4.524, 1.6286, 1.3572, 3.2572),
    ("HA 4.5", 7.069, 3.9761, 2.6507, 7.9522),
)
_QUANTITIES = (
    ("area", "mm²", sec.area_annulus, 5e-4),
    ("second moment", "mm⁴", sec.second_moment_annulus, 5e-5),
    ("section modulus", "mm³", sec.section_modulus_annulus, 5e-5),
    ("polar moment", "mm⁴", sec.polar_annulus, 5e-5),
)


def _bar_EI(d: float, E: float) -> float:
    """N m2 of a solid bar."""
    return E * 1e-6 * float(sec.second_moment_circle(d))


def _cancellous(density: float) -> float:
    return float(cancellous_band(density)[1])


def _moment(microstrain: float) -> float:
    """N m of a strain on the assumed section."""
    return float(moment_from_strain(microstrain * 1e-6, 17000.0, 50.0)) / 1000


SECTIONS: tuple[Example, ...] = (
    *(
        Example(
            f"Core of {screw}, {name}",
            values[k],
            half,
            unit,
            "ISO5835",
            "core d5",
            partial(fn, THREADS[screw][1], 0.0),
            HAND,
        )
        for screw, *values in _CORES
        for k, (name, unit, fn, half) in enumerate(_QUANTITIES)
    ),
    *(
        Example(
            f"Solid bar {d:g} mm, {metal}: EI",
            printed,
            6e-4,
            "N·m²",
            "GERE7",
            "App. D, I of a circle",
            partial(_bar_EI, d, E),
            HAND,
        )
        for metal, E, column in (
            ("titanium alloy 114 GPa", 114e3, (0.453, 1.433, 2.295, 3.497, 5.121, 9.989)),
            ("steel 193 GPa", 193e3, (0.767, 2.425, 3.885, 5.921, 8.669, 16.911)),
        )
        for d, printed in zip((3.0, 4.0, 4.5, 5.0, 5.5, 6.5), column, strict=True)
    ),
    Example(
        "Hollow ellipse 9.5 × 7.5, canal 4.5 × 4.0 mm: I",
        182.596,
        5e-4,
        "mm⁴",
        "MACHHB",
        "moments of inertia of sections",
        lambda: sec.second_moment_hollow_ellipse(9.5, 7.5, 4.5, 4.0),
        HAND,
    ),
    Example(
        "Hollow ellipse 9.5 × 7.5, canal 4.5 × 4.0 mm: Z",
        48.692,
        5e-4,
        "mm³",
        "MACHHB",
        "moments of inertia of sections",
        lambda: sec.section_modulus_hollow_ellipse(9.5, 7.5, 4.5, 4.0),
        HAND,
    ),
    Example(
        "Plate 6 × 1.3 mm: I",
        1.0985,
        5e-5,
        "mm⁴",
        "GERE7",
        "App. D",
        lambda: sec.second_moment_rectangle(6.0, 1.3),
        HAND,
    ),
    Example(
        "Plate 6 × 1.3 mm with a 2.9 mm hole: I",
        0.5676,
        5e-5,
        "mm⁴",
        "GERE7",
        "App. D",
        lambda: sec.second_moment_net_flat(6.0, 1.3, 2.9),
        HAND,
    ),
    *(
        Example(
            f"Four-point bending of devices, spans {s:g} mm: EI_e per N/mm",
            s**2 * 5 * s / 12,
            1e-6,
            "N·mm²",
            "ASTM-F1264",
            "annex A1, s² (L + 2c)/12; spans read",
            partial(structural_EI_im_device, 1.0, s, s),
            HAND,
        )
        for s in (38.0, 76.0)
    ),
)
STRESS_AREAS: tuple[Example, ...] = tuple(
    Example(
        f"Stress area M{d}",
        area,
        half,
        "mm²",
        "ISO898",
        "part 1, coarse threads",
        partial(stress_area, d, pitch),
        MEMORY,
    )
    for d, pitch, area, half in (
        (3, 0.5, 5.03, 0.005),
        (4, 0.7, 8.78, 0.005),
        (5, 0.8, 14.2, 0.05),
        (6, 1.0, 20.1, 0.05),
        (8, 1.25, 36.6, 0.05),
    )
)
GEOMETRY: tuple[Example, ...] = (
    *(
        Example(
            f"Radius from chord {chord:g} and height {height:g} ({degrees}°)",
            1.0,
            2e-4,
            "1",
            "MACHHB",
            "segments of circles of radius 1",
            partial(bow_radius, chord, height),
            MEMORY,
            "Five decimals printed in chord and height.",
        )
        for degrees, chord, height in (
            (30, 0.51764, 0.03407),
            (60, 1.0, 0.13397),
            (90, 1.41421, 0.29289),
            (180, 2.0, 1.0),
        )
    ),
    *(
        Example(
            f"Offset from the tangent at {x:g}, radius {r:g}",
            1.0,
            1e-12,
            "1",
            "GEOM",
            "right triangle",
            partial(tangent_offset, x, r),
            MEMORY,
        )
        for x, r in ((3.0, 5.0), (5.0, 13.0))
    ),
)
#: least breaking torque [N mm] recalled, and the plastic shear stress 12 T/(pi d^3) it implies
_TORQUES = (
    ("HA 1.5", 200.0, 574),
    ("HA 2.0", 350.0, 609),
    ("HA 2.7", 1000.0, 557),
    ("HA 3.5", 2300.0, 636),
    ("HA 4.5", 4400.0, 622),
)
TORQUES: tuple[Example, ...] = tuple(
    Example(
        f"{screw}: shear implied by the least breaking torque",
        shear,
        0.5,
        "MPa",
        "ISO6475",
        "table of breaking torques; 12 T/(π d³)",
        partial(implied_shear, torque, THREADS[screw][1], 0.0),
        HAND,
        "Torque and core from memory.",
    )
    for screw, torque, shear in _TORQUES
)
#: thread, engaged length, shear strength, circumference and shape factor worked by hand
_PULLOUT = (
    ("HB 6.5", 16.0, 1.6, 20.4204, 0.8674),
    ("HA 4.5", 20.0, 4.3, 14.1372, 0.7474),
    ("HA 3.5", 3.0, 65.0, 10.9956, 0.7540),
    ("HA 2.7", 4.0, 65.0, 8.4823, 0.7309),
)
PULLOUT: tuple[Example, ...] = (
    *(
        Example(
            f"{screw}: thread shape factor",
            factor,
            5e-5,
            "1",
            "CHAP96",
            "TSF = 0.5 + 0.57735 d/p",
            partial(thread_shape_factor, *THREADS[screw]),
            HAND,
        )
        for screw, _, _, _, factor in _PULLOUT
    ),
    *(
        Example(
            f"{screw}, {length:g} mm in {shear:g} MPa: pull-out",
            around * length * shear * factor,
            1e-4 * around * length * shear * factor,
            "N",
            "CHAP96",
            "F = S L π D TSF",
            partial(pullout_force, shear, length, *THREADS[screw]),
            HAND,
            "The paper's abstract prints no single screw.",
        )
        for screw, length, shear, around, factor in _PULLOUT
    ),
)
BONE: tuple[Example, ...] = (
    *(
        Example(
            f"Shear strength of cancellous bone at {density:g} g/cm³",
            shear,
            0.005,
            "MPa",
            "STONE83",
            "21.6 ρ^1.65",
            partial(_cancellous, density),
            HAND,
            "Relation from memory, unverified.",
        )
        for density, shear in ((0.2, 1.52), (0.3, 2.96), (0.4, 4.76), (0.5, 6.88))
    ),
    *(
        Example(
            f"Moment implied by {strain} microstrain",
            moment,
            0.005,
            "N·m",
            source,
            "strain; E 17 GPa and Z 50 mm³ assumed",
            partial(_moment, strain),
            HAND,
        )
        for strain, moment, source in (
            (908, 0.77, "DS99"),
            (1534, 1.30, "ARNDT02"),
            (1897, 1.61, "DS99"),
            (6662, 5.66, "GROSS89"),
        )
    ),
)

EXAMPLES = SECTIONS + STRESS_AREAS + GEOMETRY + TORQUES + PULLOUT + BONE
