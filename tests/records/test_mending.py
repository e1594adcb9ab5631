"""Whatever was entered of a trial can be mended, moved and taken away; its history says what it was before."""

import json
from datetime import date

import pytest
from ownmark.errors import AlreadyThere, NotATrial, UnknownTrial
from ownmark.records import HandMeasure, disclose, forget
from ownmark.records.adding import keep
from ownmark.records.mending import Edit, edit_trial, move_trial
from ownmark.records.removing import put_back, remove_trial
from ownmark.records.store.history import history_of, history_of_student

from tests.records.store import made
from tests.records.test_shared_files import BEHIND, FIRST, PHASES, SECOND, added, hearts, written
from tests.records.test_shared_files import school as two_students

school = two_students

TODAY = date(2026, 11, 28)


def mended(logbook, number=1, why="typed wrong", **edit):
    return edit_trial(logbook, number, Edit(**edit), why=why, today=TODAY)


def test_phases_are_corrected_and_the_figures_are_those_of_a_trial_entered_rightly(school, tmp_path):
    path = written(tmp_path, "strap.csv", FIRST)
    added(school, "TH-11", path, **{**PHASES, "work": "05:00-08:00"})
    right = added(school, "BF-07", written(tmp_path, "other.csv", FIRST + 1), **PHASES).sheet
    done = mended(school, texts={"work": "05:00-12:00"})
    assert done.fields == ("work",)
    now = school.trial(1)
    assert now == done.trial
    assert now.work == "05:00-12:00"
    assert now.sheet.figures["heart_rate_mean"].value == pytest.approx(right.figures["heart_rate_mean"].value - 1)
    (change,) = history_of(school, "trial", 1)
    assert (change.what, change.code, change.why) == ("edited", "TH-11", "typed wrong")
    assert change.before == {"work": "05:00-08:00"}
    assert {each.name for each in done.figures} >= {"time_moderate"}


def test_what_is_so_already_leaves_no_history(school, tmp_path):
    added(school, "TH-11", written(tmp_path, "strap.csv", FIRST), **PHASES)
    assert mended(school, texts={"work": "05:00-12:00"}).fields == ()
    assert history_of(school, "trial", 1) == ()


def test_none_empties_a_field_but_not_where_it_is_an_answer(school, tmp_path):
    added(school, "TH-11", written(tmp_path, "strap.csv", FIRST), **PHASES, notes="windy", medicines="inhaler")
    done = mended(school, texts={"note": "none", "medicines": "none", "rest_phase": "none"})
    assert (done.trial.notes, done.trial.medicines, done.trial.rest_phase) == ("", "none", None)
    assert mended(school, texts={"medicines": ""}).trial.medicines == ""
    with pytest.raises(NotATrial, match="cannot be without its date"):
        mended(school, texts={"date": "none"})
    with pytest.raises(NotATrial, match="lies in the future"):
        mended(school, texts={"date": "2026-11-29"})


def test_results_by_hand_are_corrected_one_by_one(school):
    school.new_version(
        made.protocol(
            hand_measures=(HandMeasure(name="grip", unit="kg", kind="other", sides=True, attempts=2, how="squeeze"),)
        )
    )
    first = school.add_trial(made.trial(version=2))
    mended(school, results=["grip left=12", "grip right=14"])
    done = mended(school, results=["grip left=13", "grip right=none"])
    assert [(each.side, each.value) for each in done.trial.hand_results] == [("left", 13.0)]
    assert len(history_of(school, "trial", first.id)) == 2
    with pytest.raises(NotATrial, match="nothing would be left of it"):
        mended(school, results=["grip left=none"])
    with pytest.raises(NotATrial, match="is not a result"):
        mended(school, results=["grip left"])


def test_a_file_is_added_and_one_that_is_not_of_the_trial_leaves_the_logbook(school, tmp_path):
    right, wrong = written(tmp_path, "right.csv", FIRST), written(tmp_path, "wrong.csv", SECOND)
    added(school, "TH-11", wrong, **PHASES)
    done = mended(school, add=[right], take_out=["wrong.csv"])
    assert [file.path for file in done.trial.files] == ["right.csv"]
    assert hearts(school, "TH-11") == set(FIRST)
    assert school.count()["originals"] == 1
    assert [file["path"] for file in history_of(school, "trial", 1)[0].before["files"]] == ["wrong.csv"]
    with pytest.raises(NotATrial, match=r"no file “wrong\.csv”.*It has right\.csv"):
        mended(school, take_out=["wrong.csv"])
    with pytest.raises(AlreadyThere, match=r"it has right\.csv already"):
        mended(school, add=[right])
    with pytest.raises(NotATrial, match="ownmark trial remove 1"):
        mended(school, take_out=["right.csv"])


