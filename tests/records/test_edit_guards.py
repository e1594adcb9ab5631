"""An edit is asked what an addition is asked, and tells what it cuts away."""

import numpy as np
import pytest
from ownmark.errors import BasisError, NotATrial, NotConfirmed
from ownmark.records import guards
from ownmark.records.class_day import add_class
from ownmark.records.class_table import read_class
from ownmark.records.mending import Edit, edit_trial
from ownmark.records.store.history import history_of
from ownmark.words.render import english

from tests.records.store import made
from tests.records.test_clock_shifts import AT, dated
from tests.records.test_shared_files import BEHIND, FIRST, PHASES, SECOND, added, written
from tests.records.test_shared_files import school as two_students

school = two_students


@pytest.fixture
def timed(school):
    """A school whose protocol says how long each phase is."""
    school.new_version(made.protocol(rest_s=270, work_s=420, recovery_s=150))
    return school


def mended(logbook, *, confirmed=(), number=1, **edit):
    return edit_trial(logbook, number, Edit(answers=confirmed, **edit), today=made.DAY)


def asked(logbook, *, confirmed=(), **edit):
    """The codes of what is asked; nothing is changed."""
    before = logbook.trial(1)
    with pytest.raises(NotConfirmed) as question:
        mended(logbook, confirmed=confirmed, **edit)
    assert logbook.trial(1) == before
    return [each.code for each in question.value.what["questions"]]


def test_a_length_that_the_edit_brings_is_asked_and_goes_in_when_it_is_answered(timed, tmp_path):
    added(timed, "TH-11", written(tmp_path, "strap.csv", FIRST), protocol_version=2, **PHASES)
    assert mended(timed, texts={"work": "05:00-11:30"}).trial.work == "05:00-11:30"  # 30 s less is passed over
    assert asked(timed, texts={"work": "05:00-11:29"}) == ["guard.length"]
    assert asked(timed, texts={"work": "05:00-11:29"}, confirmed=("no",)) == ["guard.length"]
    done = mended(timed, texts={"work": "05:00-11:29"}, confirmed=("yes",))
    assert (done.trial.work, done.trial.confirmed) == ("05:00-11:29", ("yes",))
    assert mended(timed, texts={"recovery": "12:00-14:25"}).fields == ("recovery",)  # work is as it was answered
    assert asked(timed, texts={"work": "05:00-11:00"}) == ["guard.length"]  # that yes was for another length
    assert asked(timed, texts={"rest_phase": "04:00-05:00", "work": "05:00-11:00"}) == ["guard.length", "guard.length"]


def test_rest_and_work_that_are_swapped_are_asked_and_an_absurd_length_is_refused_whatever_is_answered(timed, tmp_path):
    added(timed, "TH-11", written(tmp_path, "strap.csv", FIRST), protocol_version=2, **PHASES)
    swapped = {"rest_phase": "05:00-12:00", "work": "00:30-05:00", "recovery": "none"}
    assert set(asked(timed, texts=swapped)) == {"guard.length", "guard.order", "guard.rest_above"}
    with pytest.raises(NotATrial) as short:
        mended(timed, texts={"work": "05:00-05:09"}, confirmed=("yes",))
    assert short.value.what.code == "guard.too_short"
    with pytest.raises(BasisError, match="overlap"):
        mended(timed, texts={"work": "04:00-11:00"}, confirmed=("yes",))


def test_a_whole_file_is_asked(timed, tmp_path):
    added(timed, "TH-11", written(tmp_path, "strap.csv", FIRST), protocol_version=2, **PHASES)
    all_work = {"work": "none", "rest_phase": "none", "recovery": "none"}
    assert asked(timed, texts=all_work) == ["guard.whole"]


def test_another_protocol_s_lengths_are_asked(school, tmp_path):
    school.add_protocol(made.protocol("hall", work_s=600))
    added(school, "TH-11", written(tmp_path, "strap.csv", FIRST), **PHASES)
    assert asked(school, protocol="hall") == ["guard.length"]
    assert mended(school, protocol="hall", confirmed=("yes",)).trial.protocol == "hall"


def test_another_day_than_the_file_s_is_asked_and_the_file_s_is_an_answer(school, tmp_path):
    added(school, "TH-11", dated(tmp_path, "strap.csv", FIRST), work="@8:05-@8:12")
    assert asked(school, texts={"date": "2026-10-07"}) == ["guard.other_day"]
    assert mended(school, texts={"date": "2026-10-07"}, confirmed=("yes",)).fields == ("on", "confirmed")
    assert mended(school, texts={"work": "@8:05-@8:11"}).fields == ("work",)  # the day was answered before
    back = mended(school, texts={"date": "2026-10-08"}, confirmed=("2026-10-06",))
    assert back.trial.on.isoformat() == "2026-10-06"


def test_times_that_can_be_read_in_two_ways_are_asked(school, tmp_path):
    day = np.r_[FIRST, SECOND, np.tile(FIRST, 6)]
    added(school, "TH-11", dated(tmp_path, "strap.csv", day), work="@8:05-@8:12", margin_s=3600)
    assert asked(school, texts={"work": "8:05-8:12"}) == ["guard.two_readings"]
    done = mended(school, texts={"work": "8:05-8:12"}, confirmed=("clock",))
    assert done.trial.work == "@8:05-@8:12"


