"""The day of a row whose date can be two: its file, an answer, and the rest of its table settle it, or it is asked."""

from datetime import date, datetime

import numpy as np
import pytest
from ownmark.errors import NotConfirmed, UnreadableFile
from ownmark.records.class_day import add_class
from ownmark.records.class_table import read_class
from ownmark.records.row_day import Days, day_of

from tests.makers.class_days import table
from tests.records.store import made
from tests.records.test_shared_files import FIRST, written
from tests.records.test_shared_files import school as two_students

school = two_students
MARCH, NOVEMBER = date(2026, 3, 11), date(2026, 11, 3)
TODAY = date(2026, 11, 28)
HEART = np.asarray(FIRST, dtype=float)


def dated(folder, name, on=NOVEMBER, heart=HEART):
    (folder / name).write_bytes(table(heart, datetime(on.year, on.month, on.day, 9, 0)))  # noqa: DTZ001


def read(folder, *rows):
    path = folder / "day.csv"
    path.write_text("code,protocol,files,date,confirm\n" + "\n".join(rows) + "\n")
    return read_class(path)


def days(folder, *rows):
    """The day of each row; asked, or that a file is not there."""
    found = []
    lines = read(folder, *rows)
    every = Days.of(lines, TODAY)
    for row in lines:
        if "on" in row.texts:
            continue
        try:
            found.append(day_of(row, None, TODAY, every))
        except NotConfirmed:
            found.append("asked")
        except UnreadableFile:
            found.append("no file")
    return found


@pytest.fixture
def folder(tmp_path):
    written(tmp_path, "plain.csv", FIRST)
    dated(tmp_path, "nov.csv")
    dated(tmp_path, "mar.csv", MARCH)
    dated(tmp_path, "may.csv", date(2026, 5, 9))
    return tmp_path


PLAIN = "TH-11,slalom,plain.csv,11/3/2026,"


def test_nothing_settles_it(folder):
    assert days(folder, PLAIN) == ["asked"]
    assert days(folder, PLAIN, "TH-12,slalom,may.csv,11/3/2026,") == ["asked", "asked"]
    assert days(folder, PLAIN, "TH-12,slalom,none.csv,11/3/2026,") == ["asked", "no file"]
    assert days(folder, PLAIN, "TH-12,slalom,plain.csv,2026-05-09,") == ["asked"]


@pytest.mark.parametrize(
    ("other", "meant", "its"),
    [
        ("TH-12,slalom,nov.csv,11/3/2026,", NOVEMBER, [NOVEMBER]),
        ("TH-12,slalom,mar.csv,11/3/2026,", MARCH, [MARCH]),
        ("TH-12,slalom,may.csv,5/9/2026,", NOVEMBER, [date(2026, 5, 9)]),
        ("TH-12,slalom,plain.csv,11/3/2026,2026-11-03", NOVEMBER, [NOVEMBER]),
        ("TH-12,slalom,plain.csv,11/3/2026,yes; 2026-03-11", MARCH, [MARCH]),
        ("TH-12,slalom,plain.csv,2026-11-03,", NOVEMBER, []),
        ("TH-12,slalom,plain.csv,2026-03-11,", MARCH, []),
    ],
)
def test_another_row_or_its_file_settles_it_for_all(folder, other, meant, its):
    assert days(folder, PLAIN, other) == [meant, *its]
    assert days(folder, other, PLAIN) == [*its, meant]


def test_rows_that_say_both_leave_it_open_but_for_themselves(folder):
    rows = ("TH-12,slalom,nov.csv,11/3/2026,", "TH-13,slalom,mar.csv,11/3/2026,")
    assert days(folder, PLAIN, *rows) == ["asked", NOVEMBER, MARCH]
    assert days(folder, PLAIN, "A-1,slalom,,2026-11-03,", "A-2,slalom,,2026-03-11,") == ["asked"]


def test_the_file_of_the_row_itself_comes_first(folder):
    assert days(folder, "TH-12,slalom,nov.csv,11/3/2026,2026-03-11", PLAIN) == [NOVEMBER, "asked"]


