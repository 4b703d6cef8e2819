"""Bridge plates: the bed on this bone, every stock plate in its best position, screws by length, and the answer."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from fixplan.kits import CorticalScrew, KitSet, Plate
from fixplan.mechanics import parts
from fixplan.mechanics.plate import plate_response
from fixplan.mechanics.responses import Bracket
from fixplan.plan.frame import Frame, Reader
from fixplan.plan.inputs import SIDE, Parameter
from fixplan.plan.plate_screws import lying, reaching, screw_for, surface_of, with_cortices
from fixplan.plan.remarks import under_load, yield_finding
from fixplan.plan.response import PLATE_CASES, Setting, loads_for, respond
from fixplan.plan.types import Finding, Limit, LoadResponse, PlateCandidate, PlatePlan, PlateScrew, Window
from fixplan.plan.words import RULES, finding
from fixplan.problems import InputError, Problem
from fixplan.sizing.plate import Placement, PlateBed, PlateThresholds, StockPlate, best_placement, span_window
from fixplan.sizing.rules import CAUTION, FAIL, VERDICTS, Floats

# In the picture of the working length the innermost screws stay this far from the faces of the gap (project default).
CLEAR_OF_GAP_MM = 0.5

CRITERIA = (
    "the mildest verdict over all rules, the factor against yield among them (PROJECT)",
    "the fewest cautions (PROJECT)",
    "the longer plate (GAU03)",
    "the thicker plate, then the item code (PROJECT)",
)


@dataclass(frozen=True)
class Bed:
    """The bed in the sizing's terms, and where its centre lies from the proximal end of the metatarsal (mm)."""

    sizing: PlateBed
    limits: PlateThresholds
    centre: float
    fracture: float
    side: str
    across_joint: bool
    assumed_room: bool


def bed(frame: Frame, read: Reader, ray: int, comminuted: bool, across_joint: bool) -> Bed:
    """Where a plate may sit on this bone; rooms not measured run to the ends of the bone."""
    fracture, extent = float(frame.site.fracture), float(frame.site.extent)  # type: ignore[arg-type]
    length = float(frame.length)
    start = 0.0 if across_joint else fracture - extent / 2
    end = fracture + extent / 2
    proximal = float(read.true("room_proximal")) if read.has("room_proximal") else start
    distal = float(read.true("room_distal")) if read.has("room_distal") else length - end
    pattern = "span_ratio_comminuted" if comminuted else "span_ratio_simple"
    value = {
        n: float(read.raw(n))
        for n in (
            "screw_density_max",
            "screws_per_side_min",
            "cortices_per_side_min",
            "edge_distance_min",
            "standoff_max",
            "plate_width_fraction_max",
        )
    }
    return Bed(
        sizing=PlateBed(
            bridged=end - start,
            fracture_length=extent,
            room_proximal=proximal,
            room_distal=distal,
            surface_width=float(read.true("surface_width")) if read.has("surface_width") else None,
            standoff=float(read.true("standoff")),
            comminuted=comminuted,
            surface=surface_of(frame.profile, read.resolved, SIDE[ray], (start + end) / 2),
        ),
        limits=PlateThresholds(span_ratio_min=float(read.raw(pattern)), **value),
        centre=(start + end) / 2,
        fracture=fracture,
        side=SIDE[ray],
        across_joint=across_joint,
        assumed_room=not (read.has("room_proximal") and read.has("room_distal")),
    )


def plate_plan(
    frame: Frame,
    kits: KitSet,
    where: Bed,
    setting: Setting,
    thresholds: dict[str, Parameter],
    instruments: Callable[[Sequence[CorticalScrew]], tuple[str, ...]],
) -> PlatePlan:
    """The plate part of a plan."""
    plates = kits.plates
    laid, codes, order = ranked(kits, where, setting, thresholds)
    first = next((k for k in order if codes[k] < FAIL), None)
    beside = {} if first is None else {name: _step(plates, first, step) for name, step in (("up", 1), ("down", -1))}
    shown = [k for k in order if codes[k] < FAIL or k in beside.values()]
    responses = _responses(setting, where, [plates[k] for k in shown], [laid[k] for k in shown], kits)
    candidates = tuple(
        _candidate(frame, kits, where, plates[k], laid[k], thresholds, responses[n], instruments)
        for n, k in enumerate(shown)
    )
    window, limits = _window(plates, where, thresholds)
    item = {name: (None if k is None else plates[k].item) for name, k in beside.items()}
    return PlatePlan(
        span_window=window,
        limits=limits,
        candidates=candidates,
        considered=len(plates),
        first_choice=None if first is None else plates[first].item,
        one_up=item.get("up"),
        one_down=item.get("down"),
        answer=_answer(None if first is None else plates[first], None if first is None else laid[first], window, where),
        chosen_by=CRITERIA,
        under_load=under_load(candidates[0].response) if first is not None else "",
    )


