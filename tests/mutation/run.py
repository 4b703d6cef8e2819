"""Mutation testing of `fixplan.mechanics`: how many small mistakes would the tests notice?

    uv run python tests/mutation/run.py --sample 300 --seed 1 --workers 1

Each mutant runs in a process of its own, forked after the libraries are loaded and before the project is: its module is
compiled from the changed text, no file is touched. The tests of a module come first, then all others of the mechanics;
the first that fails ends it. A mutant that needs more than the limit of processor time counts as killed. Results go to
`results.csv` beside this file, the survivors to standard output.
"""

from __future__ import annotations

import argparse
import csv
import importlib.abc
import importlib.util
import io
import os
import random
import resource
import sys
import time
import warnings
from collections.abc import Sequence
from contextlib import redirect_stderr, redirect_stdout
from pathlib import Path
from types import ModuleType

ROOT = Path(__file__).parents[2]
sys.path[:0] = [str(Path(__file__).parent), str(ROOT)]
from operators import Mutant, mutants  # noqa: E402

MECHANICS = ROOT / "fixplan" / "mechanics"
CPU_LIMIT = 120
#: the libraries are loaded before the tests are collected, once for all mutants
QUIET = "ignore:Module already imported:pytest.PytestAssertRewriteWarning"
STRENGTH = ("tests/unit/test_strength.py", "tests/properties/test_strength_properties.py")
BEAMS = (
    "tests/unit/test_mechanics_edges.py",
    "tests/unit/test_mechanics_by_hand.py",
    "tests/unit/test_mechanics_correction.py",
    "tests/unit/test_mechanics_parts.py",
    "tests/unit/test_mechanics_screw.py",
    "tests/unit/test_mechanics_plate.py",
    "tests/unit/test_mechanics_beam.py",
)
FIRST: dict[str, tuple[str, ...]] = {
    "fatigue": ("tests/unit/test_strength_fatigue.py", "tests/published/test_shigley9.py"),
    "mean_stress": ("tests/unit/test_strength_fatigue.py", "tests/published/test_shigley9.py"),
    "life": ("tests/unit/test_strength_fatigue.py", "tests/published/test_shigley9.py"),
    "joint": ("tests/unit/test_strength_joint.py", "tests/published/test_shigley9.py"),
    "preload": (
        "tests/published/test_iso898_stress_area.py",
        "tests/unit/test_strength_joint.py",
        "tests/published/test_shigley9.py",
    ),
    "torsion": (
        "tests/unit/test_strength_torsion.py",
        "tests/published/test_iso6475_from_memory.py",
        "tests/published/test_gere_beer_torsion.py",
    ),
    "purchase": ("tests/unit/test_strength_purchase.py", "tests/published/test_chapman1996.py"),
    "gap": ("tests/unit/test_strength_gap.py",),
    "loads": ("tests/unit/test_strength_loads.py", "tests/published/test_bone_strength_papers.py"),
    "straightening": ("tests/unit/test_strength_straightening.py", "tests/published/test_plane_geometry.py"),
    "guard": ("tests/unit/test_strength_guard.py",),
    "section": (
        "tests/published/test_bending_standards_sections_beams.py",
        "tests/published/test_gere_sections_beams.py",
        "tests/published/test_roark_sections_beams.py",
        "tests/published/test_gere_beer_torsion.py",
        "tests/unit/test_mechanics_parts.py",
    ),
    "beam": ("tests/unit/test_mechanics_beam.py", "tests/published/test_aisc_sections_beams.py"),
    "plate": ("tests/unit/test_mechanics_plate.py", "tests/unit/test_mechanics_parts.py"),
    "span": ("tests/unit/test_mechanics_plate.py", "tests/unit/test_mechanics_screw.py"),
    "head": ("tests/unit/test_mechanics_correction.py",),
    "parts": ("tests/unit/test_mechanics_parts.py",),
    "screw": ("tests/unit/test_mechanics_screw.py", "tests/unit/test_mechanics_parts.py"),
    "correction_data": ("tests/published/test_solids_3d.py",),
    "correction": ("tests/unit/test_mechanics_correction.py", "tests/published/test_solids_3d.py"),
}  # fmt: skip
BEAM_MODULES = (
    *(
        "beam",
        "bracket",
        "chunks",
        "construct",
        "correction",
        "correction_data",
        "evaluate",
        "loadcases",
        "head",
        "parts",
    ),
    *("plate", "responses", "screw", "section", "span", "stations"),
)
WHOLE = ("bracket", "evaluate", "plate", "screw", "span", "head", "correction", "parts")
# the slowest last
OTHERS = (
    "tests/published/test_solids_3d.py",
    "tests/published/test_reference_libraries_beams.py",
    "tests/properties/test_mechanics_constructs.py",
)
# slow, and of use only where sections are computed
MESHED = ("tests/published/test_reference_libraries_sections.py", "tests/properties/test_formula_dimensions.py")


