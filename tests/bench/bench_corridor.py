"""Straight corridor: the batched solver against a loop of scipy.optimize.linprog (HiGHS), in one run.

    python tests/bench/bench_corridor.py [--draws 10000] [--tips 8] [--loop 400 | --loop all]

Both solve the same linear programme (same stations, same 64 directions) for the same draws of an invented
bone. The loop is timed on `--loop` programmes spread evenly over all of them and scaled up; "all" runs
every one of them. Printed: seconds of processor time (so that other work on the machine does not count),
ratio, greatest difference of the radii, and the peak of resident memory before and after the batch. The
exact mode (what a plan uses) is timed beside.
"""

from __future__ import annotations

import argparse
import resource
import time

import numpy as np
from scipy.optimize import linprog

from fixplan.bone.corridor import DIRECTIONS as START
from fixplan.bone.corridor import corridor
from fixplan.bone.profile import Floats, Profile

DIRECTIONS = 64
SEAT = 8.0


def bones(draws: int, rng: np.random.Generator) -> Profile:
    """Invented bones: widths with station noise, straight up to a random level, bowed in both planes beyond."""
    s = np.linspace(0.0, 70.0, 36)

    def widths(mean: float, sd: float) -> Floats:
        flare = 1 + 0.01 * ((s - 33) / 10) ** 2
        return rng.normal(mean, sd, (draws, 1)) * flare + rng.normal(0.0, 0.1, (draws, s.size))

    straight = rng.normal(45.0, 4.0, (draws, 1))
    bow = np.abs(rng.normal(0.004, 0.001, (draws, 1))) / 2 * np.maximum(s - straight, 0.0) ** 2
    return Profile(s, widths(4.7, 0.4), widths(5.6, 0.4), widths(11, 0.3), widths(11, 0.3), bow, bow / 2)


def loop(profile: Profile, tips: Floats, which: Floats) -> Floats:
    """One linprog call for each (draw, tip) of `which`; the rows are built once a tip and shared."""
    turn = 2 * np.pi * np.arange(DIRECTIONS) / DIRECTIONS
    u = np.stack([np.cos(turn), np.sin(turn)], axis=1)
    levels = np.unique(np.concatenate([profile.s, [SEAT], tips]))
    levels = levels[levels >= SEAT]
    at = profile.at(levels)
    rows = np.tile(u, (levels.size, 1))
    z = np.repeat(levels - SEAT, DIRECTIONS)[:, None]
    matrix = np.concatenate([rows, z * rows, np.ones((rows.shape[0], 1))], axis=1)
    out = np.empty(which.size)
    for k, flat in enumerate(which):
        draw, tip = divmod(int(flat), tips.size)
        m = int(np.sum(levels <= tips[tip]))
        a, b = at.canal_ap[draw, :m, None] / 2, at.canal_lateral[draw, :m, None] / 2
        x, y = at.offset_ap[draw, :m, None], at.offset_lateral[draw, :m, None]
        h = np.sqrt((a * u[:, 0]) ** 2 + (b * u[:, 1]) ** 2) + x * u[:, 0] + y * u[:, 1]
        n = m * DIRECTIONS
        found = linprog([0, 0, 0, 0, -1], matrix[:n], h.ravel(), bounds=[(None, None)] * 5, method="highs")
        out[k] = found.x[-1]
    return out


def peak() -> float:
    """Peak resident memory so far [MiB]."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--draws", type=int, default=10_000)
    parser.add_argument("--tips", type=int, default=8)
    parser.add_argument("--loop", default="400")
    given = parser.parse_args()
    profile = bones(given.draws, np.random.default_rng(1))
    tips = np.linspace(35.0, 65.0, given.tips)
    total = given.draws * given.tips
    before = peak()
    seconds = {}
    modes = (("batch, plain programme", False, DIRECTIONS), ("batch, exact sections", True, START))
    for name, exact, directions in modes:
        start = time.process_time()
        result = corridor(profile, SEAT, tips, directions=directions, exact=exact)
        seconds[name] = time.process_time() - start
        if not exact:
            plain = result.radius
        print(f"{name}: {seconds[name]:.2f} s for {total} programmes; peak memory {before:.0f} -> {peak():.0f} MiB")
    count = total if given.loop == "all" else min(total, int(given.loop))
    which = np.linspace(0, total - 1, count).astype(int)
    start = time.process_time()
    radii = loop(profile, tips, which)
    spent = time.process_time() - start
    whole = spent * total / count
    print(
        f"loop of linprog: {spent:.1f} s for {count}, {whole:.0f} s for all; per programme {1e3 * spent / count:.2f} ms"
    )
    print(f"greatest difference of radii: {np.max(np.abs(radii - plain.ravel()[which])):.2e} mm")
    for name, took in seconds.items():
        print(f"ratio, {name}: {whole / took:.0f}")


if __name__ == "__main__":
    main()