def ranked(
    kits: KitSet, where: Bed, setting: Setting, thresholds: dict[str, Parameter]
) -> tuple[list[Placement], list[int], list[int]]:
    """Every plate in its best position, its verdict with the factor against yield, and the order of choice."""
    plates = kits.plates
    laid = [on_bone(best_placement(stock_plate(p), where.sizing, where.limits), p, where, kits) for p in plates]
    standing = [k for k in range(len(plates)) if laid[k].code < FAIL]
    loads = dict(
        zip(standing, _responses(setting, where, [plates[k] for k in standing], [laid[k] for k in standing], kits))
    )
    held = {k: yield_finding("plate", r, thresholds) for k, r in loads.items() if r}
    yields = [VERDICTS.index(held[k].verdict) if k in held else 0 for k in range(len(plates))]
    codes = [max(p.code, load) for p, load in zip(laid, yields)]
    return laid, codes, sorted(range(len(plates)), key=lambda k: _key(plates[k], laid[k], yields[k]))


def on_bone(placed: Placement, plate: Plate, where: Bed, kits: KitSet) -> Placement:
    """The placement with its cortices counted by the screws that these kits hold for the plate."""
    return with_cortices(placed, plate, where.sizing, _screws_for(kits, plate), where.limits.cortices_per_side_min)


def stock_plate(plate: Plate) -> StockPlate:
    """A plate in the sizing's terms."""
    return StockPlate(plate.holes, plate.hole_spacing, plate.length, plate.width)


def one_plate(
    frame: Frame,
    kits: KitSet,
    where: Bed,
    setting: Setting,
    plate: Plate,
    placed: Placement,
    thresholds: dict[str, Parameter],
    instruments: Callable[[Sequence[CorticalScrew]], tuple[str, ...]],
) -> PlateCandidate:
    """One plate in one position, whether it fits or not, as the plan itself holds it."""
    response = _responses(setting, where, [plate], [placed], kits)[0]
    return _candidate(frame, kits, where, plate, placed, thresholds, response, instruments)


def laid_plate(
    setting: Setting, where: Bed, plate: Plate, placed: Placement, kits: KitSet, factors: Floats
) -> tuple[Setting, parts.Plate]:
    """Bone and plate for the mechanics, (n,): the innermost screws at `factors` times their distance from the fracture.

    Raises ValueError where the plate has no screw on one side.
    """
    inner = _innermost(placed)
    if inner is None:
        raise ValueError(f"plate {plate.item}: no screw on one side of the fracture; no working length to vary")
    stretch = where.sizing.room_proximal if where.across_joint else 0.0
    shifted = _stretched(setting, stretch)
    at, centre = where.centre + stretch, float(shifted.fracture.centre)
    near, far = inner[0] + at - centre, inner[1] + at - centre
    f = np.asarray(factors, float)

    def same(value: float) -> Floats:
        return np.full(f.shape, value)

    half = float(setting.fracture.gap) / 2
    return shifted, parts.Plate(
        side=where.side,
        width=same(plate.width),
        thickness=same(plate.thickness),
        standoff=np.asarray(where.sizing.standoff, float),
        hole=same(plate.hole_diameter),
        start=same(max(placed.proximal_end + at, 0.0)),
        end=same(placed.distal_end + at),
        inner_proximal=centre + near * f,
        inner_distal=centre + far * f,
        screw_core=same(_core(kits, plate)),
        screws_per_side=same(float(placed.held["screws_per_side"].value)),
        E=same(plate.material.E_MPa),
        G=same(plate.material.G_MPa),
        empty_hole=np.full(f.shape, _empty_over(where, plate, placed, half)),
        locked=np.full(f.shape, plate.locking),
    )


