"""Times of wearing never are the work; where the work lies outside of them it is asked about."""

import math
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from ownmark.ingest.recording import Recording
from ownmark.metrics import Phases, choose_basis, effort
from ownmark.records.class_day import add_class
from ownmark.records.class_table import read_class
from ownmark.records.recompute import recompute
from ownmark.records.wearing import Wearing
from ownmark.records.worn_times import margins, of_worn

from tests.makers.recordings import every_second
from tests.records.store import made
from tests.records.test_clock_shifts import AT, dated
from tests.records.test_shared_files import FIRST, SECOND, hearts
from tests.records.test_shared_files import school as two_students

school = two_students
SHEET = effort(every_second([100.0] * 1200), choose_basis(rest_bpm=72), Phases(work=(300, 780)))
NINE = Recording(streams=(), start=datetime.fromisoformat("2026-10-06T09:00:00"))


@pytest.mark.parametrize(
    ("worn", "asked"),
    [
        (("9:05", "9:13"), False),
        (("9:06", "9:12"), False),  # a minute each
        (("9:06:01", "9:13"), True),
        (("9:05", "9:11:59"), True),
        (("9:00", ""), False),
        (("9:10", ""), True),
        (("", "9:30"), False),
        (("", "9:00"), True),
        (("@9:00 AM", "9:30 AM"), False),
        (("9:00 PM", "9:30 PM"), True),
        (("after lunch", "9:00"), False),  # no time: nothing can be said
    ],
)
def test_work_outside_of_the_wearing_is_asked(worn, asked):
    assert [each.asked.code for each in of_worn(SHEET, NINE, None, (Wearing(*worn),))] == ["guard.worn"] * asked


def test_any_of_several_wearings_will_do_and_the_question_names_all():
    early, right = Wearing("8:00", "8:30"), Wearing("9:00", "9:30")
    assert of_worn(SHEET, NINE, None, (early, right)) == ()
    (question,) = of_worn(SHEET, NINE, None, (early, Wearing("10:00", "")))
    assert (question.asked["work"].text, question.asked["worn"].text) == ("9:05:00-9:13:00", "8:00-8:30; 10:00-…")
    assert question.answers == ("yes",)
    assert of_worn(SHEET, NINE, None, ()) == ()


def test_it_is_the_school_s_clock_and_without_a_clock_nothing_is_asked():
    utc = Recording(streams=(), start=datetime(2026, 10, 6, 15, 0, tzinfo=UTC))
    assert of_worn(SHEET, utc, "America/Denver", (Wearing("9:00", "9:30"),)) == ()
    assert len(of_worn(SHEET, utc, "America/Denver", (Wearing("15:00", "15:30"),))) == 1
    assert of_worn(SHEET, Recording(streams=()), None, (Wearing("9:00", "9:01"),)) == ()
    assert len(of_worn(SHEET, Recording(streams=(), clock_s=9 * 3600.0), None, (Wearing("9:00", "9:01"),))) == 1


def test_a_row_whose_work_contradicts_the_list_of_straps_is_to_confirm(school, tmp_path):
    dated(tmp_path, "S1.csv", FIRST, AT + timedelta(hours=1))
    table, straps = tmp_path / "day.csv", tmp_path / "straps.csv"
    straps.write_text("strap,code,from,until\nS1,TH-11,10:00,10:30\n")

    def given(confirm=""):
        table.write_text(f"code,protocol,work,confirm\nTH-11,slalom-gym,@9:05-@9:12,{confirm}\n")
        (found,) = add_class(school, read_class(table, straps), day=None, today=made.DAY)
        return found

    asked = given()
    assert asked.state == "to confirm"
    assert "the student wore this strap at 10:00-10:30" in asked.sentence
    assert given("yes").state == "added"


def test_a_row_that_names_its_files_is_held_against_the_list_of_straps_too(school, tmp_path):
    dated(tmp_path, "chest.csv", FIRST, AT + timedelta(hours=1))
    table, straps = tmp_path / "day.csv", tmp_path / "straps.csv"
    table.write_text("code,protocol,files,work\nTH-11,slalom-gym,chest.csv,@9:05-@9:12\n")

    def given(listed):
        straps.write_text(f"strap,code,from,until\n{listed}\n")
        (found,) = add_class(school, read_class(table, straps), day=None, today=made.DAY)
        return found.state, found.code

    assert given("S1,TH-11,10:00,10:30") == ("to confirm", "not_confirmed")
    assert school.count()["trials"] == 0
    assert given("S1,BF-07,10:00,10:30")[0] == "added"  # another student's wearing says nothing of this one


def test_a_row_that_corrects_is_held_against_the_list_of_straps(school, tmp_path):
    """With a further file too: the trial is known then before anything of it is asked."""
    dated(tmp_path, "S1.csv", FIRST, AT + timedelta(hours=1))
    dated(tmp_path, "watch.csv", SECOND, AT + timedelta(hours=1))
    table, straps = tmp_path / "day.csv", tmp_path / "straps.csv"
    straps.write_text("strap,code,from,until\nS1,TH-11,9:04,9:11\n")

    def given(files, work, confirm=""):
        table.write_text(f"code,protocol,files,work,confirm\nTH-11,slalom-gym,{files},{work},{confirm}\n")
        (found,) = add_class(school, read_class(table, straps), day=None, today=made.DAY, correct=True)
        return found.state

    assert given("S1.csv", "@9:05-@9:12") == "added"
    for files in ("S1.csv", "S1.csv; watch.csv"):
        assert given(files, "@9:05-@9:12:02") == "to confirm"
    assert (school.trial(1).work, len(school.trial(1).files)) == ("@9:05-@9:12", 1)
    assert given("S1.csv", "@9:05:10-@9:12") == "corrected"  # within the minute to which it is written
    assert given("S1.csv; watch.csv", "@9:05-@9:12:02", "yes") == "corrected"
    assert (school.trial(1).work, len(school.trial(1).files)) == ("@9:05-@9:12:02", 2)
    assert given("S1.csv; watch.csv", "@9:05-@9:12:02", "yes") == "there already"


