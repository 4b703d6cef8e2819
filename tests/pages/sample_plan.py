"""Plans with invented numbers, to look at pages with. Nothing in here was computed: no value is a fact or a result."""

# ruff: noqa: E501
from __future__ import annotations

import dataclasses
from typing import Any

from fixplan.cautions import CAUTIONS
from fixplan.plan.types import (
    Band,
    BenchTick,
    BoneStations,
    CaseSummary,
    Chance,
    Change,
    Draws,
    EndResponse,
    Finding,
    Fit,
    Given,
    Influence,
    Limit,
    LoadResponse,
    Plan,
    PlateCandidate,
    PlatePlan,
    PlateScrew,
    Provenance,
    Reason,
    ScrewCandidate,
    ScrewPlan,
    SourceText,
    Window,
    WorkedLine,
)

LENGTH, FRACTURE, SEAT, STRAIGHT, PERMISSIVE = 71.5, 24.0, 5.0, 50.0, 52.0

BONE = BoneStations(
    s_mm=tuple(LENGTH * k / 20 for k in range(21)),
    canal_ap_mm=(9, 10, 9, 7.9, 7, 6.3, 5.7, 5.2, 4.9, 4.7, 4.7, 4.7, 4.8, 5, 5.3, 5.7, 6.3, 7, 7.6, 7.4, 5),
    canal_lateral_mm=(8, 9.4, 9.2, 8.4, 7.7, 7.1, 6.6, 6.2, 5.8, 5.6, 5.6, 5.6, 5.7, 6, 6.3, 6.8, 7.4, 8, 8.4, 8, 6),
    outer_ap_mm=(
        12,
        17,
        16,
        14.2,
        12.7,
        11.6,
        10.9,
        10.2,
        9.8,
        9.6,
        9.6,
        9.6,
        9.6,
        9.7,
        9.8,
        10,
        10.4,
        10.9,
        11.4,
        11,
        7,
    ),
    outer_lateral_mm=(
        11,
        14,
        13.6,
        12,
        10.9,
        10,
        9.3,
        8.8,
        8.5,
        8.4,
        8.4,
        8.4,
        8.5,
        8.7,
        9,
        9.5,
        10.4,
        11.6,
        12.8,
        12.6,
        8,
    ),
    offset_ap_mm=tuple(-(max(0.0, LENGTH * k / 20 - 40) ** 2) / 260 for k in range(21)),
    offset_lateral_mm=tuple(-((LENGTH * k / 20 - 36) ** 2 - 36**2) / 1400 for k in range(21)),
    length_mm=LENGTH,
    straight_end_mm=STRAIGHT,
    straight_end_permissive_mm=PERMISSIVE,
    fracture_mm=FRACTURE,
    fracture_half_mm=1.0,
    seat_mm=SEAT,
    axis_ap_mm=(0.3, -0.2),
    axis_lateral_mm=(0.4, 0.8),
    outline="Sample outline with invented widths.",
)


def end(stiffness: float, stress: float, factor: float, strain: float | None) -> EndResponse:
    return EndResponse(
        stiffness_N_per_mm=stiffness,
        EI_N_m2=stiffness / 20,
        ratio_to_intact=stiffness / 110,
        moment_at_fracture_N_mm=2700.0,
        peak_stress_MPa=stress,
        critical_section="core at the first thread",
        yield_factor=factor,
        gap_opening_mm=0.31,
        gap_strain=strain,
    )


def responses(soft: float, stiff: float) -> tuple[LoadResponse, ...]:
    loose, bonded = end(soft, 412.0, 1.9, 0.31), end(stiff, 298.0, 2.7, 0.11)
    out = []
    for case, label in (
        ("cantilever_dorsal", "Cantilever, load at the head from plantar"),
        ("cantilever_lateral", "Cantilever, load at the head from lateral"),
        ("four_point", "Four-point bending"),
    ):
        out.append(
            LoadResponse(
                load_case=case,
                label=label,
                activity="walking, heel-toe boot",
                moment_lo_N_mm=1100.0,
                moment_N_mm=2700.0,
                moment_hi_N_mm=4300.0,
                source="SAMPLE",
                bonded=bonded,
                loose=loose,
                plain_bonded=end(stiff * 1.3, 280.0, 2.9, 0.08),
                plain_loose=end(soft * 1.08, 405.0, 1.95, 0.29),
                notes=("The bar touches the bore above about 38 N: the loose end holds below that load only.",),
            )
        )
    return tuple(out)


