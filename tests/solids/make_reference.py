"""Makes reference.csv: python -m tests.solids.make_reference [--only tube bonded ends plate] [--work DIR]."""

from __future__ import annotations

import argparse
import csv
import dataclasses
import tempfile
import time
from pathlib import Path

from tests.solids import bars, cases, plates

HERE = Path(__file__).parent
TARGET = HERE / "reference.csv"

# cells on half a side of the core square and first layer over the diameter; element size in the plate [mm]
BAR_MESHES = {
    "coarse": {"n": 2, "fine": 0.16},
    "use": {"n": 3, "fine": 0.08},
    "finest": {"n": 4, "fine": 0.05},
}
PLATE_MESHES = {"coarse": {"fine": 0.8}, "use": {"fine": 0.5}, "finest": {"fine": 0.36}}


def records(family: str, work: Path) -> list[dict[str, str]]:
    """One row a case of the family, and one row for each mesh of its convergence check."""
    made = {"tube": cases.tubes, "bonded": cases.bonded, "ends": cases.ends, "plate": cases.plates}[family]()
    meshes = PLATE_MESHES if family == "plate" else BAR_MESHES
    jobs = [(c, "use") for c in made]
    if family != "tube":
        jobs += [(c, purpose) for c in (made[1], made[-6]) for purpose in ("coarse", "finest")]
    apart = cases.held_out(c.name for c in made)
    rows = []
    for case, purpose in jobs:
        begun = time.time()
        if isinstance(case, plates.PlateCase):
            result = plates.run(case, work, **meshes[purpose])
        else:
            result = bars.run(case, work, **meshes[purpose])
        print(f"{case.name} {purpose} {time.time() - begun:.1f} s", flush=True)
        given = {k: v for k, v in dataclasses.asdict(case).items()}
        row = {"case": case.name, "mesh": purpose, "held_out": str(int(case.name in apart))}
        row |= {k: v if isinstance(v, str) else f"{v:.7g}" for k, v in given.items()}
        row |= {k: f"{v:.7g}" for k, v in result.items()}
        rows.append(row)
    return rows


def write(rows: list[dict[str, str]]) -> None:
    """Write all rows, blank where a column does not belong to the family."""
    names = list(dict.fromkeys(k for r in rows for k in r))
    with TARGET.open("w", newline="") as f:
        out = csv.DictWriter(f, names, restval="", lineterminator="\n")
        out.writeheader()
        out.writerows(rows)


def main() -> None:
    """Remake the families asked for and keep the rows of the others."""
    every = ["tube", "bonded", "ends", "plate"]
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--only", nargs="+", choices=every, default=every)
    parser.add_argument("--work", type=Path, default=None, help="folder of the solver's files (default: temporary)")
    args = parser.parse_args()
    old: list[dict[str, str]] = []
    if TARGET.exists():
        with TARGET.open(newline="") as f:
            old = [{k: v for k, v in r.items() if v} for r in csv.DictReader(f)]
    with tempfile.TemporaryDirectory() as temp:
        made = {f: records(f, args.work or Path(temp)) for f in args.only}
    write([r for f in every for r in made.get(f, [x for x in old if x["family"] == f])])


if __name__ == "__main__":
    main()
