"""The small lists: recalled lots, theatre lists and item codes by GTIN. A line that cannot be used refuses the list."""

from __future__ import annotations

import datetime as dt
import re
from pathlib import Path

import pytest

from fixplan.problems import InputError
from fixplan.stock.headers import FIELD_OF, FIELDS, plain
from fixplan.stock.lists import CODE_WORDS, RECALL_WORDS, read_codes, read_past_cases, read_recalls
from fixplan.stock.recall import Recall
from fixplan.stock.shelf import read_shelf
from fixplan.stock.theatre_list import LIST_WORDS, read_theatre_list

GTIN = "09501101530003"


def write(folder: Path, name: str, text: str) -> Path:
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return path


def test_the_readme_names_the_columns_that_are_read() -> None:
    readme = (Path(__file__).parents[2] / "README.md").read_text(encoding="utf-8")
    named = {
        option: re.findall(r"`([^`]+)`", cells)
        for option, cells in re.findall(r"^\| `(--\w+)` \| (.*) \|$", readme, flags=re.MULTILINE)
    }
    shelf = {FIELD_OF.get(plain(c)) for c in named["--shelf"] if not c.startswith("--")}
    assert shelf == set(FIELDS) - {"kit", "size"}
    for option, words in (("--list", LIST_WORDS), ("--recalled", RECALL_WORDS), ("--codes", CODE_WORDS)):
        assert [w for w in words if w not in named[option]] == []


def test_recalls(tmp_path: Path) -> None:
    path = write(tmp_path, "r.csv", f"Lot;Item;GTIN;Note\nL1;;;field notice\nL2;X;{GTIN};\n")
    assert read_recalls(path) == (Recall("L1", note="field notice"), Recall("L2", "X", GTIN))


@pytest.mark.parametrize(
    ("text", "word"),
    [
        ("item\nX\n", "no column lot|no header"),
        ("lot,item\n,X\n", "line 2: no lot"),
        ("lot,gtin\nL1,09501101530004\n", "check digit is 4, and 3 would be right"),
        ("lot,item\nL1\n", "not as many cells"),
        ("lot\n=1+1\n", "formula"),
        ("lot,item\nall,\n", "'all' under lot, and no item or GTIN"),
        ('lot\n"L1, L2"\n', "line 2, lot: 'L1, L2' is more than one lot; one line for each lot"),
        ("lot,item\nL1 to L9,X\n", "more than one lot"),
        ("lot;batch\nL1;L2\n", r"2 columns that mean lot \('lot', 'batch'\)"),
        ("", "is empty"),
    ],
)
def test_recalls_that_cannot_be_read_refuse_the_list(tmp_path: Path, text: str, word: str) -> None:
    with pytest.raises(InputError, match=word):
        read_recalls(write(tmp_path, "r.csv", text))


def test_codes_name_what_a_scan_is(tmp_path: Path) -> None:
    codes = read_codes(write(tmp_path, "codes.csv", f"gtin,item\n9501101530003,S45-46\n{GTIN},S45-46\n"))
    assert codes == {GTIN: "S45-46"}
    shelf = write(tmp_path, "shelf.csv", f"scan,qty\n(01){GTIN}(10)A(17)280131,2\n")
    (row,) = read_shelf(shelf, on=dt.date(2026, 12, 3), codes=codes).rows
    assert (row.item, row.lot, row.expiry) == ("S45-46", "A", dt.date(2028, 1, 31))


def test_one_gtin_with_two_codes_is_refused(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="two codes"):
        read_codes(write(tmp_path, "codes.csv", f"gtin,item\n{GTIN},A\n{GTIN},B\n"))


@pytest.fixture
def cases(tmp_path: Path) -> Path:
    for name in ("a.toml", "b.toml"):
        write(tmp_path, name, "")
    return tmp_path


def test_theatre_list_from_csv_and_toml(cases: Path) -> None:
    table = "case,date,order\na.toml,2026-12-03,2\nb.toml,3 Dec 2026,1\n"
    tables = '[[case]]\nfile = "a.toml"\ndate = 2026-12-03\norder = 2\n'
    tables += '[[case]]\nfile = "b.toml"\ndate = 2026-12-03\norder = 1\n'
    from_csv = read_theatre_list(write(cases, "list.csv", table))
    from_toml = read_theatre_list(write(cases, "list.toml", tables))
    for entries in (from_csv, from_toml):
        assert [(e.path.name, e.date, e.order) for e in entries] == [
            ("a.toml", dt.date(2026, 12, 3), 2),
            ("b.toml", dt.date(2026, 12, 3), 1),
        ]