def finding(rule: str, label: str, verdict: str, value: float, limit: float, why: str) -> Finding:
    return Finding(rule, label, verdict, value, limit, "mm", why, "SAMPLE")


KITS = {
    "TI": ("im-screws-cannulated-ti", "Titanium alloy Ti-6Al-4V, extra low interstitials"),
    "ST": ("im-screws-solid-st", "Stainless steel of the 316L type, cold worked"),
}


def screw(kit: str, diameter: float, length: float, thread: float, tip: float, verdict: str) -> ScrewCandidate:
    first = SEAT + length - thread
    findings = (
        finding("run_out", "Thread beyond the fracture", "pass", first, 27.0, "The whole thread lies beyond the fracture."),
        finding("tip", "tip in the straight segment, cautious published end", verdict if verdict != "pass" else "pass", SEAT + length, 48.0,
                "The tip stays in the straight segment." if verdict == "pass" else "The tip is past the cautious limit."),
        finding("bite", "Thread bites", "pass", diameter, 4.3, "The thread is wider than the canal over its length."),
    )  # fmt: skip
    return ScrewCandidate(
        kit=KITS[kit][0],
        item=f"IMC-{kit}-{diameter:g}x{length:g}",
        label=f"{diameter:g} × {length:g} mm, {thread:g} mm thread",
        family="partially threaded",
        material=KITS[kit][1],
        thread=f"{thread:g} mm",
        diameter_mm=diameter,
        length_mm=length,
        thread_mm=thread,
        core_mm=diameter * 0.68,
        shank_mm=diameter * 0.72,
        cannula_mm=1.6 if kit == "TI" else 0.0,
        first_thread_mm=first,
        tip_mm=SEAT + length,
        corridor_mm=4.3,
        ream_limit_mm=6.2,
        wall_left_mm=1.7,
        tip_to_straight_end_mm=STRAIGHT - SEAT - length,
        first_thread_to_fracture_mm=first - FRACTURE - 1,
        margin_run_out_mm=first - 27.0,
        margin_tip_mm=tip,
        margin_bite_mm=diameter - 4.3 - 0.6,
        margin_wall_mm=6.0 - diameter,
        verdict=verdict,
        findings=findings,
        response=responses(11.0, 46.0),
        instruments=("guide wire 1.6 mm", "cannulated drill 3.2 mm", "tap 4.5 mm", "countersink", "driver T15"),
        chance=Chance(0.71, 0.88, 0.54) if diameter == 5.0 else None,
    )


SCREWS = tuple(
    screw(kit, d, length, 16.0, 43.0 - length, "pass" if length <= 42 else "caution" if length <= 46 else "fail")
    for d, length in (
        (5.0, 42.0),
        (5.5, 42.0),
        (5.0, 40.0),
        (5.0, 44.0),
        (5.5, 40.0),
        (5.5, 44.0),
        (4.5, 42.0),
        (5.0, 50.0),
    )
    for kit in ("TI", "ST")
)

