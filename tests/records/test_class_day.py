"""A class's day, row by row: no row and no file stops another."""

import csv
import os
import pickle
from dataclasses import replace
from datetime import date, datetime
from pathlib import Path

import numpy as np
import pytest
from ownmark import ledger
from ownmark.errors import NotConfirmed, NotOneTrial, Question, UnclearColumns, UnreadableFile
from ownmark.ingest import formats
from ownmark.ingest.containers import MAX_FILE_BYTES
from ownmark.records import class_day
from ownmark.records.class_day import REASONS, add_class, set_aside
from ownmark.records.class_table import Row
from ownmark.records.mending import Edit, edit_trial
from ownmark.records.row_outcome import refusal
from ownmark.words.message import Message

from tests.makers.class_days import table
from tests.records.store.made import protocol, recording, student

TODAY = date(2026, 11, 3)


@pytest.fixture
def ready(logbook):
    for code in ("TH-11", "TH-12", "TH-13"):
        logbook.add_student(student(code))
    logbook.add_protocol(protocol())
    return logbook


def row(number, code, *files):
    return Row(number, {"code": code, "protocol": "slalom-gym"}, tuple(Path(file) for file in files))


def written(folder, name, data):
    path = folder / name
    path.write_bytes(data)
    return path


def three(folder, *middle):
    """Three rows, the second of these files."""
    return [
        row(2, "TH-11", written(folder, "S1.csv", recording(1))),
        row(3, "TH-12", *middle),
        row(4, "TH-13", written(folder, "S3.csv", recording(3))),
    ]


def added(logbook, rows):
    return list(add_class(logbook, rows, day=date(2026, 11, 2), today=TODAY))


def test_a_table_with_dashes_for_times_stops_no_other_row(ready, tmp_path):
    # The list of intervals took "-,5" for a decimal comma and "-" for a number.
    dashes = written(tmp_path, "S2.csv", b"-,91\n-,92\n-,93\n-,94\n")
    outcomes = added(ready, three(tmp_path, dashes))
    assert [each.state for each in outcomes] == ["added", "refused", "added"]
    assert outcomes[1].fault is None
    assert (outcomes[0].code, outcomes[2].code) == ("", "")
    reason = outcomes[1].refused[0].reason
    assert outcomes[1].code == reason.code != ""
    assert str(outcomes[1].reason) == outcomes[1].sentence
    assert outcomes[0].reason is None


def test_a_reader_that_fails_at_looking_stops_no_other_row(ready, tmp_path, monkeypatch):
    def broken(head):
        if head.startswith(b"strange"):
            raise KeyError("a fault")
        return False

    entry = formats.Format("broken", "nothing", broken, formats.FORMATS[0].read)
    monkeypatch.setattr(formats, "FORMATS", (*formats.FORMATS, entry))
    outcomes = added(ready, three(tmp_path, written(tmp_path, "S2.bin", b"strange\x00\x01\x02")))
    assert [each.state for each in outcomes] == ["added", "refused", "added"]
    assert outcomes[1].refused[0].reason.code == "reader_fault"


def test_a_fault_of_one_row_is_told_as_its_own_and_the_others_go_on(ready, tmp_path, monkeypatch):
    real = class_day.keep

    def faulty(logbook, trial, files, **more):
        if trial.code == "TH-12":
            raise ZeroDivisionError("a fault")
        return real(logbook, trial, files, **more)

    monkeypatch.setattr(class_day, "keep", faulty)
    second = written(tmp_path, "S2.csv", recording(2))
    outcomes = added(ready, three(tmp_path, second))
    assert [each.state for each in outcomes] == ["added", "refused", "added"]
    assert isinstance(outcomes[1].fault, ZeroDivisionError)
    assert [len(list(ready.trials(code))) for code in ("TH-11", "TH-12", "TH-13")] == [1, 0, 1]
    assert [copy.name for copy in set_aside(outcomes, tmp_path / "aside")] == ["S2.csv"]
    assert second.exists()


def test_what_is_larger_than_any_recording_is_told_and_not_copied(ready, tmp_path):
    large = tmp_path / "S2.csv"
    large.touch()
    os.truncate(large, MAX_FILE_BYTES + 1)
    outcomes = added(ready, three(tmp_path, large))
    assert [each.state for each in outcomes] == ["added", "refused", "added"]
    assert set_aside(outcomes, tmp_path / "aside") == ()
    assert "too large for a recording" in (tmp_path / "aside" / REASONS).read_text()
    os.truncate(large, 3)
    assert [copy.name for copy in set_aside(outcomes, tmp_path / "aside")] == ["S2.csv"]


