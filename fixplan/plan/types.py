"""What a plan holds. Renderers read these and compute nothing.

Lengths are mm in names that end in `_mm`, forces `_N`, moments `_N_mm`, stiffness `_N_per_mm`, bending stiffness
`_N_m2`, stress `_MPa`, angles `_deg`; ratios and counts have no ending.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from fixplan.declare import ASSUMED, DERIVED, KIT, MEASURED, RECORD, THRESHOLD, num
from fixplan.plan.strength_types import StrengthPart

PASS, CAUTION, FAIL = "pass", "caution", "fail"


@dataclass(frozen=True)
class Given:
    """A quantity the plan rests on: measured in the case file, derived from measurements, or assumed.

    `grade` says how well an assumed value is known (`fixplan.sources.GRADES`), "" for others; `sd_source` where its
    uncertainty comes from, "" where that is the source itself or the case file.
    """

    name: str
    label: str
    value: Annotated[float, num("see unit", "the value used", ASSUMED, "origin, source")]
    unit: str
    sd: Annotated[float, num("see unit", "standard uncertainty; 0: none carried", ASSUMED, "origin, source")]
    origin: str
    source: str
    note: str
    decides: str
    grade: str = ""
    sd_source: str = ""
    low: Annotated[float | None, num("see unit", "low end where only a band is assumed", ASSUMED, "note")] = None
    high: Annotated[float | None, num("see unit", "high end where only a band is assumed", ASSUMED, "note")] = None


@dataclass(frozen=True)
class Finding:
    """One rule held against one thing."""

    rule: str
    label: str
    verdict: str
    value: Annotated[float | None, num("see unit", "the value found", DERIVED, "rule")]
    limit: Annotated[float | None, num("see unit", "the limit it is held against", THRESHOLD, "source")]
    unit: str
    why: str
    source: str


@dataclass(frozen=True)
class Limit:
    """One limit of a window."""

    name: str
    label: str
    value_mm: Annotated[float, num("mm", "the limit", DERIVED, "how")]
    end: str
    of: str
    thread: str
    how: str
    source: str


@dataclass(frozen=True)
class Window:
    """A window of sizes; `lo_mm` above `hi_mm` is an empty window and `empty` is true."""

    of: str
    thread: str
    lo_mm: Annotated[float, num("mm", "low end", DERIVED, "lo_by")]
    hi_mm: Annotated[float, num("mm", "high end", DERIVED, "hi_by")]
    hi_permissive_mm: Annotated[
        float | None, num("mm", "high end by the permissive published limit", DERIVED, "limits")
    ]
    lo_by: str
    hi_by: str
    empty: bool
    opens: str


@dataclass(frozen=True)
class EndResponse:
    """What the beam does at one end of the bracket, for one load case at its middle load."""

    stiffness_N_per_mm: Annotated[
        float, num("N/mm", "force at the head over its deflection", DERIVED, "mechanics.construct")
    ]
    EI_N_m2: Annotated[float | None, num("N*m**2", "structural bending stiffness", DERIVED, "mechanics.construct")]
    ratio_to_intact: Annotated[
        float | None, num("1", "stiffness against the intact bone", DERIVED, "mechanics.construct")
    ]
    moment_at_fracture_N_mm: Annotated[float, num("N*mm", "bending moment at the fracture", DERIVED, "mechanics.beam")]
    peak_stress_MPa: Annotated[
        float, num("MPa", "largest bending stress in the implant", DERIVED, "mechanics.construct")
    ]
    critical_section: str
    yield_factor: Annotated[
        float, num("1", "least yield of the material over the stress", DERIVED, "mechanics.strength")
    ]
    gap_opening_mm: Annotated[float, num("mm", "opening at the far cortex", DERIVED, "mechanics.gap")]
    gap_strain: Annotated[float | None, num("1", "opening over the gap", DERIVED, "mechanics.gap")]


@dataclass(frozen=True)
class LoadResponse:
    """One load case: its load, and the bracket of what the construct does under it."""

    load_case: str
    label: str
    activity: str
    moment_lo_N_mm: Annotated[float, num("N*mm", "low end of the assumed moment band", ASSUMED, "source")]
    moment_N_mm: Annotated[float, num("N*mm", "moment at the fracture used here", ASSUMED, "source")]
    moment_hi_N_mm: Annotated[float, num("N*mm", "high end of the assumed moment band", ASSUMED, "source")]
    source: str
    bonded: EndResponse
    loose: EndResponse
    plain_bonded: EndResponse | None
    plain_loose: EndResponse | None
    notes: tuple[str, ...]


@dataclass(frozen=True)
class Chance:
    """Shares of the draws, once draws are run."""

    passes: Annotated[float, num("1", "share of draws in which every rule is met", DERIVED, "uncertainty")]
    no_fail: Annotated[float, num("1", "share of draws in which no rule fails", DERIVED, "uncertainty")]
    first_choice: Annotated[
        float, num("1", "share of draws in which this size is the first choice", DERIVED, "uncertainty")
    ]


@dataclass(frozen=True)
class ScrewCandidate:
    """One stock screw held against every rule."""

    kit: str
    item: str
    label: str
    family: str
    material: str
    thread: str
    diameter_mm: Annotated[float, num("mm", "major diameter", KIT, "item")]
    length_mm: Annotated[float, num("mm", "length from seat to tip", KIT, "item")]
    thread_mm: Annotated[float, num("mm", "thread length", KIT, "item")]
    core_mm: Annotated[float, num("mm", "core diameter", KIT, "item")]
    shank_mm: Annotated[float, num("mm", "shank diameter", KIT, "item")]
    cannula_mm: Annotated[float, num("mm", "bore of the cannulation, 0 if solid", KIT, "item")]
    first_thread_mm: Annotated[float, num("mm", "first thread from the proximal end", DERIVED, "sizing.screw")]
    tip_mm: Annotated[float, num("mm", "tip from the proximal end", DERIVED, "sizing.screw")]
    corridor_mm: Annotated[
        float | None, num("mm", "diameter of the straight corridor over the thread", DERIVED, "bone.corridor")
    ]
    ream_limit_mm: Annotated[
        float | None, num("mm", "widest hole that leaves the least wall over the thread", DERIVED, "bone.corridor")
    ]
    wall_left_mm: Annotated[float | None, num("mm", "thinnest wall left over the thread", DERIVED, "bone.corridor")]
    tip_to_straight_end_mm: Annotated[
        float, num("mm", "tip to the end of the straight segment, cautious", DERIVED, "sizing.screw")
    ]
    first_thread_to_fracture_mm: Annotated[
        float, num("mm", "first thread beyond the distal edge of the fracture", DERIVED, "sizing.screw")
    ]
    margin_run_out_mm: Annotated[
        float, num("mm", "room between run-out limit and first thread", DERIVED, "sizing.screw")
    ]
    margin_tip_mm: Annotated[float, num("mm", "room between tip and its cautious limit", DERIVED, "sizing.screw")]
    margin_bite_mm: Annotated[float | None, num("mm", "diameter above the least that bites", DERIVED, "sizing.screw")]
    margin_wall_mm: Annotated[
        float | None, num("mm", "diameter below the widest that leaves the wall", DERIVED, "sizing.screw")
    ]
    verdict: str
    findings: tuple[Finding, ...]
    response: tuple[LoadResponse, ...]
    instruments: tuple[str, ...]
    chance: Chance | None


@dataclass(frozen=True)
class PlateScrew:
    """One hole of a plate: filled or empty, where it lies, and the screw it takes."""

    hole: Annotated[int, num("1", "hole number from the proximal end", DERIVED, "sizing.plate")]
    at_mm: Annotated[float, num("mm", "hole centre from the fracture, distal positive", DERIVED, "sizing.plate")]
    filled: bool
    side: str
    screw: str
    length_mm: Annotated[
        float | None,
        num("mm", "screw length, rounded up to stock; None: measure in theatre", DERIVED, "sizing.plate"),
    ]
    standoff_mm: Annotated[
        float | None, num("mm", "from a straight plate to the bone under the hole", DERIVED, "sizing.plate_lie")
    ] = None
    needed_mm: Annotated[
        float | None, num("mm", "least length that ends in the far cortex", DERIVED, "sizing.plate_lie")
    ] = None


@dataclass(frozen=True)
class PlateCandidate:
    """One stock plate in its best position, on the `surface` of the bone it is computed for."""

    kit: str
    item: str
    label: str
    material: str
    surface: str
    standoff_mm: Annotated[float, num("mm", "distance from bone to plate", DERIVED, "case or assumed")]
    holes: Annotated[int, num("1", "number of holes", KIT, "item")]
    length_mm: Annotated[float, num("mm", "length of the plate", KIT, "item")]
    width_mm: Annotated[float, num("mm", "width of the plate", KIT, "item")]
    thickness_mm: Annotated[float, num("mm", "thickness of the plate", KIT, "item")]
    span_ratio: Annotated[float | None, num("1", "plate length over fracture length", DERIVED, "sizing.plate")]
    screw_density: Annotated[float, num("1", "filled holes over holes", DERIVED, "sizing.plate")]
    working_length_mm: Annotated[float | None, num("mm", "between the innermost screws", DERIVED, "sizing.plate")]
    proximal_end_mm: Annotated[float, num("mm", "proximal end of the plate from the fracture", DERIVED, "sizing.plate")]
    distal_end_mm: Annotated[float, num("mm", "distal end of the plate from the fracture", DERIVED, "sizing.plate")]
    screws: tuple[PlateScrew, ...]
    verdict: str
    findings: tuple[Finding, ...]
    response: tuple[LoadResponse, ...]
    instruments: tuple[str, ...]


@dataclass(frozen=True)
class ScrewPlan:
    """Windows first, then stock."""

    diameter_window: Window
    length_windows: tuple[Window, ...]
    limits: tuple[Limit, ...]
    candidates: tuple[ScrewCandidate, ...]
    considered: Annotated[int, num("1", "stock sizes held against the rules", RECORD, "kits")]
    first_choice: str | None
    one_up: str | None
    one_down: str | None
    one_longer: str | None
    one_shorter: str | None
    answer: str
    chosen_by: tuple[str, ...]
    have_in_room: tuple[str, ...]
    room_chance: Annotated[float | None, num("1", "share of draws the sizes in the room serve", DERIVED, "uncertainty")]
    under_load: str = ""


@dataclass(frozen=True)
class PlatePlan:
    """Bridge plates."""

    span_window: Window
    limits: tuple[Limit, ...]
    candidates: tuple[PlateCandidate, ...]
    considered: Annotated[int, num("1", "stock plates held against the rules", RECORD, "kits")]
    first_choice: str | None
    one_up: str | None
    one_down: str | None
    answer: str
    chosen_by: tuple[str, ...]
    under_load: str = ""


@dataclass(frozen=True)
class Reason:
    text: str
    source: str


@dataclass(frozen=True)
class Fit:
    """Is this usually a case for a construct? `verdict`: plan, question or outside scope."""

    verdict: str
    sentence: str
    reasons: tuple[Reason, ...]


@dataclass(frozen=True)
class BoneStations:
    """The bone as drawn and computed: widths across at each station, and the centre line."""

    s_mm: Annotated[tuple[float, ...], num("mm", "station from the proximal end", DERIVED, "bone.profile")]
    canal_ap_mm: Annotated[tuple[float, ...], num("mm", "canal width, AP film", DERIVED, "bone.profile")]
    canal_lateral_mm: Annotated[tuple[float, ...], num("mm", "canal height, lateral film", DERIVED, "bone.profile")]
    outer_ap_mm: Annotated[tuple[float, ...], num("mm", "outer width, AP film", DERIVED, "bone.profile")]
    outer_lateral_mm: Annotated[tuple[float, ...], num("mm", "outer height, lateral film", DERIVED, "bone.profile")]
    offset_ap_mm: Annotated[
        tuple[float, ...], num("mm", "centre line, AP film, lateral positive", DERIVED, "bone.profile")
    ]
    offset_lateral_mm: Annotated[
        tuple[float, ...], num("mm", "centre line, lateral film, dorsal positive", DERIVED, "bone.profile")
    ]
    length_mm: Annotated[float, num("mm", "length of the bone", MEASURED, "bone.length")]
    straight_end_mm: Annotated[float, num("mm", "end of the straight segment, cautious", DERIVED, "bone.profile")]
    straight_end_permissive_mm: Annotated[
        float, num("mm", "end of the straight segment, permissive", DERIVED, "bone.profile")
    ]
    fracture_mm: Annotated[float, num("mm", "fracture centre from the proximal end", DERIVED, "case or assumed")]
    fracture_half_mm: Annotated[float, num("mm", "half the axial extent of the fracture", DERIVED, "case or assumed")]
    seat_mm: Annotated[float, num("mm", "seat of the head from the proximal end", DERIVED, "case or threshold")]
    axis_ap_mm: Annotated[
        tuple[float, float], num("mm", "screw axis at seat and tip, AP film", DERIVED, "bone.corridor")
    ]
    axis_lateral_mm: Annotated[
        tuple[float, float], num("mm", "screw axis at seat and tip, lateral film", DERIVED, "bone.corridor")
    ]
    outline: str


@dataclass(frozen=True)
class WorkedLine:
    """One formula with its numbers put in.

    `part` heads the lines that belong together. `shows` names the numbers of this plan that the line gives, each by
    what it is of, its case and its field: "screw:margin_tip_mm", "finding:<label>:value", "limit:<name>:<thread>",
    "span:<name>", "<kind>:<load case>:<end>:<field>", "<kind>:under:<activity>", "strength:<field>".
    `aside`: not for print. `symbols` are those of the formula with what each means.
    """

    id: str
    title: str
    mathml: str
    text: str
    value: Annotated[float, num("see unit", "the result", DERIVED, "formula")]
    unit: str
    formula: str
    source: str
    part: str = ""
    shows: tuple[str, ...] = ()
    aside: bool = False
    note: str = ""
    symbols: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True)
class Change:
    """An input that would change the answer, and at which value."""

    name: str
    label: str
    text: str
    at: Annotated[float | None, num("see unit", "value at which the answer changes", DERIVED, "plan.changes")]
    unit: str


@dataclass(frozen=True)
class KitUsed:
    """A kit the sizes were chosen from: how it is known (`status`) and the id of its source."""

    id: str
    title: str
    status: str
    source: str
    note: str


@dataclass(frozen=True)
class MaterialValue:
    """One property of an implant material of the kits: `status` is how the value is known."""

    material: str
    standard: str
    quantity: str
    value: Annotated[float, num("see unit", "property of an implant material", KIT, "source, status")]
    unit: str
    source: str
    status: str


@dataclass(frozen=True)
class SourceText:
    id: str
    kind: str
    text: str
    verified: str


@dataclass(frozen=True)
class BenchTick:
    """A published bench test, drawn as a tick beside the computed bracket; never an input of the plan."""

    label: str
    construct: str
    mean_N_per_mm: Annotated[float, num("N/mm", "published mean stiffness", RECORD, "source")]
    sd_N_per_mm: Annotated[
        float | None, num("N/mm", "published standard deviation; None: not printed", RECORD, "source")
    ]
    n: Annotated[int | None, num("1", "specimens; None: not printed", RECORD, "source")]
    source: str


@dataclass(frozen=True)
class Band:
    """A response of the first choice over the draws: its 5, 50 and 95 % quantiles."""

    name: str
    label: str
    unit: str
    lo: Annotated[float, num("see unit", "5 % quantile of the draws", DERIVED, "plan.draws")]
    mid: Annotated[float, num("see unit", "median of the draws", DERIVED, "plan.draws")]
    hi: Annotated[float, num("see unit", "95 % quantile of the draws", DERIVED, "plan.draws")]


@dataclass(frozen=True)
class Influence:
    """How much of the spread in the answer one input explains alone."""

    name: str
    label: str
    share: Annotated[float, num("1", "share of the spread that this input explains alone", DERIVED, "plan.draws")]
    text: str


@dataclass(frozen=True)
class Draws:
    """What the draws say of the answer as a whole."""

    n: Annotated[int, num("1", "number of draws", RECORD, "command")]
    seed: Annotated[int, num("1", "seed of the draws", RECORD, "command")]
    rejected: Annotated[float, num("1", "share of draws that made no bone and were drawn again", DERIVED, "plan.draws")]
    no_size: Annotated[float, num("1", "share of draws in which no stock size is left", DERIVED, "plan.draws")]
    bands: tuple[Band, ...]
    influences: tuple[Influence, ...]
    room: str
    bands_n: Annotated[int, num("1", "number of draws the bands are read from", RECORD, "plan.chances")] = 0
    error: Annotated[
        float | None, num("1", "two standard errors of a share near one half", DERIVED, "plan.chances")
    ] = None


@dataclass(frozen=True)
class Provenance:
    version: str
    inputs_sha256: str
    case_file: str
    kits: tuple[tuple[str, str], ...]
    on: str
    seed: Annotated[int, num("1", "seed of the draws", RECORD, "command")]
    draws: Annotated[int, num("1", "number of draws", RECORD, "command")]


@dataclass(frozen=True)
class CaseSummary:
    label: str
    side: str
    ray: Annotated[int, num("1", "which metatarsal", MEASURED, "bone.ray")]
    zone: str
    zone_label: str
    planned_for: str | None
    pattern: str
    healing: str
    activity: str
    previous: str = ""


@dataclass(frozen=True)
class Evidence:
    """One published statement: evidence, never advice. `unverified` has to be shown where it is true."""

    id: str
    text: str
    source: str
    grade: str
    grade_text: str
    population: str
    unverified: bool


@dataclass(frozen=True)
class ContextTopic:
    """The statements of one topic, or of one ticked risk factor."""

    name: str
    heading: str
    statements: tuple[Evidence, ...]


@dataclass(frozen=True)
class PublishedResult:
    """One number of one series; low and high are what `interval` says."""

    arm: str
    value: Annotated[float | None, num("see unit", "published value", RECORD, "source")]
    sd: Annotated[float | None, num("see unit", "published standard deviation", RECORD, "source")]
    low: Annotated[float | None, num("see unit", "low end of the published interval", RECORD, "source")]
    high: Annotated[float | None, num("see unit", "high end of the published interval", RECORD, "source")]
    interval: str
    unit: str
    n: Annotated[int | None, num("1", "patients or feet; None: not printed", RECORD, "source")]
    stage: str
    note: str
    source: str
    grade: str
    grade_text: str
    population: str
    unverified: bool


@dataclass(frozen=True)
class PublishedMeasure:
    """One measure, series side by side."""

    name: str
    unit: str
    results: tuple[PublishedResult, ...]


@dataclass(frozen=True)
class ScoreLine:
    """A published score or cut-off applied to the case; `value` None: it cannot be computed from what is given."""

    name: str
    label: str
    value: Annotated[float | None, num("see unit", "the score; None: cannot be computed", DERIVED, "appraisal.scores")]
    low: Annotated[float | None, num("see unit", "least the score can be", DERIVED, "appraisal.scores")]
    high: Annotated[float | None, num("see unit", "most the score can be", DERIVED, "appraisal.scores")]
    unit: str
    band: str
    text: str
    missing: tuple[str, ...]
    source: str
    grade: str
    grade_text: str
    population: str
    unverified: bool


@dataclass(frozen=True)
class RevisionPart:
    """After an earlier screw or a failed union: what the model does, what is published, the window before and after."""

    heading: str
    model: tuple[Evidence, ...]
    published: tuple[Evidence, ...]
    window_without: Window | None
    window_with: Window | None
    text: str


@dataclass(frozen=True)
class ContextPart:
    """What is published round this case."""

    topics: tuple[ContextTopic, ...]
    risks: tuple[ContextTopic, ...]
    measures: tuple[PublishedMeasure, ...]
    scores: tuple[ScoreLine, ...]
    revision: RevisionPart | None
    note: str


@dataclass(frozen=True)
class AfterRow:
    """One series on one milestone: weeks after surgery, and dates where the day of surgery is known."""

    text: str
    weeks: Annotated[float | None, num("week", "published value", RECORD, "source")]
    weeks_low: Annotated[float, num("week", "low end of the band", RECORD, "how")]
    weeks_high: Annotated[float, num("week", "high end of the band", RECORD, "how")]
    how: str
    earliest: str | None
    latest: str | None
    source: str
    grade: str
    grade_text: str
    population: str
    unverified: bool


@dataclass(frozen=True)
class AfterMilestone:
    """One milestone: series side by side, and the band that holds the verified ones."""

    name: str
    label: str
    rows: tuple[AfterRow, ...]
    weeks_low: Annotated[float, num("week", "earliest over the verified series", DERIVED, "rows")]
    weeks_high: Annotated[float, num("week", "latest over the verified series", DERIVED, "rows")]
    earliest: str | None
    latest: str | None


@dataclass(frozen=True)
class AftercarePart:
    """After surgery: what published series watched and when. Not a protocol."""

    planned_for: str | None
    milestones: tuple[AfterMilestone, ...]
    watch: tuple[AfterRow, ...]
    signs: tuple[Evidence, ...]
    union: tuple[Evidence, ...]
    removal: tuple[Evidence, ...]
    note: str


@dataclass(frozen=True)
class Curve:
    """One line of a picture: y over x, in the units of its picture."""

    name: str
    x: Annotated[tuple[float, ...], num("see x_unit", "abscissa", DERIVED, "plan.tradeoffs")]
    y: Annotated[tuple[float, ...], num("see y_unit", "ordinate", DERIVED, "plan.tradeoffs")]


@dataclass(frozen=True)
class Mark:
    """A value on the y axis of a picture: a limit, or a published test (never an input of the plan)."""

    label: str
    at: Annotated[float, num("see y_unit", "the value", RECORD, "source")]
    spread: Annotated[
        float | None, num("see y_unit", "published standard deviation; None: not printed", RECORD, "source")
    ]
    kind: str
    source: str


@dataclass(frozen=True)
class Picked:
    """A size marked on the x axis of a picture."""

    label: str
    at: Annotated[float, num("see x_unit", "the size marked", KIT, "item")]


@dataclass(frozen=True)
class TradeOff:
    """One picture of a trade-off: curves over one size, the chosen size, marks, and its reading in a sentence."""

    name: str
    title: str
    x_label: str
    x_unit: str
    y_label: str
    y_unit: str
    curves: tuple[Curve, ...]
    picked: tuple[Picked, ...]
    marks: tuple[Mark, ...]
    reading: str
    how: str
    evidence: tuple[Evidence, ...]


@dataclass(frozen=True)
class Question:
    """A trainee's question on this case with its computed answer; `worked` names worked lines that show it."""

    name: str
    question: str
    answer: tuple[str, ...]
    worked: tuple[str, ...]
    source: str