LIMITS = (
    Limit("bite", "Corridor over the thread, and the bite on both sides", 4.9, "low", "diameter", "", "4.3 mm + 2 × 0.3 mm", "SAMPLE"),
    Limit("diameter_min", "Least diameter in the published series", 4.0, "low", "diameter", "", "threshold", "SAMPLE"),
    Limit("wall", "Widest hole that leaves the least wall", 6.0, "high", "diameter", "", "outer corridor − 2 × wall", "SAMPLE"),
    Limit("run_out", "Thread beyond the fracture and its run-out margin", 38.0, "low", "length", "16 mm", "fracture + margin + thread − seat", "SAMPLE"),
    Limit("run_out", "Thread beyond the fracture and its run-out margin", 42.0, "low", "length", "20 mm", "fracture + margin + thread − seat", "SAMPLE"),
    Limit("tip_cautious", "Tip in the straight segment, cautious", 43.0, "high", "length", "", "0.58 × length − clearance − seat", "SAMPLE"),
    Limit("tip_permissive", "Tip in the straight segment, permissive", 46.0, "high", "length", "", "0.68 × length − clearance − seat", "SAMPLE"),
)  # fmt: skip

SCREW_PLAN = ScrewPlan(
    diameter_window=Window("diameter", "", 4.9, 6.0, None, "bite", "wall", False, ""),
    length_windows=(
        Window("length", "16 mm", 38.0, 43.0, 46.0, "run_out", "tip_cautious", False, ""),
        Window("length", "20 mm", 42.0, 43.0, 46.0, "run_out", "tip_cautious", False, ""),
    ),
    limits=LIMITS,
    candidates=SCREWS,
    considered=96,
    first_choice="IMC-TI-5x42",
    one_up="IMC-TI-5.5x42",
    one_down="IMC-TI-4.5x42",
    one_longer="IMC-TI-5x44",
    one_shorter="IMC-TI-5x40",
    answer="Diameter 4.9 to 6.0 mm; length 38 to 43 mm with a 16 mm thread.",
    chosen_by=("meets every rule", "widest margin at the tip among those that meet every rule"),
    have_in_room=("IMC-TI-5x42", "IMC-TI-5.5x42", "IMC-TI-4.5x42", "IMC-TI-5x44", "IMC-TI-5x40"),
    room_chance=0.93,
)


def plate(kit: str, holes: int, thickness: float, verdict: str) -> PlateCandidate:
    pitch = 7.0
    half = (holes - 1) / 2
    screws = []
    for k in range(holes):
        at = (k - half) * pitch
        filled = abs(at) > 4.0
        side = "proximal" if at < 0 else "distal"
        screws.append(
            PlateScrew(k + 1, at, filled, side, "cortical 2.4 mm" if filled else "", 12.0 if filled else None)
        )
    return PlateCandidate(
        kit=kit,
        item=f"MPL-2.4-{holes}-{thickness:g}",
        label=f"straight plate, {holes} holes, {thickness:g} mm",
        material="titanium",
        surface="dorsal",
        standoff_mm=0.5,
        holes=holes,
        length_mm=holes * pitch,
        width_mm=6.0,
        thickness_mm=thickness,
        span_ratio=holes * pitch / 10,
        screw_density=sum(s.filled for s in screws) / holes,
        working_length_mm=14.0,
        proximal_end_mm=-holes * pitch / 2,
        distal_end_mm=holes * pitch / 2,
        screws=tuple(screws),
        verdict=verdict,
        findings=(
            finding("edge", "Distance to the joint", verdict, 4.1, 5.0, "The innermost edge distance, sample text."),
        ),
        response=responses(8.0, 31.0),
        instruments=("drill 1.8 mm", "driver T8", "depth gauge"),
    )


PLATES = (
    plate("mini-plates-2.4", 6, 1.5, "pass"),
    plate("mini-plates-2.4", 7, 1.5, "pass"),
    plate("mini-plates-2.4", 5, 1.5, "caution"),
)
PLATE_PLAN = PlatePlan(
    span_window=Window("length", "", 30.0, 52.0, None, "span_ratio", "room", False, ""),
    limits=(
        Limit(
            "span_ratio", "Plate span against the fracture", 30.0, "low", "length", "", "8 × fracture length", "SAMPLE"
        ),
        Limit("room", "Bone free for the plate", 52.0, "high", "length", "", "room on both sides", "SAMPLE"),
    ),
    candidates=PLATES,
    considered=24,
    first_choice="MPL-2.4-6-1.5",
    one_up="MPL-2.4-7-1.5",
    one_down="MPL-2.4-5-1.5",
    answer="Plate length 30 to 52 mm: five to seven holes.",
    chosen_by=("meets every rule", "longest working length among those"),
)


