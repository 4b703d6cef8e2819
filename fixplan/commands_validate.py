"""What `fixplan validate` does: compute every check, write one page."""

from __future__ import annotations

from pathlib import Path

from fixplan.atomic import write_all
from fixplan.cautions import CAUTION_SHORT
from fixplan.problems import InputError, Problem
from fixplan.report.validation_html import render_validation
from fixplan.validation.collect import validation


def validate(out: Path) -> str:
    """Write validation.html into `out`; returns what to print.

    Raises InputError where `out` is a file.
    """
    if out.exists() and not out.is_dir():
        raise InputError([Problem("--out", f"'{out}' is not a folder", "name a folder; it is made if it is not there")])
    found = validation()
    page = render_validation(found)
    out.mkdir(parents=True, exist_ok=True)
    target = out / "validation.html"
    write_all({target: page})
    words = "; ".join(f"{w.word}: {w.rows}" for w in found.words)
    return (
        f"{found.agree} of {found.total} numeric comparisons agree.\n"
        f"{len(found.bench)} bench tests: {words}.\n"
        f"Written: {target}\n\n{CAUTION_SHORT}"
    )