def test_a_fault_behind_the_commit_does_not_say_that_nothing_was_added(ready, tmp_path, monkeypatch):
    real = class_day._told

    def faulty(kept):
        if kept.trial.code == "TH-12":
            raise LookupError("a fault")
        return real(kept)

    monkeypatch.setattr(class_day, "_told", faulty)
    outcomes = added(ready, three(tmp_path, written(tmp_path, "S2.csv", recording(2))))
    assert [each.state for each in outcomes] == ["added"] * 3
    assert outcomes[1].fault is not None
    assert len(list(ready.trials("TH-12"))) == 1
    assert set_aside(outcomes, tmp_path / "aside") == ()


def test_a_row_stopped_by_the_person_stops_the_class(ready, tmp_path, monkeypatch):
    def stopped(*_args, **_more):
        raise KeyboardInterrupt

    monkeypatch.setattr(class_day, "keep", stopped)
    with pytest.raises(KeyboardInterrupt):
        added(ready, three(tmp_path, written(tmp_path, "S2.csv", recording(2))))
    assert ledger.since(ledger.mark()) == ()


def test_names_that_are_no_text_are_kept_set_aside_and_told(ready, tmp_path):
    good = Path(os.fsdecode(bytes(tmp_path) + b"/S1 \xff.csv"))
    bad = Path(os.fsdecode(bytes(tmp_path) + b"/S2 \xfe.csv"))
    good.write_bytes(recording(1))
    bad.write_bytes(b"junk \xfe\xff")
    outcomes = added(ready, [row(2, "TH-11", good), row(3, "TH-12", bad)])
    assert [each.state for each in outcomes] == ["added", "refused"]
    (trial,) = ready.trials("TH-11")
    assert trial.files[0].path == "S1 \ufffd.csv"
    (copy,) = set_aside(outcomes, tmp_path / "aside")
    assert copy.read_bytes() == bad.read_bytes()
    with (tmp_path / "aside" / REASONS).open(encoding="utf-8", newline="") as handle:
        told = list(csv.DictReader(handle))
    assert [(each["row"], each["code"], each["file"]) for each in told] == [("3", "TH-12", "S2 \ufffd.csv")]


def test_a_file_that_vanished_does_not_keep_the_others_from_being_set_aside(ready, tmp_path, monkeypatch):
    first, second = (written(tmp_path, f"S{n}.bin", b"\x00junk%d" % n) for n in (1, 2))
    outcomes = added(ready, [row(2, "TH-11", first), row(3, "TH-12", second)])
    real = Path.read_bytes

    def locked(path):
        if path == first:
            raise PermissionError(13, "Permission denied")
        return real(path)

    monkeypatch.setattr(Path, "read_bytes", locked)
    assert [copy.name for copy in set_aside(outcomes, tmp_path / "aside")] == ["S2.bin"]
    assert (tmp_path / "aside" / REASONS).read_text(encoding="utf-8").count("\n") == 3


def test_a_device_or_a_pipe_among_the_files_is_told_and_never_opened(ready, tmp_path):
    # Reading a device that never ends filled the memory, and a pipe waited for ever.
    os.mkfifo(tmp_path / "pipe")
    for endless in (Path("/dev/zero"), tmp_path / "pipe"):
        outcomes = added(ready, [row(2, "TH-11", endless)])
        assert [each.state for each in outcomes] == ["refused"]
        assert "a device or a pipe" in str(outcomes[0].refused[0].reason)
        assert set_aside(outcomes, tmp_path / "aside") == ()


def asked(logbook, given, **more):
    (outcome,) = add_class(logbook, [given], day=date(2026, 11, 2), today=TODAY, **more)
    assert outcome.state == "to confirm"
    assert outcome.reason is None or outcome.reason.questions == outcome.questions
    return [(each.asked.code, each.answers) for each in outcome.questions]


def test_what_is_asked_of_a_row_comes_with_the_answers_that_settle_it(ready, tmp_path):
    file = written(tmp_path, "S1.csv", recording(1))
    looked_at = Row(2, {"code": "TH-11", "protocol": "slalom-gym", "check": "x"}, (file,))
    assert asked(ready, looked_at) == [("day_plan.answer", ("checked",))]
    named = Row(2, {"code": "TH-11", "protocol": "slalom-gym", "notes": "Maria was tired"}, (file,))
    assert asked(ready, named) == [("guard.named", ("keep-text",))]
    both = Row(2, {"code": "TH-11", "protocol": "slalom-gym"}, (file,), days=(date(2026, 4, 3), date(2026, 3, 4)))
    assert asked(ready, both) == [("guard.day_order", ("2026-04-03", "2026-03-04"))]


