"""Reference libraries: PyNite (space frames) and SymPy's beam module, for stepped beams and whole constructs,
within 0.01 %.

Bone and implant are modelled there as two chains of frame members that share nodes where the construct holds
them; a plate's chain stands off by very stiff links. SymPy gives moments and reactions; its joined beams give
wrong slopes for three or more segments, so M/EI is integrated here.
"""

from itertools import pairwise

import numpy as np
import pytest
from Pynite import FEModel3D
from sympy import Symbol
from sympy.physics.continuum_mechanics.beam import Beam

from fixplan.mechanics.construct import PLAIN, Contact, plate_response, screw_response
from fixplan.validation.frames import (
    BONE,
    CANAL_X,
    CANAL_Y,
    CONSTRUCTS,
    EDGES,
    GAP,
    LOADS,
    OPEN,
    OUTER_X,
    OUTER_Y,
    PLATE,
    SCREW,
    STEPPED,
    healing,
    stepped_beam,
    stepped_deflection,
    stiffness,
)
from fixplan.validation.frames import FRACTURE as F
from fixplan.validation.frames import LENGTH as L
from fixplan.validation.libraries import stored

REL = 1e-4
E_B, G_B = 17e3, 3.3e3

Section = tuple[float, float, float, float]
"""EA, EI in plane y, EI in plane x, GJ"""


def bone_section(s: float, widen: float = 0.0, E: float = E_B) -> Section:
    k = int(np.searchsorted(EDGES, s)) - 1
    ox, oy = OUTER_X[k], OUTER_Y[k]
    cx, cy = max(CANAL_X[k], widen), max(CANAL_Y[k], widen)
    area = np.pi / 4 * (ox * oy - cx * cy)
    iy, ix = np.pi / 64 * (ox * oy**3 - cx * cy**3), np.pi / 64 * (oy * ox**3 - cy * cx**3)

    def torsion(x: float, y: float) -> float:
        return np.pi * (x / 2) ** 3 * (y / 2) ** 3 / ((x / 2) ** 2 + (y / 2) ** 2)

    return E * area, E * iy, E * ix, G_B * E / E_B * (torsion(ox, oy) - torsion(cx, cy))


def rod(d: float, bore: float, E: float, G: float) -> Section:
    second = np.pi / 64 * (d**4 - bore**4)
    return E * np.pi / 4 * (d**2 - bore**2), E * second, E * second, 2 * G * second


def add(*sections: Section) -> Section:
    return tuple(sum(v) for v in zip(*sections, strict=True))  # type: ignore[return-value]


class Frame:
    """A frame along X, Y dorsal, Z medial; nodes named by chain and place."""

    def __init__(self) -> None:
        self.model = FEModel3D()
        # unit moduli: sections carry the rigidities; torsion through G = 1
        self.model.add_material("unit", 1.0, 1.0, 0.0, 0.0)
        self.count = 0

    def node(self, chain: str, s: float, y: float = 0.0) -> str:
        name = f"{chain}{s:.6f}"
        if name not in self.model.nodes:
            self.model.add_node(name, s, y, 0.0)
        return name

    def member(self, i: str, j: str, section: Section) -> None:
        self.count += 1
        EA, EI_y, EI_x, GJ = section
        self.model.add_section(f"s{self.count}", EA, EI_x, EI_y, GJ)
        self.model.add_member(f"m{self.count}", i, j, "unit", f"s{self.count}")

    def chain(self, name: str, stops: list[float], section, y: float = 0.0, ends: tuple[str, str] = ("", "")) -> None:
        """Members between successive stops; the two end nodes may belong to another chain."""
        stops = sorted(set(stops))
        nodes = [self.node(name, s, y) if 0 < k < len(stops) - 1 or not ends[0] else "" for k, s in enumerate(stops)]
        if ends[0]:
            nodes[0], nodes[-1] = self.node(ends[0], stops[0]), self.node(ends[1], stops[-1])
        for (i, j), (a, b) in zip(pairwise(nodes), pairwise(stops), strict=True):
            self.member(i, j, section((a + b) / 2))

    def solve(self, at: dict[str, dict[str, float]], fixed: dict[str, str]) -> None:
        names = ("DX", "DY", "DZ", "RX", "RY", "RZ")
        for node, dofs in fixed.items():
            self.model.def_support(node, *(n in dofs.split() for n in names))
        for node, forces in at.items():
            for direction, value in forces.items():
                self.model.add_node_load(node, direction, value)
        self.model.analyze()

    def move(self, node: str, dof: str) -> float:
        return float(getattr(self.model.nodes[node], dof)["Combo 1"])