WITHOUT: set[str] = set()


def tests_for(module: str) -> list[str]:
    """Test files in the order in which they are tried; all are tried before a mutant counts as a survivor."""
    beams = module in BEAM_MODULES or module == "guard"
    meshed = MESHED if module in ("section", "stations") else ()
    rest = (*BEAMS, *OTHERS, *meshed) if beams else (*STRENGTH, "tests/properties/test_formula_dimensions.py")
    unit = sorted(str(p.relative_to(ROOT)) for p in (ROOT / "tests/unit").glob("test_strength*.py"))
    books = sorted(str(p.relative_to(ROOT)) for p in (ROOT / "tests/published").glob("test_*_beams.py"))
    # books on sections and beams know nothing of a whole construct; the slow ones among them have their own place
    books = [b for b in books if b not in OTHERS]
    if module in WHOLE:
        books, rest = [*BEAMS, *books], OTHERS
    wanted = [*FIRST.get(module, ()), *(books if beams else unit), *rest]
    return [t for t in dict.fromkeys(wanted) if (ROOT / t).exists() and t not in WITHOUT]


class Changed(importlib.abc.MetaPathFinder, importlib.abc.Loader):
    """Loads one module from a changed text."""

    def __init__(self, name: str, path: Path, text: str) -> None:
        self.name, self.path, self.text = name, path, text

    def find_spec(self, name: str, path: object = None, target: object = None) -> object:
        return importlib.util.spec_from_loader(name, self, origin=str(self.path)) if name == self.name else None

    def exec_module(self, module: ModuleType) -> None:
        exec(compile(self.text, str(self.path), "exec"), module.__dict__)


def attempt(mutant: Mutant | None, tests: Sequence[str], text: str) -> int:
    """In a child: run the tests against a changed module; exit status 0 when all pass."""
    resource.setrlimit(resource.RLIMIT_CPU, (CPU_LIMIT, CPU_LIMIT))
    if mutant is not None:
        name = mutant.module
        sys.meta_path.insert(0, Changed(f"fixplan.mechanics.{name}", MECHANICS / f"{name}.py", mutant.apply(text)))
    import pytest
    from hypothesis import Phase, settings

    # a failure is enough here, it need not be the simplest; the same examples for every mutant
    settings.register_profile("mutation", phases=[Phase.explicit, Phase.generate], database=None, derandomize=True)
    settings.load_profile("mutation")
    # file by file: what the first one notices needs no other to be collected
    with redirect_stdout(io.StringIO()), redirect_stderr(io.StringIO()):
        for test in tests:
            if code := int(pytest.main(["-x", "-q", "-p", "no:cacheprovider", "-W", QUIET, test])):
                return code
    return 0


def fork(mutant: Mutant | None, tests: Sequence[str], text: str) -> int:
    pid = os.fork()
    if pid == 0:
        code = 70
        try:
            code = attempt(mutant, tests, text)
        except BaseException:
            code = 71
        finally:
            os._exit(code)
    return pid


def _done(out: Path) -> dict[tuple[str, int, str], str]:
    """Fates in a results file, so that an interrupted run goes on where it stopped."""
    if not out.exists():
        return {}
    with out.open(newline="", encoding="utf-8") as file:
        return {(r["module"], int(r["start"]), r["new"]): r["fate"] for r in csv.DictReader(file)}