def test_clock_times_beside_a_file_in_utc_are_asked_for_the_zone(school, tmp_path):
    added(school, "TH-11", dated(tmp_path, "strap.csv", FIRST, zone="Z"), work="05:00-12:00")
    assert asked(school, texts={"work": "@8:05-@8:12"}) == ["guard.zone"]
    assert mended(school, texts={"work": "@8:05-@8:12"}, confirmed=("utc",)).trial.work == "@8:05-@8:12"


def test_what_was_so_before_is_not_asked_again(timed, tmp_path):
    short = {**PHASES, "work": "05:00-07:00", "recovery": None}
    with pytest.raises(NotConfirmed):
        added(timed, "TH-11", written(tmp_path, "strap.csv", FIRST), protocol_version=2, **short)
    added(timed, "TH-11", tmp_path / "strap.csv", protocol_version=2, confirmed=("yes",), **short)
    assert mended(timed, texts={"note": "windy"}).fields == ("notes",)
    assert mended(timed, texts={"distance": "100"}).fields == ("distance_m",)
    assert mended(timed, confirmed=("none",)).trial.confirmed == ()


def test_an_edit_says_what_the_recording_did_not_see_and_what_is_kept_no_more(school, tmp_path):
    strap = dated(tmp_path, "strap.csv", np.r_[FIRST, SECOND])
    added(school, "TH-11", strap, work="05:00-27:00")
    done = mended(school, texts={"work": "05:00-12:00"})
    assert [each.code for each in done.told] == ["guard.narrowed"]
    kept = "08:03:00 to 08:14:00 (180 s to 840 s from its start)"
    assert (done.told[0]["file"].text, done.told[0]["kept"].text) == ("strap.csv", kept)
    assert kept in english(done.told[0])
    assert mended(school, texts={"note": "windy"}).told == ()
    late = mended(school, texts={"work": "@7:58-@8:12"}, add=(strap,))
    assert [each.code for each in late.told] == ["guard.late"]
    assert late.told[0]["at"].text == "08:00:00 (0 s)"
    assert "begins at 08:00:00 (0 s), only 2:00 min (120 s) into the work phase" in english(late.told[0])


def test_an_edit_that_takes_minutes_beside_another_trial_says_so(school, tmp_path):
    strap = written(tmp_path, "strap.csv", FIRST, SECOND)
    added(school, "TH-11", strap, **PHASES)
    added(school, "BF-07", strap, **BEHIND)
    done = mended(school, texts={"recovery": "12:00-14:50"}, add=(strap,))
    assert [(each.code, each["number"]) for each in done.told] == [("guard.other_narrowed", 2)]


def test_a_row_that_corrects_is_asked_too(timed, tmp_path):
    written(tmp_path, "strap.csv", FIRST)
    table = tmp_path / "day.csv"

    def given(work, confirm=""):
        table.write_text(f"code,protocol,files,work,confirm\nTH-11,slalom-gym,strap.csv,{work},{confirm}\n")
        rows = read_class(table)
        (found,) = add_class(timed, rows, day=AT.date(), today=made.DAY, correct=True)
        return found.state

    assert given("05:00-12:00") == "added"
    assert given("05:00-07:00") == "to confirm"
    assert timed.trial(1).work == "05:00-12:00"
    assert given("05:00-07:00", "yes") == "corrected"
    assert (timed.trial(1).work, timed.trial(1).confirmed) == ("05:00-07:00", ("yes",))
    assert given("05:00-07:00", "yes") == "there already"


def test_phases_of_an_edit_may_be_marks_of_the_recording(school, tmp_path):
    added(school, "TH-11", written(tmp_path, "strap.csv", FIRST), **PHASES)
    with pytest.raises(NotATrial, match="no lap number 2"):
        mended(school, texts={"work": "lap 2"})


def test_an_answer_to_no_question_is_refused_and_changes_nothing(timed, tmp_path):
    short = {**PHASES, "work": "05:00-07:00", "recovery": None}
    strap = written(tmp_path, "strap.csv", FIRST)
    added(timed, "TH-11", strap, protocol_version=2, confirmed=("yes",), **short)
    for answer in ("no", "2026-05-12", "x" * 41, "none;none"):
        with pytest.raises(
            NotATrial, match=r"trial 1: “.{2,41}” answers nothing that is asked of this edit\. Leave --confirm"
        ):
            mended(timed, confirmed=(answer,))
    with pytest.raises(NotATrial, match="“yes” answers nothing"):
        mended(timed, confirmed=("yes",))  # it was asked when the trial was added, and is not asked now
    with pytest.raises(NotATrial, match="“keep-text” answers nothing"):
        mended(timed, texts={"note": "windy"}, confirmed=("keep-text",))
    with pytest.raises(NotATrial, match=r"“no” answers nothing that .* What is asked can be answered with yes\."):
        mended(timed, texts={"work": "05:00-06:00"}, confirmed=("yes", "no"))
    assert (timed.trial(1).notes, timed.trial(1).work, timed.trial(1).confirmed) == ("", "05:00-07:00", ("yes",))
    assert history_of(timed, "trial", "1") == ()
    assert mended(timed, texts={"note": "with Mrs. Miller"}, confirmed=("KEEP-TEXT",)).fields == ("confirmed", "notes")
    assert mended(timed, confirmed=("NONE",)).trial.confirmed == ()


def test_forty_letters_of_an_answer_are_shown():
    assert (guards.shortened("x" * 40), guards.shortened("x" * 41)) == ("x" * 40, f"{'x' * 40}…")