ALL = "DX DY DZ RX RY RZ"
ROOM = min(F, L - F)
#: outer and inner rollers from the fracture
BENCH = {"three_point": (ROOM, 0.0), "four_point_plate": (ROOM, ROOM / 2), "four_point_im": (ROOM, ROOM / 3)}
STOPS = [*EDGES, F, *(F + k * v for pair in BENCH.values() for v in pair for k in (-1, 1) if 0 <= F + k * v <= L)]


def run(build, case: str) -> float:
    """Stiffness of one case: N/mm, or N mm/rad for torsion."""
    frame, on = build()
    kind, _, direction = case.rpartition("_")
    if case in ("axial", "torsion"):
        head = on(L)
        frame.solve({head: {"FX": -1.0} if case == "axial" else {"MX": 1.0}}, {on(0.0): ALL})
        return 1 / (-frame.move(head, "DX") if case == "axial" else frame.move(head, "RX"))
    if kind == "cantilever":
        whole = np.hypot(LOADS.plantar, LOADS.lateral)
        y, x = {"plantar": (1, 0), "lateral": (0, 1), "combined": (LOADS.plantar / whole, LOADS.lateral / whole)}[
            direction
        ]
        head = on(L)
        frame.solve({head: {"FY": float(y), "FZ": float(x)}}, {on(0.0): ALL})
        return 1 / (frame.move(head, "DY") * y + frame.move(head, "DZ") * x)
    outer, inner = BENCH[kind]
    letter = {"plantar": "Y", "lateral": "Z"}[direction]
    near, far = on(F - outer), on(F + outer)
    points = [on(F)] if inner == 0 else [on(F - inner), on(F + inner)]
    frame.solve({p: {f"F{letter}": 1 / len(points)} for p in points}, {near: "DX DY DZ RX", far: "DY DZ"})
    return 1 / float(np.mean([frame.move(p, f"D{letter}") for p in points]))


def intact_frame():
    frame = Frame()
    frame.chain("b", STOPS, bone_section)
    return frame, lambda s: frame.node("b", s)


A, B, TIP = 2.0, 36.0, 52.0
SHANK, CORE = rod(4.2, 1.6, 114e3, 43e3), rod(3.6, 1.6, 114e3, 43e3)
G1, G2 = F - GAP / 2, F + GAP / 2


def with_screw(s: float, gap: Section | None = None) -> Section:
    """Bone reamed to the screw; `gap` in the gap."""
    if gap is not None and G1 < s < G2:
        return gap
    return bone_section(s, (3.6 if s > B else 4.2) if A < s < TIP else 0.0)


def loose_screw(state: Contact, callus: float = 0.0):
    """Bone chain with or without its gap, screw chain between seat and first thread; beyond it core and bone
    together.
    """

    def build():
        frame = Frame()
        frame.chain("b", [s for s in [*STOPS, A] if s <= A], with_screw)
        middle = [s for s in [*STOPS, A, B, G1, G2] if A <= s <= B]
        if state is Contact.OPEN:
            frame.chain("b", [s for s in middle if s <= G1], with_screw)
            frame.chain("b", [s for s in middle if s >= G2], with_screw)
        else:
            filled = bone_section(F, 4.2, callus) if callus else None
            frame.chain("b", middle, lambda s: with_screw(s, filled))
        # a force over the gap stands on the screw; its node is 0.01 mm off the axis, because the library
        # joins whatever lies on a member
        frame.chain("i", [A, F, B], lambda s: SHANK, y=0.01, ends=("b", "b"))
        distal = [s for s in [*STOPS, B, TIP] if s >= B]
        frame.chain("b", distal, lambda s: add(with_screw(s), CORE) if s < TIP else with_screw(s))

        def on(s: float) -> str:
            return frame.node("i" if s == F and state is Contact.OPEN else "b", s)

        return frame, on

    return build