def given(name: str, label: str, value: float, unit: str, sd: float, origin: str, decides: str = "") -> Given:
    source = "CASE" if origin == "measured" else "SAMPLE"
    return Given(name, label, value, unit, sd, origin, source, "", decides)


GIVEN = (
    given("bone.length", "Bone length", LENGTH, "mm", 0.8, "measured"),
    given("bone.isthmus.canal_ap", "Canal at the isthmus, AP film", 4.7, "mm", 0.3, "measured"),
    given("bone.isthmus.canal_lateral", "Canal at the isthmus, lateral film", 5.6, "mm", 0.4, "assumed", "nothing: the AP film is narrower"),
    given("bone.isthmus.outer_ap", "Outer width at the isthmus, AP film", 9.6, "mm", 1.0, "assumed", "the upper end of the diameter window"),
    given("bone.isthmus.outer_lateral", "Outer width at the isthmus, lateral film", 8.4, "mm", 1.0, "assumed", "the upper end of the diameter window"),
    given("bone.straight_segment", "End of the straight segment", 50.0, "mm", 3.0, "assumed", "the longest length"),
    given("fracture.from_base", "Fracture from the proximal end", FRACTURE, "mm", 2.0, "assumed", "the shortest length"),
    given("imaging.scale", "Scale of the images", 1.0, "1", 0.02, "assumed", "every length on this page"),
    given("patient.body_mass", "Body mass", 74.0, "kg", 0.0, "assumed", "the loads only, no size"),
)  # fmt: skip

WORKED = (
    WorkedLine(
        "length-high",
        "Longest length, cautious",
        '<math display="block"><mrow><msub><mi>l</mi><mi>hi</mi></msub><mo>=</mo><mi>S</mi><mo>&#8722;</mo><mi>c</mi>'
        "<mo>&#8722;</mo><msub><mi>s</mi><mn>0</mn></msub><mo>=</mo><mn>50.0</mn><mo>&#8722;</mo><mn>2.0</mn>"
        "<mo>&#8722;</mo><mn>5.0</mn><mo>=</mo><mn>43.0</mn><mtext> mm</mtext></mrow></math>",
        "l_hi = S - c - s_0 = 50.0 - 2.0 - 5.0 = 43.0 mm",
        43.0,
        "mm",
        "sizing.screw.length_high",
        "SAMPLE",
    ),
    WorkedLine(
        "area",
        "Second moment of area of the core",
        '<math display="block"><mrow><mi>I</mi><mo>=</mo><mfrac><mrow><mi>&#960;</mi><mo>&#8290;</mo><mo>(</mo><msubsup><mi>d</mi>'
        "<mi>o</mi><mn>4</mn></msubsup><mo>&#8722;</mo><msubsup><mi>d</mi><mi>i</mi><mn>4</mn></msubsup><mo>)</mo></mrow><mn>64</mn></mfrac>"
        "<mo>=</mo><mn>6.24</mn><msup><mtext> mm</mtext><mn>4</mn></msup></mrow></math>",
        "I = pi*(d_o**4 - d_i**4)/64 = 6.24 mm**4",
        6.24,
        "mm**4",
        "mechanics.section.annulus",
        "SAMPLE",
    ),
)