def test_without_an_order_cases_follow_as_written(cases: Path) -> None:
    rows = "case,date\na.toml,2026-12-04\nb.toml,2026-12-03\na.toml,2026-12-03\n"
    assert [e.order for e in read_theatre_list(write(cases, "list.csv", rows))] == [1, 1, 2]


@pytest.mark.parametrize(("order", "day"), [("DD/MM/YYYY", (12, 3)), ("MM/DD/YYYY", (3, 12)), ("m-d-y", (3, 12))])
def test_the_header_of_a_theatre_list_may_spell_the_order_of_its_dates(
    cases: Path, order: str, day: tuple[int, int]
) -> None:
    """As the refusal of 03/12/2026 advises."""
    rows = f"case,date of surgery ({order})\na.toml,03/12/2026\n"
    assert read_theatre_list(write(cases, "list.csv", rows))[0].date == dt.date(2026, *day)


@pytest.mark.parametrize(
    ("name", "text", "word"),
    [
        ("list.csv", "case,date\nc.toml,2026-12-03\n", "no case file 'c.toml'"),
        ("list.csv", "case,date\na.toml,03/04/2026\n", "line 2: day and month could be exchanged"),
        ("list.csv", "case,date,order\na.toml,2026-12-03,1.5\n", "fraction"),
        ("list.csv", "case,date\na.toml,2026-12\n", "line 2: '2026-12' is a month without its day"),
        ("list.csv", "case,date (MM/DD/YYYY)\na.toml,13/12/2026\n", "line 2, date: no such date"),
        ("list.csv", "case,date,order\na.toml,2026-12-03,0\n", "line 2: place 0 of a list"),
        ("list.csv", "case,date,day\na.toml,2026-12-03,2026-12-04\n", r"2 columns that mean date \('date', 'day'\)"),
        ("list.csv", "case,date\n", "no cases"),
        ("list.toml", "[[case]]\n", "case 1"),
        ("list.toml", "case = 1\n", r"no \[\[case\]\] tables"),
        ("list.toml", "[[case\n", "cannot be read as TOML"),
    ],
)
def test_theatre_lists_that_cannot_be_read(cases: Path, name: str, text: str, word: str) -> None:
    with pytest.raises(InputError, match=word):
        read_theatre_list(write(cases, name, text))


@pytest.mark.parametrize(
    ("text", "measured"),
    [
        ("ray,length,canal,zone\n5,72 mm,4.4 mm,2\n", {"ray": "5", "length": "72 mm", "canal": "4.4 mm", "zone": "2"}),
        (
            "zone;ray;length (mm);canal_ap mm\n2;5;72;4.4\n",
            {"zone": "2", "ray": "5", "length": "72 mm", "canal_ap": "4.4 mm"},
        ),
        (
            "ray,length mm,canal,zone\n5,72 ± 0.5,4.4 mm,2\n",
            {"ray": "5", "length": "72 ± 0.5 mm", "canal": "4.4 mm", "zone": "2"},
        ),
        (
            "ray,length mm,canal,zone\n5,7.2 cm,4.4 mm,2\n",
            {"ray": "5", "length": "7.2 cm", "canal": "4.4 mm", "zone": "2"},
        ),
    ],
)
def test_past_measurements_keep_their_units(tmp_path: Path, text: str, measured: dict[str, str]) -> None:
    path = tmp_path / "past.csv"
    path.write_text(text, encoding="utf-8")
    (case,) = read_past_cases(path)
    assert (dict(case.measured), case.item, case.line) == (measured, "", 2)


@pytest.mark.parametrize(
    ("text", "word"),
    [
        ("ray,zone\n5,2\n", "are not enough"),
        ("item\n", "no cases"),
        ("item,zone\nS1,2\n,2\n", "line 3: neither an item nor measurements"),
        ("item\n=1+1\n", "formula"),
        ("colour\nred\n", "no header that is understood"),
    ],
)
def test_past_cases_that_cannot_be_used_refuse_the_file(tmp_path: Path, text: str, word: str) -> None:
    path = tmp_path / "past.csv"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(InputError, match=word):
        read_past_cases(path)