def bonded_screw(callus: float = 0.0):
    def section(s: float) -> Section:
        if G1 < s < G2:
            return add(SHANK, bone_section(s, 4.2, callus)) if callus else SHANK
        return add(with_screw(s), CORE if s > B else SHANK) if A < s < TIP else with_screw(s)

    def build():
        frame = Frame()
        frame.chain("b", [*STOPS, A, B, TIP, G1, G2], section)
        return frame, lambda s: frame.node("b", s)

    return build


Y = 8.0 / 2 + 0.5 + 1.5 / 2
FLAT = (114e3 * 9.0, 114e3 * 6 * 1.5**3 / 12, 114e3 * 1.5 * 6**3 / 12, 43e3 * 6.0)


def loose_plate(state: Contact, callus: float = 0.0):
    """Plate chain at height Y between the innermost screws; beyond them the plate's own rigidity is added to
    the bone's.
    """

    def outside(s: float) -> Section:
        EA, EI_y, EI_x, GJ = bone_section(s)
        return (EA, EI_y + FLAT[1], EI_x + FLAT[2], GJ) if 14 < s < 56 else (EA, EI_y, EI_x, GJ)

    def build():
        frame = Frame()
        frame.chain("b", [s for s in [*STOPS, 14.0, 22.0] if s <= 22], outside)
        middle = [s for s in [*STOPS, 22.0, 44.0, G1, G2] if 22 <= s <= 44]
        if state is Contact.OPEN:
            frame.chain("b", [s for s in middle if s <= G1], bone_section)
            frame.chain("b", [s for s in middle if s >= G2], bone_section)
        else:
            filled = bone_section(F, 0.0, callus)
            frame.chain("b", middle, lambda s: filled if G1 < s < G2 else bone_section(s))
        frame.chain("b", [s for s in [*STOPS, 44.0, 56.0] if s >= 44], outside)
        frame.chain("p", [22.0, 44.0], lambda s: FLAT, y=Y)
        for s in (22.0, 44.0):
            frame.member(frame.node("b", s), frame.node("p", s, Y), (1e10, 1e11, 1e11, 1e11))
        return frame, lambda s: frame.node("b", s)

    return build


FRAMES = {
    "intact bone": intact_frame,
    "screw held at its ends, open gap": loose_screw(Contact.OPEN),
    "screw held at its ends, callus 200 MPa": loose_screw(Contact.HEALING, 200.0),
    "screw bonded, open gap": bonded_screw(),
    "screw bonded, callus 200 MPa": bonded_screw(200.0),
    "screw held at its ends, closed joint": loose_screw(Contact.CLOSED),
    "plate held at its innermost screws, open gap": loose_plate(Contact.OPEN),
    "plate held at its innermost screws, callus 50 MPa": loose_plate(Contact.HEALING, 50.0),
    "plate held at its innermost screws, callus 2000 MPa": loose_plate(Contact.HEALING, 2000.0),
}
EVERY = [(name, case) for name, (_, cases) in CONSTRUCTS.items() for case in cases]


@pytest.fixture(scope="module")
def ends():
    return {name: make() for name, (make, _) in CONSTRUCTS.items()}


@pytest.mark.parametrize(("name", "case"), EVERY)
def test_constructs_against_frames(ends, name, case):
    assert stiffness(ends[name], case) == pytest.approx(run(FRAMES[name], case), rel=REL)


def test_the_stored_answers_are_the_library_s():
    name, case = "screw held at its ends, open gap", "four_point_im_plantar"
    assert run(FRAMES[name], case) == pytest.approx(stored()[("frames", name, case)].value, rel=1e-6)
    assert {k[1:] for k in stored() if k[0] == "frames"} == set(EVERY)