PLAN = Plan(
    format="fixplan-plan/1",
    fixplan="0.0.0",
    case=CaseSummary("SAMPLE-5A", "left", 5, "2", "zone 2", "2030-01-08", "simple", "acute", "running"),
    inputs_sha256="0123456789abcdef" * 4,
    fit_for_planning=Fit(
        "plan",
        "Often yes: a fracture here is slow to unite without a construct, and a construct is commonly discussed.",
        (Reason("Sample reason with a source, invented for this page.", "SAMPLE"),),
    ),
    given=GIVEN,
    bone=BONE,
    screw=SCREW_PLAN,
    plate=None,
    draws=Draws(
        n=10000,
        seed=1,
        rejected=0.002,
        no_size=0.03,
        bands=(
            Band("stiffness_loose", "Stiffness, loose end", "N/mm", 8.1, 11.2, 15.3),
            Band("stiffness_bonded", "Stiffness, bonded end", "N/mm", 31.0, 46.0, 61.0),
        ),
        influences=(
            Influence("canal_ap", "Canal at the isthmus, AP film", 0.61, "A wider canal moves the first choice up."),
            Influence("straight_segment", "End of the straight segment", 0.22, "A later bow allows a longer screw."),
        ),
        room="Five sizes stand in the room, sample text.",
    ),
    changes=(
        Change("straight_segment", "End of the straight segment", "End of the straight segment: below 49 mm the first choice becomes 5.0 × 40 mm.", 49.0, "mm"),
        Change("canal_ap", "Canal at the isthmus, AP film", "Canal at the isthmus, AP film: above 4.9 mm the first choice becomes 5.5 × 42 mm.", 4.9, "mm"),
        Change("from_base", "Fracture from the proximal end", "Fracture from the proximal end: beyond 28 mm no 16 mm thread fits.", 28.0, "mm"),
    ),
    findings=(
        Finding("magnification", "Scale of the images", "caution", None, None, "", "No marker was given: the scale is assumed.", "SAMPLE"),
        finding("plane", "Narrower plane governs", "pass", 4.7, 5.6, "The AP film is narrower and governs."),
    ),
    worked=WORKED,
    bench=(
        BenchTick("Screw 4.0 mm, cadaver", "screw", 9.0, 6.0, 4, "HUSAIN02"),
        BenchTick("Two-cortex 3.5 mm screw, cadaver", "screw", 19.0, 17.0, 5, "HUSAIN02"),
        BenchTick("Solid screw, cadaver", "screw", 24.2, 10.4, 12, "WILL20"),
        BenchTick("Cannulated headless screw, cadaver", "screw", 24.7, 5.5, 12, "WILL20"),
    ),
    thresholds=(
        given("run_out_margin", "Run-out margin", 2.0, "mm", 0.0, "assumed"),
        given("tip_clearance", "Tip clearance", 2.0, "mm", 0.0, "assumed"),
        given("wall_min", "Least cortical wall", 1.5, "mm", 0.0, "assumed"),
        given("bite", "Thread bite on each side", 0.3, "mm", 0.0, "assumed"),
    ),
    cautions=CAUTIONS,
    sources=(
        SourceText("SAMPLE", "project default", "Invented for looking at pages; no source.", "not applicable"),
        SourceText("CASE", "project default", "Measured value from the case file.", "not applicable"),
        SourceText("HUSAIN02", "paper", "Husain, DeFronzo. J Foot Ankle Surg 2002. doi:10.1016/s1067-2516(02)80063-1", "read"),
        SourceText("WILL20", "paper", "Willegger et al. Int Orthop 2020. doi:10.1007/s00264-020-04581-2", "read"),
    ),
    provenance=Provenance(
        "0.0.0", "0123456789abcdef" * 4, "sample-5a.toml", (("im-screws-cannulated-ti", "ab" * 32),), "2030-01-07", 1, 10000
    ),
)  # fmt: skip


def change(plan: Plan = PLAN, **kwargs: Any) -> Plan:
    return dataclasses.replace(plan, **kwargs)


