"""Times of wearing never are the work; where the work lies outside of them it is asked about."""

from datetime import UTC, datetime, timedelta

import pytest
from ownmark.ingest.recording import Recording
from ownmark.metrics import Phases, choose_basis, effort
from ownmark.records.class_day import add_class
from ownmark.records.class_table import read_class
from ownmark.records.worn_times import of_worn

from tests.makers.recordings import every_second
from tests.records.store import made
from tests.records.test_clock_shifts import AT, dated
from tests.records.test_shared_files import FIRST, SECOND
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
    assert [each.asked.code for each in of_worn(SHEET, NINE, None, (worn,))] == ["guard.worn"] * asked


def test_any_of_several_wearings_will_do_and_the_question_names_all():
    early, right = ("8:00", "8:30"), ("9:00", "9:30")
    assert of_worn(SHEET, NINE, None, (early, right)) == ()
    (question,) = of_worn(SHEET, NINE, None, (early, ("10:00", "")))
    assert (question.asked["work"].text, question.asked["worn"].text) == ("9:05:00-9:13:00", "8:00-8:30; 10:00-…")
    assert question.answers == ("yes",)
    assert of_worn(SHEET, NINE, None, ()) == ()


def test_it_is_the_school_s_clock_and_without_a_clock_nothing_is_asked():
    utc = Recording(streams=(), start=datetime(2026, 10, 6, 15, 0, tzinfo=UTC))
    assert of_worn(SHEET, utc, "America/Denver", (("9:00", "9:30"),)) == ()
    assert len(of_worn(SHEET, utc, "America/Denver", (("15:00", "15:30"),))) == 1
    assert of_worn(SHEET, Recording(streams=()), None, (("9:00", "9:01"),)) == ()
    assert len(of_worn(SHEET, Recording(streams=(), clock_s=9 * 3600.0), None, (("9:00", "9:01"),))) == 1


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