@dataclass(frozen=True)
class CorridorContact:
    """A place where the straight corridor touches its wall; the shares of all places add up to 1."""

    wall: str
    at_mm: Annotated[float, num("mm", "station of the contact", DERIVED, "bone.corridor")]
    share: Annotated[float, num("1", "share of this contact in what holds the corridor", DERIVED, "bone.corridor")]


@dataclass(frozen=True)
class CorridorAxis:
    """A straight axis through the canal: where it enters, where it points, and what fits about it."""

    name: str
    entry_ap_mm: Annotated[
        float, num("mm", "entry from the middle of the canal, AP film, lateral positive", DERIVED, "bone.corridor")
    ]
    entry_lateral_mm: Annotated[
        float, num("mm", "entry from the middle of the canal, lateral film, dorsal positive", DERIVED, "bone.corridor")
    ]
    turn_ap_deg: Annotated[
        float, num("deg", "turn from the axis of the stations, AP film, lateral positive", DERIVED, "bone.corridor")
    ]
    turn_lateral_deg: Annotated[
        float, num("deg", "turn from the axis of the stations, lateral film, dorsal positive", DERIVED, "bone.corridor")
    ]
    canal_mm: Annotated[float, num("mm", "diameter of the corridor in the canal", DERIVED, "bone.corridor")]
    ream_mm: Annotated[float, num("mm", "widest hole that leaves the least wall", DERIVED, "bone.corridor")]