def test_a_row_without_a_day_beside_dated_ones_is_asked_with_both_days(ready, tmp_path):
    dated = Row(2, {"code": "TH-11", "protocol": "slalom-gym", "on": "2026-11-02", "distance": "90"}, ())
    open_ = Row(3, {"code": "TH-12", "protocol": "slalom-gym", "distance": "90"}, ())
    outcome = list(add_class(ready, [dated, open_], day=None, today=TODAY))[1]
    assert [(each.asked.code, each.answers) for each in outcome.questions] == [("guard.undated", ("2026-11-02", "yes"))]


def test_a_question_keeps_its_answers_when_another_process_hands_it_back():
    question = Question(Message("day_plan.answer"), ("checked",))
    back = pickle.loads(pickle.dumps(NotConfirmed(question.asked, questions=(question,), where="trial 4", mend="so")))
    assert (back.what, back.questions, back.where, back.mend) == (question.asked, (question,), "trial 4", "so")


def test_nothing_from_elsewhere_is_copied_into_a_folder_of_somebody_else(ready, tmp_path):
    drive = tmp_path / "drive"
    (drive / "straps").mkdir(parents=True)
    secret = written(tmp_path, "secret.txt", b"mine alone")
    near = written(drive / "straps", "S2.csv", b"no recording")
    (drive / "link.csv").symlink_to(secret)
    files = [drive / ".." / "secret.txt", drive / "link.csv", near]
    outcomes = added(ready, [row(number, "TH-11", path) for number, path in enumerate(files, start=2)])
    assert [each.state for each in outcomes] == ["refused"] * 3
    assert [copy.name for copy in set_aside(outcomes, drive / "day-aside", drive)] == ["S2.csv"]
    assert sorted(each.name for each in (drive / "day-aside").iterdir()) == ["S2.csv", REASONS]
    assert len((drive / "day-aside" / REASONS).read_text().splitlines()) >= 4
    assert len(set_aside(outcomes, tmp_path / "all")) == 3


def test_nothing_is_written_through_a_link_that_somebody_else_put_there(ready, tmp_path):
    (tmp_path / "drive").mkdir()
    (tmp_path / "mine").mkdir()
    (tmp_path / "drive/day-aside").symlink_to(tmp_path / "mine")
    outcomes = added(ready, [row(2, "TH-11", written(tmp_path / "drive", "S1.csv", b"no recording"))])
    with pytest.raises(UnreadableFile, match="a link to another place"):
        set_aside(outcomes, tmp_path / "drive/day-aside", tmp_path / "drive")
    assert list((tmp_path / "mine").iterdir()) == []


def test_a_name_that_no_disk_can_have_keeps_no_other_file_from_being_set_aside(ready, tmp_path):
    bad = written(tmp_path, "S2.csv", b"no recording")
    outcomes = added(ready, [row(2, "TH-11", tmp_path / ("x" * 300)), row(3, "TH-12", bad)])
    assert [copy.name for copy in set_aside(outcomes, tmp_path / "aside")] == ["S2.csv"]


@pytest.mark.parametrize(("kind", "put_aside"), [(NotOneTrial, []), (UnclearColumns, ["S1.csv", "S2.csv"])])
def test_files_that_are_only_not_of_one_trial_are_not_put_aside_as_unreadable(kind, put_aside):
    row = Row(2, {"code": "TH-11"}, (Path("S1.csv"), Path("S2.csv")))
    found = refusal(row, kind("they start 336 hours apart."))
    assert found.state == "refused"
    assert [each.path for each in found.refused] == put_aside


def test_days_that_files_state_are_asked_about_after_60_days_unless_they_are_said_to_be_right(ready, tmp_path):
    heart = np.concatenate([np.full(300, 71.0), np.full(480, 127.0)])
    begin = datetime(2026, 3, 2, 9, 0)  # noqa: DTZ001 a strap states no zone
    rows = [
        replace(
            row(2, "TH-11", written(tmp_path, "S1.csv", table(heart, begin))),
            texts={"code": "TH-11", "protocol": "slalom-gym", "work": "05:00-12:00"},
        )
    ]
    today = date(2026, 11, 3)

    def state(**more):
        return [(each.state, each.number) for each in add_class(ready, rows, day=None, today=today, **more)]

    assert state() == [("to confirm", None)]
    assert state(since=date(2026, 3, 3)) == [("to confirm", None)]
    assert state(since=date(2026, 3, 2)) == [("added", 1)]
    assert ready.trial(1).on == date(2026, 3, 2)
    edit_trial(ready, 1, Edit(texts={"on": "2026-03-05"}, answers=("yes",)), today=today)
    assert ready.trial(1).on == date(2026, 3, 5)
    assert state(since=date(2026, 3, 2)) == [("there already", 1)]  # no day is written down that could say otherwise
    assert ready.trial(1).on == date(2026, 3, 5)