def test_phases_outside_what_is_kept_are_refused_with_what_is_kept_and_the_whole_file_widens_it(school, tmp_path):
    day = written(tmp_path, "day.csv", FIRST, SECOND, FIRST)
    added(school, "TH-11", day, **PHASES)
    before = school.trial(1)
    assert before.files[0].part_s == (-90.0, 990.0)  # 00:30 - 2 min to 14:30 + 2 min
    with pytest.raises(NotATrial) as refusal:
        mended(school, texts={"recovery": "12:00-16:31"})
    assert "its phases would take 30 s to 991 s, and of day.csv only 0 s to 990 s is kept" in str(refusal.value)
    assert "--add-file day.csv" in str(refusal.value)
    assert school.trial(1) == before
    assert mended(school, texts={"recovery": "12:00-16:30"}).trial.files[0].part_s == (-90.0, 990.0)
    with pytest.raises(NotATrial, match="all of the recording would be work"):
        mended(school, texts={"work": "none"})
    done = mended(school, texts={"recovery": "12:00-16:31"}, add=[day])
    assert done.trial.files[0].part_s == (-90.0, 1111.0)
    assert done.trial.files[0].recording == before.files[0].recording


def test_a_moved_trial_takes_the_rest_maximum_and_ceiling_of_its_student_and_leaves_no_heart_behind(school, tmp_path):
    made.bare_edit(school, "BF-07", rests=({"bpm": 60, "on": "2026-09-01"},))
    fields = {**PHASES, "rest_phase": None}
    added(school, "TH-11", written(tmp_path, "strap.csv", FIRST), **fields)
    mended(school, texts={"note": "cold"})
    before = school.trial(1)
    done = move_trial(school, 1, "bf-07", why="two straps changed")
    assert done.trial.code == "BF-07"
    assert school.trial(1) == done.trial
    assert list(school.trials("TH-11")) == []
    reserve = [100 * (127 - rest) / (188 - rest) for rest in (72, 60)]
    found = [each.sheet.figures["reserve_mean"].value for each in (before, done.trial)]
    assert found == pytest.approx(reserve, abs=1.0)
    (left,) = history_of_student(school, "TH-11")
    assert left.before == {"number": 1, "on": "2026-10-06", "protocol": "slalom-gym"}
    assert [each.what for each in history_of(school, "trial", 1)] == ["edited", "moved here"]
    disclose(school, "TH-11", tmp_path / "old")
    disclose(school, "BF-07", tmp_path / "new")
    told = {name: b"".join(each.read_bytes() for each in (tmp_path / name).rglob("*.*")) for name in ("old", "new")}
    assert b"BF-07" not in told["old"]
    assert b"TH-11" not in told["new"]
    assert [each["what"] for each in json.loads((tmp_path / "old" / "history.json").read_text())] == ["moved away"]
    with pytest.raises(AlreadyThere, match="is BF-07's already"):
        move_trial(school, 1, "BF-07")


def test_a_trial_is_not_moved_to_a_student_who_has_those_minutes(school, tmp_path):
    day = written(tmp_path, "day.csv", FIRST, SECOND)
    added(school, "TH-11", day, **PHASES)
    added(school, "BF-07", day, **BEHIND)
    done = move_trial(school, 1, "BF-07")  # two trials of one recording, each of its own minutes
    assert [trial.id for trial in school.trials("BF-07")] == [1, 2]
    assert hearts(school, "TH-11") == set()
    assert done.trial.files[0].recording == school.trial(2).files[0].recording
    back = move_trial(school, 2, "TH-11")
    assert back.trial.code == "TH-11"


