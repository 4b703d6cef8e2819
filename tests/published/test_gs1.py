"""GS1 General Specifications: element strings, check digits, dates.

Figures and sections are those of the GS1 General Specifications (release 18, January 2018, and later) as quoted in
public documents and test suites; the date and check-digit refusals are the cases of GS1's own published syntax
dictionary and syntax engine (unit tests of the date and check-digit rules). Element strings are written with brackets,
as printed.
"""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest

from fixplan.stock.cells import CellError
from fixplan.stock.gs1 import check_digit, gs1_date, gtin14, parse
from fixplan.stock.shelf import read_shelf

ON = dt.date(2026, 12, 3)
GS = "\x1d"

# printed element strings that hold a GTIN, with the figure
GTINS = [
    ("(01)10857674002017(10)1152KMB", "10857674002017", "Figure 4.15.1-1"),
    ("(01)09501101530003", "09501101530003", "Figure 5.1-3"),
    ("(01)95012345678903", "95012345678903", "Figure 7.8.5.1-1, first symbol"),
    ("(01)95012345678903(3102)000400", "95012345678903", "Figure 7.8.5.1-2, joined"),
]


@pytest.mark.parametrize(("printed", "gtin", "figure"), GTINS)
def test_printed_element_strings(printed: str, gtin: str, figure: str) -> None:
    assert parse(printed, ON).gtin == gtin, figure


def test_lot_of_figure_4_15_1_1() -> None:
    """The same figure as a scanner sends it: no brackets, lot last, so no separator."""
    scan = parse("0110857674002017101152KMB", ON)
    assert (scan.gtin, scan.lot) == ("10857674002017", "1152KMB")


def test_strings_without_a_gtin() -> None:
    """Figures 7.8.5.2-1 and -2: (8005)000365 and (10)123456, apart and joined."""
    assert parse("(10)123456", ON).lot == "123456"
    assert parse("(8005)000365(10)123456", ON).lot == "123456"
    assert parse(f"800500036510123456{GS}", ON).lot == "123456"


@pytest.mark.parametrize("identifier", ["]C1", "]e0", "]d2", "]Q3", "]J1"])
def test_symbology_identifiers(identifier: str) -> None:
    """Section 5.10 (and ISO/IEC 15424): the identifiers of symbols that carry element strings are no data."""
    assert parse(f"{identifier}0195012345678903", ON).gtin == "95012345678903"


def test_a_separator_ends_a_variable_length() -> None:
    """Section 7.8.4: element strings without a predefined length end at FNC1, sent as GS (ASCII 29)."""
    for written in (GS, "<GS>", "\u241d"):
        scan = parse(f"010950110153000310A1{written}17281200{written}21S7", ON)
        assert (scan.lot, scan.serial, scan.expiry) == ("A1", "S7", dt.date(2028, 12, 31))


def test_a_lost_separator_is_not_read_as_part_of_the_lot() -> None:
    with pytest.raises(CellError, match="separator"):
        parse("010950110153000310A117281200", ON)


# section 7.9 and GS1's page "how to calculate a check digit manually": 629104150021 has the check digit 3
# the others end in the check digit of the figures above (4.15.1-1, 5.1-3, 7.8.5.1-1)
CHECK_DIGITS = [("629104150021", 3), ("1085767400201", 7), ("0950110153000", 3), ("9501234567890", 3)]


@pytest.mark.parametrize(("digits", "printed"), CHECK_DIGITS)
def test_check_digits(digits: str, printed: int) -> None:
    assert check_digit(digits) == printed


@pytest.mark.parametrize("digits", ["629104150021", "0950110153000", "9501234567890"])
def test_any_other_check_digit_is_refused(digits: str) -> None:
    right = check_digit(digits)
    for wrong in set(range(10)) - {right}:
        with pytest.raises(CellError, match=f"{right} would be right"):
            gtin14(f"{digits}{wrong}")


def test_shorter_gtins_are_filled_with_zeros() -> None:
    """Section 3.3.2: GTIN-8, -12 and -13 are held in fourteen digits with leading zeros."""
    assert gtin14("6291041500213") == "06291041500213"
    assert gtin14("9501101530003") == "09501101530003"


def test_wrong_check_digit_of_the_syntax_engine() -> None:
    """GS1 syntax engine, tests: (01)95012345678902(3103)000123 has an incorrect check digit."""
    assert parse("(01)95012345678903(3103)000123", ON).gtin == "95012345678903"
    with pytest.raises(CellError, match="check digit is 2, and 3"):
        parse("(01)95012345678902(3103)000123", ON)


def test_illegal_month_of_the_syntax_engine() -> None:
    """GS1 syntax engine, tests: (01)95012345678903(11)131313 has an illegal month."""
    with pytest.raises(CellError, match=r"\(11\) has no date"):
        parse("(01)95012345678903(11)131313", ON)


