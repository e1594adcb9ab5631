"""What is put into the logbook comes out as it was, once, on SQLite and on PostgreSQL."""

import hashlib
import os
from datetime import date, timedelta

import pytest
from ownmark.errors import AlreadyThere, NotAStudent, NotATrial, UnknownCode, UnknownProtocol, UnknownTrial
from ownmark.records import Ceiling, HandResult, MeasuredRate, add_trials, figures_of, open_logbook
from ownmark.records.store import adding

from tests.makers.sheets import altered
from tests.records.store import made


def test_a_student_comes_back_as_added(logbook):
    given = made.student(conditions=("epilepsy",), ceilings=(Ceiling(bpm=150, set_by="therapist"),), notes="ä “x” \x01")
    logbook.add_student(given)
    assert logbook.student("TH-11") == given
    assert logbook.student(" th-11 ") == given
    assert logbook.students() == (given,)


def test_a_code_is_given_once(logbook):
    logbook.add_student(made.student())
    with pytest.raises(AlreadyThere, match="TH-11 is taken"):
        logbook.add_student(made.student(born=None))
    assert logbook.student("TH-11").born == "2012-04"


def test_an_unknown_code_offers_the_nearest(logbook):
    logbook.add_student(made.student("TH-11"))
    logbook.add_student(made.student("BF-07"))
    with pytest.raises(UnknownCode, match="Did you mean TH-11") as refused:
        logbook.student("TH-12")
    assert "BF-07" not in str(refused.value)


def test_an_edit_is_checked_like_a_new_student(logbook):
    logbook.add_student(made.student())
    rests = (*made.student().rests, MeasuredRate(bpm=66, on=date(2026, 10, 1)))
    assert made.bare_edit(logbook, "th-11", rests=rests).rest.bpm == 66
    assert logbook.student("TH-11").rests == rests
    with pytest.raises(NotAStudent):
        made.bare_edit(logbook, "TH-11", born="yesterday")
    assert logbook.student("TH-11").rests == rests


def test_a_protocol_keeps_its_versions_and_trials_theirs(logbook):
    logbook.add_student(made.student())
    logbook.add_protocol(made.protocol())
    first = logbook.add_trial(made.trial())
    second = logbook.new_version(made.protocol(speed_setting="3"))
    assert second.version == 2
    assert logbook.protocol("slalom-gym") == second
    assert logbook.protocols() == (second,)
    assert logbook.protocol("slalom-gym", 1) == made.protocol()
    assert logbook.trial(first.id).protocol_version == 1
    with pytest.raises(AlreadyThere, match="has a version 1 already"):
        logbook.add_protocol(made.protocol())
    with pytest.raises(UnknownProtocol, match="There are: 1, 2"):
        logbook.protocol("slalom-gym", 3)
    with pytest.raises(UnknownProtocol, match="Did you mean slalom-gym"):
        logbook.protocol("slalom-gim")
    with pytest.raises(UnknownProtocol):
        logbook.new_version(made.protocol("another-one"))


def test_a_trial_comes_back_whole(logbook):
    logbook.add_student(made.student())
    logbook.add_protocol(made.protocol())
    results = (HandResult(name="reach", value=12.5, side="left"), HandResult(name="reach", value=13, side="right"))
    data = [("a/strap.csv", made.recording()), ("noise.bin", os.urandom(5000)), ("again.csv", made.recording())]
    given = made.trial(work="01:00-08:20", hand_results=results, sheet=made.sheet(), notes="dull day", practice=True)
    added = logbook.add_trial(given, data)
    read = logbook.trial(added.id)
    assert read == added
    assert [file.path for file in read.files] == ["strap.csv", "noise.bin"]
    assert read.sheet == made.sheet()
    assert read.computed_by == made.sheet().provenance.ownmark
    assert read.model_copy(update={"id": None, "files": (), "computed_by": None}) == given
    for name, content in data:
        assert logbook.original(hashlib.sha256(content).hexdigest()) == content, name