def over_working_length(
    setting: Setting,
    where: Bed,
    plate: Plate,
    placed: Placement,
    kits: KitSet,
    factors: Floats,
    case: str = PLATE_CASES[0],
) -> tuple[Floats, Bracket]:
    """Working lengths [mm] and the bracket of one plate, its innermost screws moved towards the fracture or away.

    `factors` (n,) scale the distance of both innermost screws from the fracture, as if holes could lie anywhere. One
    load case, at the moment of protected walking.

    Raises ValueError where the plate has no screw on one side.
    """
    shifted, part = laid_plate(setting, where, plate, placed, kits, factors)
    loads = loads_for(shifted.bone, shifted.fracture, setting.protected.mid, plate=True)
    bracket = plate_response(shifted.bone, shifted.fracture, part, loads, cases=(case,), plain=False)
    return np.asarray(part.inner_distal - part.inner_proximal), bracket


def factor_range(where: Bed, placed: Placement, gap: float) -> tuple[float, float] | None:
    """Least and greatest factor of `over_working_length`: clear of the gap, within the holes and the free bone."""
    inner = _innermost(placed)
    if inner is None:
        return None
    shift = where.centre - where.fracture
    near, far = abs(inner[0] + shift), inner[1] + shift
    b, half = where.sizing, where.sizing.bridged / 2
    # a screw stands at least clear of the end of the free bone, as one that is laid does
    edge = where.limits.edge_distance_min
    outer = min(
        min(abs(placed.positions[0] + shift), half + b.room_proximal - shift - edge) / near,
        min(placed.positions[-1] + shift, half + b.room_distal + shift - edge) / far,
    )
    least = max(0.5, (gap / 2 + CLEAR_OF_GAP_MM) / min(near, far))
    return (least, outer) if least < outer else None


def _empty_over(where: Bed, plate: Plate, placed: Placement, half: float) -> bool:
    return any(
        not filled and abs(x + where.centre - where.fracture) <= plate.hole_diameter / 2 + half
        for x, filled in zip(placed.positions, placed.filled)
    )


def label(plate: Plate) -> str:
    """A plate in words."""
    return (
        f"{plate.holes} holes, {plate.screw_system:.1f} mm system, {plate.length:g} x {plate.width:g} x "
        f"{plate.thickness:g} mm, {plate.material.name.split(',')[0]}"
    )


def _key(plate: Plate, p: Placement, load: int) -> tuple[int, int, float, float, str]:
    """Order of choice; `load`: verdict of the factor against yield."""
    cautions = sum(int(h.code == CAUTION) for h in p.held.values()) + int(load == CAUTION)
    return (max(p.code, load), cautions, -plate.length, -plate.thickness, plate.item)


def _step(plates: Sequence[Plate], first: int, step: int) -> int | None:
    me = plates[first]
    family = [
        k
        for k, p in enumerate(plates)
        if (p.kit, p.thickness, p.width, p.screw_system, p.locking)
        == (me.kit, me.thickness, me.width, me.screw_system, me.locking)
        and (p.holes - me.holes) * step > 0
    ]
    return min(family, key=lambda k: abs(plates[k].holes - me.holes), default=None)


def _screws_for(kits: KitSet, plate: Plate) -> list[CorticalScrew]:
    fit = [
        s for s in kits.cortical_screws if s.d_major == plate.screw_system and (s.head == "locking") == plate.locking
    ]
    fit = fit or [s for s in kits.cortical_screws if s.d_major == plate.screw_system]
    same = [s for s in fit if s.material.id == plate.material.id]
    return sorted(same or fit, key=lambda s: s.length)