def test_a_removed_trial_counts_nowhere_and_comes_back_as_it_was(school, tmp_path):
    added(school, "TH-11", written(tmp_path, "strap.csv", FIRST), **PHASES)
    before = school.trial(1)
    with pytest.raises(NotATrial, match="nobody said why"):
        remove_trial(school, 1, why=" ")
    remove_trial(school, 1, why="the strap lay on the bench")
    assert list(school.trials()) == []
    assert school.count() == {"students": 2, "protocols": 1, "trials": 0, "figures": 0, "originals": 1}
    with pytest.raises(UnknownTrial, match=r"trial 1 was removed .*restore 1"):
        school.trial(1)
    (change,) = history_of(school, "trial", 1)
    assert change.before["trial"]["work"] == "05:00-12:00"
    again = added(school, "BF-07", written(tmp_path, "other.csv", SECOND), **PHASES)
    assert again.trial.id == 2  # no number is given twice
    assert put_back(school, 1) == before
    assert school.trial(1) == before
    assert [(each.what, each.before) for each in history_of(school, "trial", 1)] == [("removed", {}), ("put back", {})]
    with pytest.raises(AlreadyThere, match="was not removed"):
        put_back(school, 1)


def test_a_removed_trial_lets_go_of_minutes_that_turn_out_to_be_another_students(school, tmp_path):
    day = written(tmp_path, "day.csv", FIRST, SECOND, FIRST)
    last = {"rest_phase": "30:30-35:00", "work": "35:00-42:00", "recovery": "42:00-44:30"}
    added(school, "TH-11", day, **last)
    remove_trial(school, 1, why="another student wore it")
    added(school, "BF-07", day, **PHASES)
    assert history_of(school, "trial", 1)[0].held  # minutes of its own
    keep(school, made.trial("BF-07", **last), [day], again=True)
    (change,) = history_of(school, "trial", 1)
    assert (change.held, change.before, change.why) == ((), {}, "another student wore it")
    kept = [school.original(file.sha256) for trial in school.trials() for file in trial.files]
    assert school.count()["originals"] == len(kept) == 2
    with pytest.raises(UnknownTrial, match="cannot be put back"):
        put_back(school, 1)


def test_forgetting_takes_the_history_and_the_removed_trials_too(school, tmp_path):
    added(school, "TH-11", written(tmp_path, "strap.csv", FIRST), **PHASES, notes="first words")
    mended(school, texts={"note": "second words"})
    remove_trial(school, 1, why="it was nothing")
    done = forget(school, "TH-11")
    assert len(done.files) == 1
    assert history_of(school, "trial", 1) == history_of_student(school, "TH-11") == ()
    assert school.count()["originals"] == 0


def test_after_forgetting_no_byte_of_a_mended_moved_or_removed_trial_is_in_the_file(tmp_path):
    from ownmark.records import open_logbook

    path = tmp_path / "logbook.db"
    with open_logbook(path) as logbook:
        logbook.add_protocol(made.protocol())
        for code in ("QX-917", "BF-07"):
            logbook.add_student(made.student(code))
        strap = written(tmp_path, "strap-of-qx.csv", FIRST)
        for day in (1, 2, 3):
            heart = written(tmp_path, f"strap-of-qx-{day}.csv", FIRST + day)
            added(logbook, "QX-917", heart, **PHASES, notes=f"first-words-{day}", on=date(2026, 10, day))
            mended(logbook, day, why=f"why-of-qx-{day}", texts={"note": f"second-words-{day}"})
        added(logbook, "BF-07", strap, **PHASES)
        move_trial(logbook, 4, "QX-917", why="why-of-qx")
        remove_trial(logbook, 2, why="why-of-qx")
        raw = [logbook.original(file.sha256) for file in logbook.trial(1).files]
        assert b"first-words-1" in path.read_bytes()
        assert forget(logbook, "QX-917").mentions == ()
        left = path.read_bytes()
        for word in (b"QX-917", b"first-words", b"second-words", b"strap-of-qx", b"why-of-qx-"):
            assert word not in left, word
        assert raw
        with logbook.reading() as connection:
            rows = connection.exec_driver_sql("SELECT count(*) FROM originals").scalar_one()
        assert rows == 0
        # the record of the one whose trial went away keeps its own line, without a heart
        (line,) = history_of_student(logbook, "BF-07")
        assert line.what == "moved away"