def test_the_list_of_figures_holds_what_the_sheet_holds(logbook):
    trial = made.filled(logbook, codes=("TH-11",), trials_each=1)[0]
    rows = {row.name: row for row in figures_of(logbook)}
    assert rows.keys() == trial.sheet.figures.keys()
    for name, figure in trial.sheet.figures.items():
        row = rows[name]
        assert (row.trial_id, row.code, row.day) == (trial.id, "TH-11", trial.on)
        for key in ("name", "value", "unit", "low", "high", "coverage", "basis", "source", "note"):
            assert getattr(row, key) == getattr(figure, key), key


def test_the_same_files_are_said_and_not_doubled(logbook):
    first = made.filled(logbook, codes=("TH-11",), trials_each=1)[0]
    before = logbook.count()
    again = made.trial(on=date(2026, 9, 20))
    with pytest.raises(AlreadyThere, match=f"trial {first.id} of TH-11 .*September 10, 2026.* the same files"):
        logbook.add_trial(again, [("other-name.csv", made.recording(0))])
    assert logbook.count() == before
    second = logbook.add_trial(
        again.model_copy(update={"work": "02:00-04:00"}), [("s.csv", made.recording(0))], again=True
    )
    with pytest.raises(AlreadyThere, match=f"trial {second.id} "):
        logbook.add_trial(again.model_copy(update={"work": "02:00-04:00"}), [("s.csv", made.recording(0))], again=True)


def test_a_file_that_two_students_share_is_kept_once(logbook):
    made.filled(logbook, trials_each=0)
    for code in ("TH-11", "BF-07"):
        logbook.add_trial(made.trial(code), [("day.csv", made.recording())])
    assert logbook.count()["originals"] == 1
    sha256 = made.kept("day.csv", made.recording()).sha256
    assert [code for _, code in logbook.holders(sha256)] == ["TH-11", "BF-07"]


def test_results_by_hand_are_not_doubled_either(logbook):
    made.filled(logbook, codes=("TH-11",), trials_each=0)
    by_hand = made.trial(hand_results=(HandResult(name="reach", value=12.5),))
    logbook.add_trial(by_hand)
    with pytest.raises(AlreadyThere, match="the same results on the same day"):
        logbook.add_trial(by_hand)
    logbook.add_trial(by_hand.model_copy(update={"time_of_day": "14:00"}))


def test_a_date_in_the_future_is_refused(logbook):
    made.filled(logbook, codes=("TH-11",), trials_each=0)
    with pytest.raises(NotATrial, match="in the future"):
        logbook.add_trial(made.trial(on=adding.today() + timedelta(days=1)))
    logbook.add_trial(made.trial(on=adding.today()))


def test_a_day_before_the_birth_is_refused(logbook):
    made.filled(logbook, codes=("TH-11",), trials_each=0)
    with pytest.raises(NotAStudent, match="gives no age"):
        logbook.add_trial(made.trial(on=date(2011, 1, 1)))


@pytest.mark.parametrize(
    ("change", "refusal"),
    [
        ({"code": "TH-99"}, UnknownCode),
        ({"protocol": "none-such"}, UnknownProtocol),
        ({"protocol_version": 9}, UnknownProtocol),
    ],
)
def test_a_trial_of_nobody_or_nothing_is_refused(logbook, change, refusal):
    made.filled(logbook, codes=("TH-11",), trials_each=0)
    with pytest.raises(refusal):
        logbook.add_trial(made.trial().model_copy(update=change), [("strap.csv", made.recording())])
    assert logbook.count()["originals"] == logbook.count()["trials"] == 0


def test_a_named_file_needs_its_bytes(logbook):
    made.filled(logbook, codes=("TH-11",), trials_each=0)
    named = made.trial(files=(made.kept("strap.csv", b"1"),))
    with pytest.raises(NotATrial, match=r"bytes of strap\.csv were not given"):
        logbook.add_trial(named)
    with pytest.raises(NotATrial, match=r"other\.csv is not among"):
        logbook.add_trial(named, [("other.csv", b"2")])


