"""Whole constructs: a kit of 60 screws in every load case against PyNite doing the same, in one run.

    uv run python -m tests.bench.bench_mechanics [--sizes 60] [--frames 6 | --frames all] [--cases 1 1000 100000]

Both evaluate the two ends of the bracket (held at seat and thread; bonded to the faces of an open gap) of the same
invented screws in the same invented bone of five pieces, in cantilever, three-point, four-point, axial and torsion.
Frames of `--frames` sizes, spread evenly over the kit, are timed and scaled up; "all" runs every one. The plain beam is
timed, as frames hold no local correction; the corrected one is timed beside it. Printed: seconds of processor time (so
that other work on the machine does not count), ratio, greatest relative difference of the stiffnesses, then the cost of
one evaluation for single cases and for arrays of draws.
"""

from __future__ import annotations

import argparse
import resource
import time
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from fixplan.mechanics.construct import (
    PLAIN,
    PROJECT_DEFAULT,
    Bone,
    Bracket,
    Fracture,
    LocalBending,
    Screw,
    screw_response,
)
from fixplan.validation.frames import BONE, FRACTURE, GAP, LOAD_CASES, LOADS, OPEN, numbers
from tests.published.test_reference_libraries_beams import STOPS, Frame, Section, add, bone_section, rod, run

E, G, SEAT = 114e3, 43e3, 2.0
G1, G2 = FRACTURE - GAP / 2, FRACTURE + GAP / 2


@dataclass(frozen=True)
class Size:
    """An invented screw, mm."""

    core: float
    shank: float
    bore: float
    thread: float
    length: float


def kit(count: int) -> list[Size]:
    """Diameters of 4.0 to 5.5 mm by lengths of 44 to 58 mm, then the same hollow."""
    sizes = [
        Size(0.72 * d, 0.84 * d, bore, 12.0, length)
        for bore in (0.0, 1.2)
        for d in np.linspace(4.0, 5.5, 6)
        for length in np.linspace(44.0, 58.0, 5)
    ]
    return (sizes * (count // len(sizes) + 1))[:count]


def frames(size: Size, bonded: bool) -> Callable[[], tuple[Frame, Callable[[float], str]]]:
    """The builder of one construct as a space frame, as in the tests of the reference library."""
    tip = SEAT + size.length
    first = tip - size.thread
    shank, core = rod(size.shank, size.bore, E, G), rod(size.core, size.bore, E, G)

    def bone(s: float) -> Section:
        return bone_section(s, (size.core if s > first else size.shank) if SEAT < s < tip else 0.0)

    def whole(s: float) -> Section:
        if G1 < s < G2:
            return shank
        return add(bone(s), core if s > first else shank) if SEAT < s < tip else bone(s)

    def build() -> tuple[Frame, Callable[[float], str]]:
        frame = Frame()
        if bonded:
            frame.chain("b", [*STOPS, SEAT, first, tip, G1, G2], whole)
            return frame, lambda s: frame.node("b", s)
        frame.chain("b", [s for s in [*STOPS, SEAT] if s <= SEAT], bone)
        middle = [s for s in [*STOPS, SEAT, first, G1, G2] if SEAT <= s <= first]
        frame.chain("b", [s for s in middle if s <= G1], bone)
        frame.chain("b", [s for s in middle if s >= G2], bone)
        frame.chain("i", [SEAT, FRACTURE, first], lambda s: shank, y=0.01, ends=("b", "b"))
        distal = [s for s in [*STOPS, first, tip] if s >= first]
        frame.chain("b", distal, lambda s: add(bone(s), core) if s < tip else bone(s))
        return frame, lambda s: frame.node("i" if s == FRACTURE else "b", s)

    return build


def screws(sizes: list[Size]) -> Screw:
    """The kit as one part with arrays (m,)."""
    columns = [np.array([getattr(s, n) for s in sizes]) for n in ("core", "shank", "bore", "thread", "length")]
    core, shank, bore, thread, length = columns
    return Screw(shank * 1.2, core, shank, bore, thread, length, *numbers(SEAT, E, G))


def ours(part: Screw, local: LocalBending, bone: Bone = BONE, fracture: Fracture = OPEN) -> Bracket:
    return screw_response(bone, fracture, part, LOADS, local=local)


def seconds(action: Callable[[], object], least: float = 0.5) -> float:
    """Processor time of one call, repeated until `least` seconds are used."""
    action()
    began, calls = time.process_time(), 0
    while time.process_time() - began < least:
        action()
        calls += 1
    return (time.process_time() - began) / calls


def compare(count: int, framed: int) -> None:
    sizes = kit(count)
    part = screws(sizes)
    plain, corrected = seconds(lambda: ours(part, PLAIN)), seconds(lambda: ours(part, PROJECT_DEFAULT))
    bracket = ours(part, PLAIN)
    which = np.unique(np.linspace(0, count - 1, framed).astype(int))
    began, worst = time.process_time(), 0.0
    for k in which:
        for end, bonded in ((bracket.loose, False), (bracket.bonded, True)):
            build = frames(sizes[k], bonded)
            for case in LOAD_CASES:
                if case == "torsion":
                    assert end.torsion is not None
                    mine = float(end.torsion.stiffness_N_mm_per_rad[k])
                else:
                    mine = float(end.bending[case].stiffness_N_per_mm[k])
                worst = max(worst, abs(mine / run(build, case) - 1))
    theirs = (time.process_time() - began) * count / which.size
    note = "" if which.size == count else f" (timed on {which.size} sizes, scaled)"
    print(f"{count} sizes, {len(LOAD_CASES)} load cases, both ends of the bracket; processor seconds")
    print(f"  fixplan, plain      {plain:10.4f}")
    print(f"  fixplan, corrected  {corrected:10.4f}")
    print(f"  PyNite              {theirs:10.2f}{note}")
    print(f"  ratio PyNite / fixplan plain {theirs / plain:.0f}; corrected {theirs / corrected:.0f}")
    print(f"  greatest relative difference of a stiffness {worst:.1e}")


def draws(count: int) -> None:
    """One screw in `count` invented bones, every load case, both ends, corrected."""
    rng = np.random.default_rng(1)
    lead = () if count == 1 else (count,)
    scale = rng.normal(1.0, 0.03, (*lead, 1))
    names = ("outer_x", "outer_y", "canal_x", "canal_y")
    widths = [np.broadcast_to(getattr(BONE, n) * scale, (*lead, 5)) for n in names]
    edges = np.broadcast_to(BONE.edges, (*lead, 6))
    bone = Bone(edges, *widths, E=rng.normal(17e3, 1e3, lead), G=rng.normal(3.3e3, 200.0, lead))
    fracture = Fracture(rng.normal(FRACTURE, 0.5, lead), np.broadcast_to(GAP, lead))
    part = Screw(*numbers(5.0, 3.6, 4.2, 1.6, 16.0, 50.0, SEAT, E, G))
    used = seconds(lambda: ours(part, PROJECT_DEFAULT, bone, fracture))
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"{count:>8} cases: {used:10.4f} s, {1e6 * used / count:10.1f} microseconds each; peak memory {peak:.0f} MB")


def main() -> None:
    ask = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    ask.add_argument("--sizes", type=int, default=60)
    ask.add_argument("--frames", default="6")
    ask.add_argument("--cases", type=int, nargs="+", default=[1, 1000, 100_000])
    given = ask.parse_args()
    compare(given.sizes, given.sizes if given.frames == "all" else int(given.frames))
    for count in given.cases:
        draws(count)


if __name__ == "__main__":
    main()