@dataclass(frozen=True)
class WallLeft:
    """The wall a hole as wide as the thread leaves about the axis wanted, at one station of the thread."""

    s_mm: Annotated[float, num("mm", "station from the proximal end", DERIVED, "bone.profile")]
    least_mm: Annotated[float, num("mm", "thinnest wall of the section", DERIVED, "bone.corridor")]
    medial_mm: Annotated[float, num("mm", "as the AP film shows it, medial", DERIVED, "bone.corridor")]
    lateral_mm: Annotated[float, num("mm", "as the AP film shows it, lateral", DERIVED, "bone.corridor")]
    dorsal_mm: Annotated[float, num("mm", "as the lateral film shows it, dorsal", DERIVED, "bone.corridor")]
    plantar_mm: Annotated[float, num("mm", "as the lateral film shows it, plantar", DERIVED, "bone.corridor")]


@dataclass(frozen=True)
class CorridorPart:
    """The straight corridor of a bone measured along its length, from the seat to a tip."""

    start_mm: Annotated[float, num("mm", "where the corridor starts: the seat, or the first station", DERIVED, "bone")]
    tip_mm: Annotated[float, num("mm", "tip of the first choice, else the deepest tip allowed", DERIVED, "plan.screws")]
    depth: TradeOff
    wanted: CorridorAxis
    measured: CorridorAxis | None
    between_deg: Annotated[
        float | None, num("deg", "angle between the two directions; None: no entry measured", DERIVED, "bone.corridor")
    ]
    contacts: tuple[CorridorContact, ...]
    walls: tuple[WallLeft, ...]
    reading: tuple[str, ...]
    note: str


@dataclass(frozen=True)
class Plan:
    format: str
    fixplan: str
    case: CaseSummary
    inputs_sha256: str
    fit_for_planning: Fit
    given: tuple[Given, ...]
    bone: BoneStations
    screw: ScrewPlan | None
    plate: PlatePlan | None
    changes: tuple[Change, ...]
    findings: tuple[Finding, ...]
    worked: tuple[WorkedLine, ...]
    bench: tuple[BenchTick, ...]
    thresholds: tuple[Given, ...]
    cautions: tuple[str, ...]
    sources: tuple[SourceText, ...]
    provenance: Provenance
    draws: Draws | None = None
    context: ContextPart | None = None
    aftercare: AftercarePart | None = None
    tradeoffs: tuple[TradeOff, ...] = ()
    questions: tuple[Question, ...] = ()
    corridor: CorridorPart | None = None
    strength: StrengthPart | None = None
    kits: tuple[KitUsed, ...] = ()
    materials: tuple[MaterialValue, ...] = ()
