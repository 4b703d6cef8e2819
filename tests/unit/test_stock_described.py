"""Sizes in the words of a shelf line: names of instruments however a store writes them, codes that they contradict."""

from __future__ import annotations

from dataclasses import replace

import pytest

from fixplan.stock.described import name_key, size_in
from fixplan.stock.match import Index, mismatch
from fixplan.stock.model import Item, ShelfRow

SCREW = Item("im_screw", item="S55-38", diameter_mm=5.5, length_mm=38, thread_mm=16)
DRILL = Item("instrument", item="DRILL-4", name="drill 4 mm")


@pytest.mark.parametrize("name", ["drill 4 mm", "Drill 4.0 mm", "drill  4,0mm", "DRILL 4.00 MM"])
def test_an_instrument_is_found_however_its_size_is_written(name: str) -> None:
    rows = [ShelfRow(2, 1, kind="instrument", name="drill 4.3 mm"), ShelfRow(3, 1, kind="instrument", name=name)]
    assert Index(rows).find(DRILL).rows == (1,)


def test_another_number_or_another_word_is_another_instrument() -> None:
    keys = [name_key(n) for n in ("drill 4 mm", "drill 4.3 mm", "drill 40 mm", "tap 4 mm", "drill 4")]
    assert len(set(keys)) == len(keys)
    assert name_key("driver hexagon 2.0") == name_key("Driver hexagon 2")


@pytest.mark.parametrize(
    ("text", "size"),
    [
        ("screw 5.5 x 38 mm", (5.5, 38)),
        ("Schraube 5,5×38mm, kanüliert", (5.5, 38)),
        ("38 mm x 5.5 mm screw", (5.5, 38)),
        ("screw 5.5 * 38", (5.5, 38)),
        ("screw", None),
        ("screw 5.5 mm", None),
        ("screw 5.5 x 38 x 16 mm", None),
        ("5.5 x 38 or 5.5 x 40 mm", None),
        ("1 x 5.5 mm", None),
        ("screw 5.5x38T16", None),
    ],
)
def test_the_size_in_a_description(text: str, size: tuple[float, float] | None) -> None:
    assert size_in(text) == size


@pytest.mark.parametrize(
    ("item", "name", "why"),
    [
        (SCREW, "cannulated screw 5.5 x 38 mm", None),
        (SCREW, "cannulated screw 5.0 x 38 mm", "its description says 5.0 × 38 mm and 5.5 × 38 mm is wanted"),
        (SCREW, "cannulated screw 5,5 x 46", "its description says 5.5 × 46 mm and 5.5 × 38 mm is wanted"),
        (SCREW, "cannulated screw", None),
        (DRILL, "drill 4.3 mm", "its description says drill 4.3 mm and drill 4 mm is wanted"),
        (DRILL, "Drill 4.0 mm", None),
        (DRILL, "twist drill, long", None),
        (Item("plate", item="S55-38", holes=6), "plate 5.0 x 38 mm", None),
    ],
)
def test_a_description_that_contradicts_the_code_keeps_the_pack_out(item: Item, name: str, why: str | None) -> None:
    coded = ShelfRow(2, 1, item=item.item, name=name)
    assert mismatch(item, coded) == why
    assert mismatch(item, replace(coded, name="")) is None