def handed_over(tmp_path):
    """One strap without a break: the first one's heart until 9:15:00, the second one's from then on."""
    dated(tmp_path, "S1.csv", np.r_[FIRST, SECOND], AT + timedelta(hours=1))
    return tmp_path / "day.csv", tmp_path / "straps.csv"


@pytest.mark.parametrize(
    ("straps", "until"),
    [
        ("S1,TH-11,9:00,9:14:40\nS1,BF-07,,", 880.0),
        ("S1,TH-11,9:00,9:14\nS1,BF-07,,", 900.0),  # all of that minute
        ("S1,TH-11,9:00,9:15:00\nS1,BF-07,9:15,", 900.0),
        ("S1,TH-11,9:00,9:20\nS1,BF-07,9:14:50,9:30", 890.0),
        ("S1,TH-11,9:00,\nS1,BF-07,9:14:20,", 870.0),  # the recovery stays
    ],
)
def test_what_is_kept_ends_where_the_list_of_straps_ends_it(school, tmp_path, straps, until):
    table, listed = handed_over(tmp_path)
    listed.write_text(f"strap,code,from,until\n{straps}\n")
    table.write_text("code,protocol,rest,work,recovery\nTH-11,slalom-gym,@9:00:30-@9:05,@9:05-@9:12,@9:12-@9:14:30\n")
    (found,) = add_class(school, read_class(table, listed), day=None, today=made.DAY)
    assert found.state == "added"
    (file,) = school.trial(1).files
    assert file.part_s == (0.0, until)
    assert hearts(school, "TH-11") <= set(FIRST)
    assert school.trial(1).sheet.provenance.span[1] == until
    assert not any(each.changed or each.refused for each in recompute(school))


def test_the_second_wearer_begins_behind_the_minute_in_which_the_first_one_ended(school, tmp_path):
    table, listed = handed_over(tmp_path)
    listed.write_text("strap,code,from,until\nS1,TH-11,9:00,9:15\nS1,BF-07,9:15,9:30\n")
    row = "@9:16:30-@9:20,@9:20-@9:27,@9:27-@9:29:30"
    table.write_text(f"code,protocol,rest,work,recovery\nBF-07,slalom-gym,{row}\n")
    (found,) = add_class(school, read_class(table, listed), day=None, today=made.DAY)
    assert found.state == "added"
    assert school.trial(1).files[0].part_s[0] == 960.0
    assert hearts(school, "BF-07") <= set(SECOND)


def test_a_file_within_what_the_list_gives_is_kept_byte_for_byte(school, tmp_path):
    path = dated(tmp_path, "S1.csv", FIRST, AT + timedelta(hours=1))
    table, listed = tmp_path / "day.csv", tmp_path / "straps.csv"
    listed.write_text("strap,code,from,until\nS1,TH-11,9:00,9:15:00\nS1,BF-07,9:15,\n")  # its last second ends there
    table.write_text("code,protocol,work\nTH-11,slalom-gym,@9:05-@9:12\n")
    assert next(add_class(school, read_class(table, listed), day=None, today=made.DAY)).state == "added"
    (file,) = school.trial(1).files
    assert (file.part_s, school.original(file.sha256)) == (None, path.read_bytes())


def test_half_way_and_the_list_limit_together(school, tmp_path):
    table, listed = handed_over(tmp_path)
    listed.write_text("strap,code,from,until\nS1,TH-11,9:00,9:15:10\nS1,BF-07,9:14:50,9:30\n")
    table.write_text(
        "code,protocol,rest,work,recovery\n"
        "TH-11,slalom-gym,@9:00:30-@9:05,@9:05-@9:12,@9:12-@9:14:30\n"
        "BF-07,slalom-gym,@9:16:30-@9:20,@9:20-@9:27,@9:27-@9:29:30\n"
    )
    found = list(add_class(school, read_class(table, listed), day=None, today=made.DAY))
    assert [each.state for each in found] == ["added", "added"]
    # Half way from 9:14:30 to 9:16:30 lies at 9:15:30: the list says less of both.
    assert school.trial(1).files[0].part_s[1] == 890.0
    assert school.trial(2).files[0].part_s[0] == 930.0


def test_margins_are_on_the_clock_of_the_files():
    utc = Recording(streams=(), start=datetime(2026, 10, 6, 15, 0, tzinfo=UTC))
    worn = (Wearing("9:01", "9:20"), Wearing("", "", by_another=True))
    assert margins((300.0, 900.0), (400.0, 700.0), utc, "America/Denver", worn) == (60.0, 1260.0)
    assert margins((300.0, 900.0), (400.0, 700.0), utc, None, worn) == (-math.inf, math.inf)
    assert margins((300.0, 900.0), (400.0, 700.0), Recording(streams=()), None, worn) == (-math.inf, math.inf)