def test_files_are_read_only_where_a_date_is_open(folder, monkeypatch):
    from ownmark.records import row_day

    monkeypatch.setattr(row_day, "recorded_day", None)
    assert days(folder, "TH-12,slalom,nov.csv,2026-11-03,") == []
    rows = read(folder, "TH-12,slalom,nov.csv,11/3/2026,")
    Days.of(rows, TODAY)


def test_the_class_goes_in_by_the_one_file_that_is_dated(school, folder):
    dated(folder, "nov.csv", heart=HEART + np.random.default_rng(1).integers(0, 3, len(HEART)))
    lines = "code,protocol,files,date,work,rest_phase\n"
    for code, name in (("BF-07", "plain.csv"), ("TH-11", "nov.csv")):
        lines += f"{code},slalom-gym,{name},11/3/2026,05:00-12:00,00:30-05:00\n"
    (folder / "day.csv").write_text(lines)
    outcomes = list(add_class(school, read_class(folder / "day.csv"), day=None, today=TODAY))
    assert [each.state for each in outcomes] == ["added", "added"], [each.sentence for each in outcomes]
    assert {each.on for each in school.trials()} == {NOVEMBER}
    assert made.DAY != NOVEMBER


def test_the_day_of_a_file_that_is_not_there_is_not_asked(folder):
    """Nobody can know what it states: the row is refused for its file."""
    other = "TH-12,slalom,may.csv,2026-05-09,"
    assert days(folder, other, "TH-11,slalom,plain.csv,,") == ["asked"]
    assert days(folder, other, "TH-11,slalom,gone.csv,,") == ["no file"]
    assert days(folder, other, "TH-11,slalom,plain.csv; gone.csv,,") == ["no file"]
    assert days(folder, "TH-11,slalom,gone.csv,11/3/2026,") == ["no file"]
    assert days(folder, "TH-11,slalom,gone.csv,11/3/2026,2026-11-03") == [NOVEMBER]


def test_a_result_by_hand_beside_a_file_that_is_not_there_does_not_go_in_as_of_today(folder):
    rows = read(folder, "TH-12,slalom,may.csv,2026-05-09,", "TH-11,slalom,gone.csv,,")
    with pytest.raises(UnreadableFile, match=r"gone\.csv: there is no such file"):
        day_of(rows[1], None, TODAY, Days.of(rows, TODAY))


def test_a_reading_that_has_not_been_is_none_and_settles_the_order_of_the_others(folder):
    # Today is November 28: of 12/3/2026 the month first would be December 3.
    assert days(folder, "TH-11,slalom,plain.csv,12/3/2026,") == [date(2026, 3, 12)]
    assert days(folder, PLAIN, "TH-12,slalom,plain.csv,12/3/2026,") == [MARCH, date(2026, 3, 12)]
    assert days(folder, "TH-11,slalom,plain.csv,3/12/2026,", PLAIN) == [date(2026, 3, 12), NOVEMBER]


def test_a_reading_of_today_has_been_and_one_of_tomorrow_has_not(folder, monkeypatch):
    monkeypatch.setitem(globals(), "TODAY", date(2026, 11, 10))
    assert days(folder, "TH-11,slalom,plain.csv,11/10/2026,") == ["asked"]  # October 11, or November 10: today
    monkeypatch.setitem(globals(), "TODAY", date(2026, 11, 9))
    assert days(folder, "TH-11,slalom,plain.csv,11/10/2026,") == [date(2026, 10, 11)]


def test_where_both_readings_have_not_been_it_is_asked_and_a_file_or_an_answer_goes_first(folder):
    assert days(folder, "TH-11,slalom,plain.csv,11/12/2027,") == ["asked"]
    assert days(folder, "TH-11,slalom,nov.csv,11/3/2026,", "TH-12,slalom,plain.csv,12/3/2026,") == [
        NOVEMBER,
        date(2026, 3, 12),
    ]
    assert days(folder, "TH-11,slalom,plain.csv,12/3/2026,2026-12-03") == [date(2026, 12, 3)]  # refused as to come
