"""What ``trial show`` prints below the sheet: what stands nowhere else, and files by the names they had."""

import pytest
from ownmark.records.trial import KeptFile
from ownmark.reports.page import Table
from ownmark.reports.sheets.trial_record import trial_record
from ownmark.reports.words import Words

from .. import pages_made as made
from ..sheets_made import changed

EN = Words("en", terminal=True)


def kept(**fields):
    """Rows of what is kept of a trial by hand, with these fields."""
    trial = made.reach(made.DAY, 21, 24).model_copy(update=fields)
    page = trial_record(trial, made.STUDENTS["TH-12"], made.protocol("seated-forward-reach"), EN)
    found = [each for each in page.blocks if isinstance(each, Table) and each.caption == "Kept in the logbook"]
    assert len(found) <= 1
    return [row for each in found for row in each.rows]


def test_the_sheet_comes_first_and_nothing_follows_where_nothing_else_is_kept():
    assert kept() == []


@pytest.mark.parametrize(
    ("fields", "row"),
    [
        ({"rest_phase": "00:00-05:00"}, ("Rest phase, as typed", "00:00-05:00")),
        ({"work": "@09:14:05-@09:26:00"}, ("Work phase, as typed", "@09:14:05-@09:26:00")),
        ({"recovery": "10:00-12:00"}, ("Recovery phase, as typed", "10:00-12:00")),
        ({"floor": "00:00-01:00"}, ("Chair standing with its power on", "00:00-01:00")),
        ({"zone": "America/Denver"}, ("Time zone", "America/Denver")),
        ({"rate_hz": 50.0}, ("Samples in a second", "50")),
        ({"columns": {"heart_rate": "HR"}}, ("Columns of the table", "heart_rate = HR")),
        ({"offsets": {"a.csv": 12.5, "b.csv": -3.0}}, ("Files moved by seconds", "a.csv = 12.5, b.csv = -3")),
        ({"assistance_usual": "gesture"}, ("Usual assistance given", "gesture")),
        ({"prompts_per_min": 2.0}, ("Prompts", "2 /min")),
        ({"humidity_percent": 40.0}, ("Humidity", "40 %")),
    ],
)
def test_what_was_typed_stands_below_the_sheet(fields, row):
    assert kept(**fields) == [row]


def test_a_file_stands_with_the_name_it_had_and_with_the_one_on_pages():
    file = KeptFile(path="Maria.fit", sha256="abcdef0123456789" * 4, size=5521)
    assert kept(files=(file,)) == [("File", "Maria.fit (5521 bytes, SHA-256 abcdef012345…)")]
    read = [{"path": "fit-0925", "sha256": file.sha256, "format": "FIT", "reader": "fit"}]
    sheet = changed(made.trial("crank").sheet, files=read)
    other = KeptFile(path="other.fit", sha256="0" * 64, size=1)
    assert kept(files=(file, other), sheet=sheet) == [
        ("File", "Maria.fit (5521 bytes, SHA-256 abcdef012345…; on pages: fit-0925)"),
        ("File", "other.fit (1 bytes, SHA-256 000000000000…)"),
    ]