def test_day_00_is_the_last_day_of_the_month() -> None:
    """Section 3.4.5, note: "130200" is 2013 February 28, "160200" is 2016 February 29."""
    assert gs1_date("130200", ON) == dt.date(2013, 2, 28)
    assert gs1_date("160200", ON) == dt.date(2016, 2, 29)


# section 7.12: two-digit year less the year of today: 51 to 99 is the previous century, -99 to -50 the next
CENTURIES = [
    (dt.date(2026, 12, 3), "760101", 2076),  # 76 - 26 = 50
    (dt.date(2026, 12, 3), "770101", 1977),  # 77 - 26 = 51
    (dt.date(2026, 12, 3), "990101", 1999),
    (dt.date(2026, 12, 3), "000101", 2000),
    (dt.date(2049, 1, 1), "000101", 2000),  # 0 - 49 = -49
    (dt.date(2050, 1, 1), "000101", 2100),  # 0 - 50 = -50
    (dt.date(2099, 1, 1), "000101", 2100),
    (dt.date(2001, 1, 1), "510101", 2051),  # 51 - 1 = 50
    (dt.date(2001, 1, 1), "520101", 1952),  # 52 - 1 = 51
]


@pytest.mark.parametrize(("on", "yymmdd", "year"), CENTURIES)
def test_the_century_of_a_two_digit_year(on: dt.date, yymmdd: str, year: int) -> None:
    assert gs1_date(yymmdd, on).year == year


def test_no_date_is_further_than_49_years_back_or_50_ahead() -> None:
    """Section 3.4, note: dates range from 49 years in the past to 50 years in the future."""
    for this_year in (1999, 2000, 2026, 2050, 2051, 2099):
        for yy in range(100):
            found = gs1_date(f"{yy:02d}0615", dt.date(this_year, 6, 15)).year
            assert -49 <= found - this_year <= 50
            assert found % 100 == yy


# GS1 syntax dictionary, unit tests of the linter for dates with an optional day
PASSES = "000606 250606 500606 750606 990606 200131 200229 200331 200430 200531 200630 200731 200831 200930 201031"
PASSES += " 201130 201231 210228 220228 230228 240229 000229 040229 960229 200600"
FAILS = "x00131 2x0131 20x131 200x31 2001x1 20013x 1 11 111 1111 11111 1111111 200010 201310 209910 200132 200230"
FAILS += " 200332 200431 200532 200631 200732 200832 200931 201032 201131 201232 210229 220229 230229 240230 000230"
FAILS += " 040230 960230"


@pytest.mark.parametrize("yymmdd", PASSES.split())
def test_dates_that_the_syntax_dictionary_passes(yymmdd: str) -> None:
    found = gs1_date(yymmdd, ON)
    assert (found.month, found.day) == (int(yymmdd[2:4]), int(yymmdd[4:]) or 30)


@pytest.mark.parametrize("yymmdd", ["", *FAILS.split()])
def test_dates_that_the_syntax_dictionary_fails(yymmdd: str) -> None:
    with pytest.raises(CellError):
        gs1_date(yymmdd, ON)


def test_refusals_name_the_line_of_the_shelf(tmp_path: Path) -> None:
    path = tmp_path / "shelf.csv"
    rows = [
        "(01)95012345678903(17)281200(10)A1",
        "(01)95012345678902(17)281200",
        "(01)95012345678903(17)280230",
        "(17)28",
    ]
    path.write_text("\n".join(["barcode,quantity", *(f"{r},1" for r in rows)]), encoding="utf-8")
    report = read_shelf(path, on=ON)
    assert [(r.gtin, r.lot, r.expiry) for r in report.rows] == [("95012345678903", "A1", dt.date(2028, 12, 31))]
    assert [p.line for p in report.set_aside] == [3, 4, 5]
    for problem, word in zip(report.set_aside, ("check digit", "no such day", "(17) has no date")):
        assert word in problem.text()


def test_a_column_that_contradicts_the_scan_is_set_aside(tmp_path: Path) -> None:
    path = tmp_path / "shelf.csv"
    path.write_text("barcode,lot,quantity\n(01)95012345678903(10)A1,A2,1\n", encoding="utf-8")
    report = read_shelf(path, on=ON)
    assert not report.rows
    assert "the barcode says A1" in report.set_aside[0].reason


def test_a_number_that_could_be_two_things_is_refused() -> None:
    """10123454 is a GTIN-8 with a right check digit, and also (10) with the lot 123454."""
    assert check_digit("1012345") == 4
    with pytest.raises(CellError, match="could be a GTIN-8 or an element string"):
        parse("10123454", ON)
