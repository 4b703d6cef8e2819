"""Worked examples of Budynas & Nisbett, Shigley's Mechanical Engineering Design, 9th edition (SHIG9).

Inputs and printed values with page, example and printed precision stand in `fixplan/validation/shigley.py`, where the
validation page reads them too. "From memory" marks answers that were not seen in print and are recalled.
"""

import pytest

from fixplan.validation.shigley import FATIGUE, JOINTS

EXAMPLES = [e for e in FATIGUE + JOINTS if e.source == "SHIG9"]


def test_every_topic_is_there():
    """Basquin (6-2), Gerber and elliptic (6-10), Miner (p. 324, 325), joints (8-4), preload with Goodman (8-5)."""
    pages = {e.where.split(", p. ")[-1] for e in EXAMPLES}
    assert pages == {"286", "309", "324", "325", "442", "449"}
    assert len(EXAMPLES) >= 20


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda e: f"{e.where}, {e.what}")
def test_printed(example):
    assert float(example.ours()) == pytest.approx(example.published, rel=0, abs=example.tolerance)