SCREW_CASE = PLAN
RIGHT = change(case=dataclasses.replace(PLAN.case, side="right", label="SAMPLE-5B"))
BOTH = change(plate=PLATE_PLAN, case=dataclasses.replace(PLAN.case, label="SAMPLE-5C"))
PLATE_CASE = change(
    case=CaseSummary("SAMPLE-2A", "right", 2, "base", "base", None, "comminuted", "nonunion", "not given"),
    bone=dataclasses.replace(BONE, fracture_mm=14.0, fracture_half_mm=4.0),
    screw=None,
    plate=PLATE_PLAN,
)
EMPTY = change(
    case=dataclasses.replace(PLAN.case, label="SAMPLE-5E"),
    screw=dataclasses.replace(
        SCREW_PLAN,
        diameter_window=Window(
            "diameter", "", 4.9, 4.2, None, "bite", "wall", True,
            "No diameter: the thread needs 4.9 mm to bite and the wall allows 4.2 mm. A plate avoids the canal.",
        ),
        limits=(dataclasses.replace(LIMITS[2], value_mm=4.2), *LIMITS[:2], *LIMITS[3:]),
        candidates=tuple(dataclasses.replace(c, verdict="fail") for c in SCREWS),
        first_choice=None, one_up=None, one_down=None, one_longer=None, one_shorter=None,
        answer="No screw fits: the least diameter that bites is above the widest that leaves the wall.",
        chosen_by=(), have_in_room=(), room_chance=None,
    ),
)  # fmt: skip
OUTSIDE = change(
    case=dataclasses.replace(PLAN.case, label="SAMPLE-5Z", zone="1", zone_label="zone 1"),
    fit_for_planning=Fit(
        "outside scope",
        "Usually not a case for this construct: a zone 1 fracture is commonly treated without one.",
        (Reason("Sample reason with a source, invented for this page.", "SAMPLE"),),
    ),
    screw=None,
    plate=None,
    draws=None,
    changes=(),
    worked=(),
    bench=(),
)
LONG = change(
    case=dataclasses.replace(PLAN.case, label="SAMPLE-5L", side="right"),
    bone=dataclasses.replace(BONE, s_mm=tuple(84.0 * k / 20 for k in range(21)), length_mm=84.0),
)
CROWDED = change(
    case=dataclasses.replace(PLAN.case, label="SAMPLE-5M"),
    plate=PLATE_PLAN,
    fit_for_planning=Fit(
        "question",
        "An open question here: the published series disagree, and this sample sentence is long enough to need two lines on paper.",
        (
            Reason(
                "Sample reason with a source, invented for this page, long enough to fill most of one printed line.",
                "SAMPLE",
            ),
            Reason(
                "A second sample reason, invented for this page, with a second source named beside it.",
                "HUSAIN02, WILL20",
            ),
        ),
    ),
    given=(
        *GIVEN,
        given(
            "bone.isthmus.at",
            "Level of the isthmus from the proximal end",
            41.0,
            "mm",
            6.0,
            "assumed",
            "where the canal is narrowest",
        ),
        given(
            "bone.canal_fracture", "Canal at the fracture, AP film", 6.4, "mm", 1.2, "assumed", "nothing at this length"
        ),
        given("fracture.extent", "Axial extent of the fracture", 2.0, "mm", 1.0, "assumed", "the shortest length"),
        given("fracture.gap", "Gap at the fracture", 1.0, "mm", 0.5, "assumed", "gap strain only"),
    ),
)
HOSTILE_TEXT = "<script>alert('x')</script> \"quoted\" & 'single' \u202ertl"
HOSTILE = change(
    case=dataclasses.replace(PLAN.case, label=HOSTILE_TEXT, zone_label=HOSTILE_TEXT),
    fit_for_planning=Fit("question", HOSTILE_TEXT, (Reason(HOSTILE_TEXT, HOSTILE_TEXT),)),
    given=(*GIVEN, given(HOSTILE_TEXT, HOSTILE_TEXT, 1.0, HOSTILE_TEXT, 0.0, "assumed", HOSTILE_TEXT)),
    bone=dataclasses.replace(BONE, outline=HOSTILE_TEXT),
)

SAMPLES = {
    "screw": SCREW_CASE,
    "right": RIGHT,
    "both": BOTH,
    "plate": PLATE_CASE,
    "empty": EMPTY,
    "outside": OUTSIDE,
    "long": LONG,
    "crowded": CROWDED,
    "hostile": HOSTILE,
}