def test_opening_and_shear_of_a_plated_gap():
    frame, on = loose_plate(Contact.HEALING, 50.0)()
    frame.solve({on(L): {"FY": 20.0}}, {on(0.0): ALL})
    r = plate_response(BONE, healing(50.0), PLATE, LOADS, local=PLAIN)
    case = r.loose.bending["cantilever_plantar"]
    turn = frame.move(on(G2), "RZ") - frame.move(on(G1), "RZ")
    stretch = frame.move(on(G2), "DX") - frame.move(on(G1), "DX")
    slide = frame.move(on(G2), "DY") - frame.move(on(G1), "DY") - frame.move(on(G1), "RZ") * GAP
    assert case.opening_mm["dorsal"] == pytest.approx(stretch - turn * 4.0, rel=1e-3)
    assert case.opening_mm["plantar"] == pytest.approx(stretch + turn * 4.0, rel=1e-3)
    assert case.shear_mm == pytest.approx(abs(slide), rel=1e-3)


def test_opening_and_shear_of_an_open_gap():
    frame, on = loose_screw(Contact.OPEN)()
    frame.solve({on(L): {"FY": 20.0}}, {on(0.0): ALL})
    case = screw_response(BONE, OPEN, SCREW, LOADS, local=PLAIN).loose.bending["cantilever_plantar"]
    turn = frame.move(on(G2), "RZ") - frame.move(on(G1), "RZ")
    slide = frame.move(on(G2), "DY") - frame.move(on(G1), "DY") - frame.move(on(G1), "RZ") * GAP
    assert case.opening_mm["plantar"] == pytest.approx(turn * 4.0, rel=REL)
    assert case.opening_mm["dorsal"] == pytest.approx(-turn * 4.0, rel=REL)
    assert case.shear_mm == pytest.approx(abs(slide), rel=REL)
    assert case.deflection_mm == pytest.approx(frame.move(on(L), "DY"), rel=REL)
    assert case.rotation_rad == pytest.approx(frame.move(on(L), "RZ"), rel=REL)


def sympy_beam(length: float, forces: list[tuple[float, float]], supports: tuple[float, float] | None):
    """Bending moment as a function of place; SymPy's sign is the opposite of ours for forces of the same
    sign.
    """
    beam = Beam(length, 1, 1)
    first, second = Symbol("first"), Symbol("second")
    if supports is None:
        beam.apply_load(first, 0, -1)
        beam.apply_load(second, 0, -2)
        beam.bc_deflection, beam.bc_slope = [(0, 0)], [(0, 0)]
    else:
        beam.apply_load(first, supports[0], -1)
        beam.apply_load(second, supports[1], -1)
        beam.bc_deflection = [(s, 0) for s in supports]
    for value, place in forces:
        beam.apply_load(value, place, -1)
    beam.solve_for_reaction_loads(first, second)
    moment, x = beam.bending_moment(), beam.variable
    return lambda s: -float(moment.subs(x, s))


def symbolic_deflection(name: str, at: float) -> float:
    """Double integral of M/EI with SymPy's moments, less the line through the supports."""
    edges, EI, forces, supports = STEPPED[name]
    moment = sympy_beam(edges[-1], forces, supports)
    stops = sorted({*edges, *(s for _, s in forces), *(supports or ())})

    def sag(x: float) -> float:
        """Double integral of M/EI from zero, Simpson on pieces where M is linear."""
        total = 0.0
        for a, b in pairwise(stops):
            if b <= x:
                rigid = EI[int(np.searchsorted(edges, (a + b) / 2)) - 1]
                # the library's moment at a force is the mean of both sides: stay inside the piece
                lower, upper = moment(a + (b - a) * 1e-9), moment(b - (b - a) * 1e-9)
                middle = (lower + upper) / 2
                total += (b - a) / 6 * ((x - a) * lower + 4 * (x - (a + b) / 2) * middle + (x - b) * upper) / rigid
        return total

    if supports is None:
        return sag(at)
    p, q = supports
    return sag(at) - sag(p) - (sag(q) - sag(p)) * (at - p) / (q - p)


@pytest.mark.parametrize("name", STEPPED)
def test_stepped_beams_against_sympy(name):
    edges, _, forces, supports = STEPPED[name]
    beam, moment = stepped_beam(name), sympy_beam(edges[-1], forces, supports)
    for s, m in zip(beam.s[:-1], beam.moment[:-1], strict=True):
        assert m == pytest.approx(moment(s), rel=1e-9, abs=1e-6)
    for _, place in forces:
        assert stepped_deflection(name, place) == pytest.approx(symbolic_deflection(name, place), rel=1e-6)
