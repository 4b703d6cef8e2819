"""Makes reference.csv: python -m tests.solids.make_reference [--only FAMILY ...] [--missing] [--work DIR]."""

from __future__ import annotations

import argparse
import csv
import dataclasses
import tempfile
import time
from pathlib import Path

from tests.solids import bars, cases, plates, strips

HERE = Path(__file__).parent
TARGET = HERE / "reference.csv"

# cells on half a side of the core square and first layer over the diameter; element size in the plate [mm]
CHECKED = {"bonded": (1, 48), "ends": (1, 11), "plate": (1, 15), "strip": (1, 11)}
BAR_MESHES = {
    "coarse": {"n": 2, "fine": 0.16},
    "use": {"n": 3, "fine": 0.08},
    "finest": {"n": 4, "fine": 0.05},
}
PLATE_MESHES = {"coarse": {"fine": 1.0}, "use": {"fine": 0.7}, "finest": {"fine": 0.5}}
STRIP_MESHES = {"coarse": {"fine": 0.12}, "use": {"fine": 0.07}, "finest": {"fine": 0.045}}

AnyCase = bars.BarCase | plates.PlateCase | strips.StripCase


def jobs(family: str) -> list[tuple[AnyCase, str, bool]]:
    """Case, mesh and whether it is held out: one row a case, and two more meshes of two cases a family."""
    made: list[AnyCase] = [
        *{
            "tube": cases.tubes,
            "bonded": cases.bonded,
            "ends": cases.ends,
            "plate": cases.plates,
            "strip": cases.strips,
        }[family]()
    ]
    after = {"bonded": cases.bonded_later, "plate": cases.plates_later}
    later = [*after[family]()] if family in after else []
    # nothing is fitted to the tubes, and all the few strips are fitted: nothing of theirs is held out
    apart = cases.held_out(c.name for c in made) if family in ("bonded", "ends", "plate") else set()
    apart |= {c.name for c in later}
    if family == "ends":
        beds = cases.beds()
        apart |= cases.held_out(c.name for c in beds)
        later = [*later, *beds]
    every = [(c, "use") for c in (*made, *later)]
    every += [(made[i], mesh) for i in CHECKED.get(family, ()) for mesh in ("coarse", "finest")]
    return [(c, mesh, c.name in apart) for c, mesh in every]


def solved(case: AnyCase, mesh: str, held_out: bool, result: dict[str, str]) -> dict[str, str]:
    """One row."""
    given = dataclasses.asdict(case)
    row = {"case": case.name, "mesh": mesh, "held_out": str(int(held_out))}
    row |= {k: v if isinstance(v, str) else f"{v:.7g}" for k, v in given.items()}
    return row | {k: v for k, v in result.items() if k not in row}


def write(rows: list[dict[str, str]]) -> None:
    """Write all rows, blank where a column does not belong to the family."""
    names = list(dict.fromkeys(k for r in rows for k in r))
    with TARGET.open("w", newline="") as f:
        out = csv.DictWriter(f, names, restval="", lineterminator="\n")
        out.writeheader()
        out.writerows(rows)


def main() -> None:
    """Remake the families asked for and keep the rows of the others."""
    every = ["tube", "bonded", "ends", "plate", "strip"]
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--only", nargs="+", choices=every, default=every)
    parser.add_argument("--work", type=Path, default=None, help="folder of the solver's files (default: temporary)")
    parser.add_argument("--missing", action="store_true", help="solve only what the file does not hold yet")
    args = parser.parse_args()
    old: dict[tuple[str, str], dict[str, str]] = {}
    if TARGET.exists():
        with TARGET.open(newline="") as f:
            old = {(r["case"], r["mesh"]): {k: v for k, v in r.items() if v} for r in csv.DictReader(f)}
    done: list[dict[str, str]] = []
    with tempfile.TemporaryDirectory() as temp:
        for family in every:
            for case, mesh, held_out in jobs(family):
                known = old.get((case.name, mesh))
                if known is None and family not in args.only:
                    continue
                if known is None or (family in args.only and not args.missing):
                    begun = time.time()
                    work = args.work or Path(temp)
                    if isinstance(case, plates.PlateCase):
                        result = plates.run(case, work, **PLATE_MESHES[mesh])
                    elif isinstance(case, strips.StripCase):
                        result = strips.run(case, work, **STRIP_MESHES[mesh])
                    else:
                        result = bars.run(case, work, **BAR_MESHES[mesh])
                    print(f"{case.name} {mesh} {time.time() - begun:.1f} s", flush=True)
                    known = {k: f"{v:.7g}" for k, v in result.items()}
                done.append(solved(case, mesh, held_out, known))
                if args.missing:  # so that a stopped run can go on where it was
                    reached = {(r["case"], r["mesh"]) for r in done}
                    write(done + [r for key, r in old.items() if key not in reached])
    write(done)


if __name__ == "__main__":
    main()