def test_trials_are_listed_by_day_and_filtered(logbook):
    made.filled(logbook, trials_each=3)
    assert [(each.on.day, each.code) for each in logbook.trials()] == [
        (day, code) for day in (10, 11, 12) for code in ("TH-11", "BF-07")
    ]
    assert [each.on.day for each in logbook.trials("TH-11", since=date(2026, 9, 11))] == [11, 12]
    assert [each.on.day for each in logbook.trials("TH-11", until=date(2026, 9, 11))] == [10, 11]
    assert list(logbook.trials(protocol="another")) == []
    assert all(each.sheet is None and each.computed_by for each in logbook.trials(with_sheets=False))


def test_a_long_list_goes_on_where_a_batch_ended(logbook, monkeypatch):
    monkeypatch.setattr("ownmark.records.store.logbook._BATCH", 2)
    added = made.filled(logbook, trials_each=3)
    found = list(logbook.trials())
    assert sorted(each.id for each in found) == [each.id for each in added]
    assert found == sorted(added, key=lambda each: (each.on, each.id))


def test_a_list_that_is_read_slowly_holds_up_no_writer(place):
    with open_logbook(place, wait_s=0.5) as logbook, open_logbook(place, wait_s=0.5) as other:
        made.filled(logbook)
        slow = logbook.trials()
        next(slow)
        other.add_student(made.student("CK-03"))
        assert len(list(slow)) == 3


def test_an_unknown_trial_or_file_is_said(logbook):
    with pytest.raises(UnknownTrial, match="there is no trial 7"):
        logbook.trial(7)
    with pytest.raises(UnknownTrial, match="no file"):
        logbook.original("0" * 64)


def test_many_trials_go_in_together_or_not_at_all(logbook):
    made.filled(logbook, trials_each=1)
    day = date(2026, 10, 1)
    good = [made.trial(code, day, sheet=made.sheet()) for code in ("TH-11", "BF-07")]
    before = logbook.count()
    with pytest.raises(UnknownCode):
        add_trials(logbook, [*good, made.trial("ZZ-9", day)])
    with pytest.raises(AlreadyThere, match="a trial before it"):
        add_trials(logbook, [*good, good[0]])
    assert logbook.count() == before
    numbers = add_trials(logbook, [*good, (made.trial(on=day), [("strap.csv", made.recording(99))])])
    assert numbers == (3, 4, 5)
    assert logbook.trial(5).files[0].path == "strap.csv"
    assert logbook.trial(3).sheet == made.sheet()


def test_a_new_sheet_takes_the_place_of_the_old(logbook):
    first, other = made.filled(logbook, codes=("TH-11",))
    sheet = altered(made.sheet(5), lambda page: page["figures"].pop("cost_index"))
    logbook.replace_sheet(first.id, sheet)
    assert logbook.trial(first.id) == first.model_copy(update={"sheet": sheet})
    assert logbook.trial(other.id) == other
    by_trial = {row.trial_id: row.value for row in figures_of(logbook, names=["heart_rate_mean"])}
    assert by_trial[first.id] == sheet.figures["heart_rate_mean"].value
    with pytest.raises(NotATrial):
        made.trial(sheet={"figures": {"x": 1}})


def test_a_zero_character_is_kept_in_notes_and_refused_in_names(logbook):
    made.filled(logbook, codes=("TH-11",), trials_each=0)
    with pytest.raises(NotATrial, match="zero character"):
        logbook.add_trial(made.trial(), [("x\0y.csv", made.recording())])
    added = logbook.add_trial(made.trial(notes="a\0b"), [("xy.csv", made.recording())])
    assert logbook.trial(added.id).notes == "a\0b"
