"""Months of birth as people and spreadsheets write them."""

from datetime import date

import pytest
from ownmark.records.written_months import month_of, names_a_day
from ownmark.words.render import texts

TODAY = date(2026, 11, 28)


@pytest.mark.parametrize(
    ("written", "month"),
    [
        ("2014-03", "2014-03"),
        ("2014-3", "2014-03"),
        ("2014/12", "2014-12"),
        ("2014.01", "2014-01"),
        ("03/2014", "2014-03"),
        ("3.2014", "2014-03"),
        ("12-1999", "1999-12"),
        # What a spreadsheet program makes of 2014-03: the first of that month in a workbook, Mar-14 in a CSV.
        ("2014-03-01", "2014-03"),
        ("2014-03-01 00:00:00", "2014-03"),
        ("2014-03-01T00:00", "2014-03"),
        ("Mar-14", "2014-03"),
        ("mar.-14", "2014-03"),
        ("ene-14", "2014-01"),
        ("Sept 2014", "2014-09"),
        ("set-14", "2014-09"),
        ("March 2014", "2014-03"),
        (" marzo  de 2014 ", "2014-03"),
        ("dic-08", "2008-12"),
        # Of a year of two digits the last one that is not in the future.
        ("Nov-26", "2026-11"),
        ("Dec-26", "1926-12"),
        ("Jan-99", "1999-01"),
    ],
)
def test_a_month_is_read_however_it_is_written(written, month):
    assert month_of(written, TODAY) == month


@pytest.mark.parametrize("number", range(1, 13))
@pytest.mark.parametrize("language", ["en", "es"])
def test_every_month_is_known_by_its_name_and_its_first_letters(language, number):
    name = texts(language)[f"month.{number}"]
    for written in (name, name[:3], name[:4], f"{name[:3]}."):
        assert month_of(f"{written} 2014", TODAY) == f"2014-{number:02d}"
        assert month_of(f"{written.upper()}-14", TODAY) == f"2014-{number:02d}"


@pytest.mark.parametrize(
    "written",
    [
        *("", "x", "2014", "2014-13", "2014-00", "13/2014", "0/2014", "1899-05", "2114-05", "2014-03-02", "3/1/2014"),
        *("14-Mar", "Marble-14", "March", "mar-1", "mar-123", "2014-03-01 10:00", "03-14", "٢٠١٤-٠٣"),
    ],
)
def test_what_is_no_month_is_none(written):
    assert month_of(written, TODAY) is None


@pytest.mark.parametrize(
    "written", ["2014-03-12", "3/12/2014", "12.3.14", "12 Mar 2014", "14-mar-2014", "2014-03-12 00:00:00"]
)
def test_a_day_is_told_from_what_is_nothing(written):
    assert names_a_day(written)


@pytest.mark.parametrize("written", ["Maria", "2014", "", "spring 2014"])
def test_what_is_no_day_is_none(written):
    assert not names_a_day(written)