def _responses(
    setting: Setting, where: Bed, plates: Sequence[Plate], laid: Sequence[Placement], kits: KitSet
) -> list[tuple[LoadResponse, ...]]:
    if not plates:
        return []
    stretch = where.sizing.room_proximal if where.across_joint else 0.0
    shifted = _stretched(setting, stretch)
    at = where.centre + stretch
    inner = [_innermost(p) for p in laid]
    known = [k for k, pair in enumerate(inner) if pair is not None]
    half = float(setting.fracture.gap) / 2

    def column(values: Sequence[float]) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
        return np.array([values[k] for k in known], float)

    answers: list[tuple[LoadResponse, ...]] = [() for _ in plates]
    if not known:
        return answers
    cores = [_core(kits, p) for p in plates]
    part = parts.Plate(
        side=where.side,
        width=column([p.width for p in plates]),
        thickness=column([p.thickness for p in plates]),
        standoff=np.asarray(where.sizing.standoff, float),
        hole=column([p.hole_diameter for p in plates]),
        start=np.maximum(column([p.proximal_end + at for p in laid]), 0.0),
        end=column([p.distal_end + at for p in laid]),
        inner_proximal=column([0.0 if pair is None else pair[0] + at for pair in inner]),
        inner_distal=column([0.0 if pair is None else pair[1] + at for pair in inner]),
        screw_core=column(cores),
        screws_per_side=column([float(p.held["screws_per_side"].value) for p in laid]),
        E=column([p.material.E_MPa for p in plates]),
        G=column([p.material.G_MPa for p in plates]),
        empty_hole=np.array([_empty_over(where, plates[k], laid[k], half) for k in known]),
        locked=np.array([plates[k].locking for k in known]),
    )

    def evaluate(loads: parts.Loads, cases: tuple[str, ...]) -> Bracket:
        return plate_response(shifted.bone, shifted.fracture, part, loads, cases=cases)

    rows = respond(shifted, evaluate, [plates[k].material.yield_MPa for k in known], plate=True)
    for k, row in zip(known, rows):
        answers[k] = row
    return answers


def _core(kits: KitSet, plate: Plate) -> float:
    screws = _screws_for(kits, plate)
    if not screws:
        what = f"no kit considered holds a screw of {plate.screw_system:g} mm for the plate {plate.item}"
        right = f"consider a kit of plate screws of {plate.screw_system:g} mm beside it, or leave kit {plate.kit} out"
        raise InputError([Problem("plan.kits", what, right)])
    return screws[0].d_core


def _stretched(setting: Setting, extra: float) -> Setting:
    """The bone with `extra` mm in front: the cuneiform as a continuation of the base's section, joint not moving."""
    if extra == 0:
        return setting
    b = setting.bone

    def front(
        column: np.ndarray[tuple[int, ...], np.dtype[np.float64]],
    ) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
        return np.concatenate([column[..., :1], column], axis=-1)

    bone = replace(
        b,
        edges=np.concatenate([np.zeros_like(b.edges[..., :1]), b.edges + extra], axis=-1),
        **{n: front(getattr(b, n)) for n in ("outer_x", "outer_y", "canal_x", "canal_y")},
    )
    f = replace(setting.fracture, centre=setting.fracture.centre + extra)
    return replace(setting, bone=bone, fracture=f)


def _innermost(p: Placement) -> tuple[float, float] | None:
    taken = [x for x, filled in zip(p.positions, p.filled) if filled]
    near, far = [x for x in taken if x < 0], [x for x in taken if x > 0]
    return (max(near), min(far)) if near and far else None


def _candidate(
    frame: Frame,
    kits: KitSet,
    where: Bed,
    plate: Plate,
    p: Placement,
    thresholds: dict[str, Parameter],
    response: tuple[LoadResponse, ...],
    instruments: Callable[[Sequence[CorticalScrew]], tuple[str, ...]],
) -> PlateCandidate:
    offset = where.centre - where.fracture
    stock = _screws_for(kits, plate)
    p = on_bone(p, plate, where, kits)
    # no length where a width was taken and not measured
    firm = where.sizing.surface is not None and not where.sizing.surface.taken
    known = p.under if firm else (None,) * len(p.under)
    used: list[CorticalScrew] = []
    screws = []
    for n, (x, filled, under) in enumerate(zip(p.positions, p.filled, known), start=1):
        fit = screw_for(under, plate, stock) if filled else None
        if fit is not None:
            used.append(fit)
        screws.append(
            PlateScrew(
                hole=n,
                at_mm=x + offset,
                filled=filled,
                side="proximal" if x < 0 else "distal",
                screw="" if fit is None else fit.item,
                length_mm=None if fit is None else fit.length,
                standoff_mm=None if under is None else under.standoff,
                needed_mm=under.screw(plate.thickness) if filled and under is not None else None,
            )
        )
    found: list[Finding] = []
    for rule, held in p.held.items():
        one = finding(rule, held, (), _source(rule, where, thresholds))
        if one is None:
            continue
        if rule == "standoff":
            one = lying(one, p, where.sizing)
        elif rule == "cortices_per_side":
            one = reaching(one, p, plate, where.sizing, stock, where.across_joint)
        found.append(one)
    if response:
        found.append(yield_finding("plate", response, thresholds))
    return PlateCandidate(
        kit=plate.kit,
        item=plate.item,
        label=label(plate),
        material=plate.material.name,
        surface=where.side,
        standoff_mm=where.sizing.standoff,
        holes=plate.holes,
        length_mm=plate.length,
        width_mm=plate.width,
        thickness_mm=plate.thickness,
        span_ratio=_finite(float(p.held["span_ratio"].value)),
        screw_density=float(p.held["screw_density"].value),
        working_length_mm=_finite(p.working_length),
        proximal_end_mm=p.proximal_end + offset,
        distal_end_mm=p.distal_end + offset,
        screws=tuple(screws),
        verdict=max((f.verdict for f in found), key=VERDICTS.index),
        findings=tuple(found),
        response=response,
        # a length to be measured in theatre still needs its drill and driver
        instruments=instruments(used or stock[:1]),
    )