def run(
    wanted: Sequence[tuple[str, Mutant]], texts: dict[str, str], workers: int, out: Path
) -> list[tuple[Mutant, str]]:
    """Every mutant with its fate: killed, timeout or survived; written as it comes."""
    running: dict[int, tuple[str, Mutant]] = {}
    began = time.monotonic()
    done = _done(out)
    results = [(m, done[m.place]) for _, m in wanted if m.place in done]
    queue = [(n, m) for n, m in wanted if m.place not in done]
    with out.open("a" if done else "w", newline="", encoding="utf-8") as file:
        rows = csv.writer(file, lineterminator="\n")
        if not done:
            rows.writerow(["module", "line", "start", "old", "new", "fate"])
        while queue or running:
            while queue and len(running) < workers:
                module, mutant = queue.pop(0)
                running[fork(mutant, tests_for(module), texts[module])] = (module, mutant)
            pid, status = os.wait()
            module, mutant = running.pop(pid)
            fate = "timeout" if os.WIFSIGNALED(status) else "survived" if os.WEXITSTATUS(status) == 0 else "killed"
            results.append((mutant, fate))
            rows.writerow([module, mutant.line, mutant.start, mutant.old, mutant.new, fate])
            file.flush()
            alive, seconds = sum(f == "survived" for _, f in results), time.monotonic() - began
            print(f"{len(results)}/{len(wanted)} survived {alive} {seconds:.0f} s: {fate} {mutant.key}", flush=True)
    return results


def main() -> int:
    ask = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    ask.add_argument("--sample", type=int, default=0, help="mutants drawn at random; 0 for all")
    ask.add_argument("--seed", type=int, default=1)
    ask.add_argument("--workers", type=int, default=1)
    ask.add_argument("--module", action="append", help="only these modules")
    ask.add_argument("--line", type=int, action="append", help="only these lines")
    ask.add_argument("--list", action="store_true", help="count the mutants and stop")
    ask.add_argument("--without", action="append", default=[], help="leave this test file out")
    ask.add_argument("--out", type=Path, default=Path(__file__).parent / "results.csv")
    given = ask.parse_args()
    WITHOUT.update(given.without)
    os.nice(10)
    os.chdir(ROOT)
    names = sorted(p.stem for p in MECHANICS.glob("*.py") if p.stem not in ("__init__", "construct"))
    texts = {
        n: (MECHANICS / f"{n}.py").read_text(encoding="utf-8") for n in names if not given.module or n in given.module
    }
    every = [(n, m) for n, text in texts.items() for m in mutants(n, text)]
    if given.line:
        every = [(n, m) for n, m in every if m.line in given.line]
    for n in texts:
        print(f"{n:18}{sum(k == n for k, _ in every):5}")
    print(f"{'all':18}{len(every):5}")
    if given.list:
        return 0
    if 0 < given.sample < len(every):
        every = sorted(random.Random(given.seed).sample(every, given.sample), key=lambda p: (p[0], p[1].start))
        # so that an interrupted run is still a fair sample
        random.Random(given.seed).shuffle(every)
    # what the tests import besides the project, so that each child starts with it
    warnings.simplefilter("ignore")
    import hypothesis  # noqa: F401
    import pint  # noqa: F401
    import Pynite  # noqa: F401
    import pytest  # noqa: F401
    import sectionproperties.analysis  # noqa: F401
    import sympy.physics.continuum_mechanics.beam  # noqa: F401

    assert not any(name.startswith("fixplan") for name in sys.modules)
    needed = list(dict.fromkeys(t for module in sorted({n for n, _ in every}) for t in tests_for(module)))
    if os.waitstatus_to_exitcode(os.waitpid(fork(None, needed, ""), 0)[1]) != 0:
        print(f"these tests fail without any change, or need more than the limit: {' '.join(needed)}")
        return 1
    results = run(every, texts, given.workers, given.out)
    killed = sum(f != "survived" for _, f in results)
    print(f"\n{killed} of {len(results)} killed: {100 * killed / len(results):.1f} %\nSurvivors:")
    for mutant, fate in results:
        if fate == "survived":
            print(f"  {mutant.key}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