def _finite(value: float) -> float | None:
    return value if np.isfinite(value) else None


def _source(rule: str, where: Bed, thresholds: dict[str, Parameter]) -> str:
    name = RULES[rule].threshold
    if name == "span_ratio":
        name = "span_ratio_comminuted" if where.sizing.comminuted else "span_ratio_simple"
    return thresholds[name].source


def _window(plates: Sequence[Plate], where: Bed, thresholds: dict[str, Parameter]) -> tuple[Window, tuple[Limit, ...]]:
    spacing = min(p.hole_spacing for p in plates)
    edge = min(p.edge for p in plates)
    w = span_window(where.sizing, where.limits, spacing, edge)
    b, limits = where.sizing, where.limits
    rows = (
        ("span_ratio", w.lo_ratio, "low", f"{limits.span_ratio_min:g} x fracture {b.fracture_length:.1f}"),
        (
            "screws_per_side",
            w.lo_screws,
            "low",
            f"{limits.screws_per_side_min:g} screws a side at {spacing:g} mm, {limits.edge_distance_min:g} mm clear",
        ),
        ("room", w.hi_room, "high", f"{b.room_proximal:.1f} + bridged {b.bridged:.1f} + {b.room_distal:.1f}"),
    )
    found = tuple(
        Limit(name, RULES[name].label, value, end, "span", "", how, _source(name, where, thresholds))
        for name, value, end, how in rows
    )
    # what the screws of one side need at best: clear of the fracture, at the spacing, clear of the end
    need = 2 * limits.edge_distance_min + (limits.screws_per_side_min - 1) * spacing
    short = min((b.room_proximal, "proximal"), (b.room_distal, "distal"))
    empty = w.lo > w.hi_room + 1e-9 or short[0] < need - 1e-9
    opens = ""
    if short[0] < need - 1e-9:
        opens = (
            f"The {short[1]} side has {short[0]:.1f} mm of free bone; {limits.screws_per_side_min:g} screws need "
            f"{need:.1f} mm ({limits.edge_distance_min:g} mm clear at both ends, holes at {spacing:g} mm). "
            "More free bone, closer holes, or a plate that takes screws side by side would open it."
        )
    elif empty:
        opens = (
            f"The least plate is {w.lo:.1f} mm and the free bone {w.hi_room:.1f} mm: {w.lo - w.hi_room:.1f} mm short. "
            "More free bone, closer holes or fewer screws a side would open it."
        )
    by = "span_ratio" if w.lo_ratio >= w.lo_screws else "screws_per_side"
    return Window("span", "", w.lo, w.hi_room, None, by, "room", empty, opens), found


def _answer(plate: Plate | None, p: Placement | None, window: Window, where: Bed) -> str:
    if plate is not None and p is not None:
        across = " It crosses the joint on to the cuneiform." if where.across_joint else ""
        laid = f"Computed for the {where.side} surface, working length {p.working_length:.1f} mm.{across}"
        return f"First choice {plate.item}. {laid}"
    if window.empty:
        return f"No plate of the kits considered meets the rules. {window.opens}"
    return "No plate of the kits considered meets the rules in this room; see the span window."
