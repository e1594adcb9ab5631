"""What was changed goes into a backup and comes back; a kill at any moment of a change leaves one of the two states."""

import json
import os
import random
import signal
import time
import zipfile

import pytest
from ownmark.errors import BackupDamaged
from ownmark.records import Trial, back_up, open_logbook, restore
from ownmark.records.adding import keep
from ownmark.records.mending import Edit, edit_trial, move_trial
from ownmark.records.recompute import differences, new_sheet
from ownmark.records.removing import put_back, remove_trial
from ownmark.records.store.history import history_of, history_of_student
from ownmark.records.store.tables import files, history, originals
from ownmark.records.student_mending import edit_student
from sqlalchemy import func, select

from tests.records.store import made
from tests.records.store.test_backup import everything

PHASES = {"work": "01:00-08:00", "recovery": "08:00-09:30"}


def recorded(logbook, folder, code="TH-11", seed=0):
    path = folder / f"strap-{seed}.csv"
    path.write_bytes(made.recording(seed))
    fields = {"code": code, "protocol": "slalom-gym", "protocol_version": 1, "on": "2026-10-06"}
    return keep(logbook, Trial(**fields, **PHASES), [path]).trial


@pytest.fixture
def mended(logbook, tmp_path):
    """Two students, a trial that was edited and moved, and one that was removed."""
    made.filled(logbook, trials_each=0)
    recorded(logbook, tmp_path)
    recorded(logbook, tmp_path, seed=1)
    edit_trial(logbook, 1, Edit(texts={"note": "windy"}), why="forgotten", today=made.DAY)
    move_trial(logbook, 1, "BF-07", why="straps changed")
    edit_student(logbook, "TH-11", {"notes": "tall"})
    remove_trial(logbook, 2, why="no trial")
    return logbook


def changes(logbook):
    return history_of_student(logbook, "TH-11"), history_of_student(logbook, "BF-07")


def test_a_backup_carries_the_history_and_a_removed_trial_can_come_back_from_it(mended, another_place, tmp_path):
    manifest = back_up(mended, tmp_path / "class.zip")
    assert manifest.counts["history"] == 5
    with open_logbook(another_place) as second:
        restore(second, tmp_path / "class.zip")
        assert everything(second) == everything(mended)
        assert changes(second) == changes(mended)
        assert put_back(second, 2) == put_back(mended, 2)


def test_a_backup_without_originals_names_none_of_their_files(mended, another_place, tmp_path):
    back_up(mended, tmp_path / "bare.zip", with_originals=False)
    with zipfile.ZipFile(tmp_path / "bare.zip") as archive:
        assert not any(b"strap-1.csv" in archive.read(name) for name in archive.namelist())
    with open_logbook(another_place) as second:
        restore(second, tmp_path / "bare.zip")
        back = put_back(second, 2)
        assert (back.files, back.sheet is None) == ((), False)


@pytest.mark.parametrize(
    "wrong",
    [
        {3: "QQ-99"},  # a student who is not there
        {1: "recipe"},
        {4: "eaten"},
        {5: "yesterday"},
        {7: "ab" * 32},  # a file that is not there
        {8: "[]"},
        {0: 0},
    ],
)
def test_a_backup_with_a_change_that_cannot_have_been_is_refused(mended, another_place, tmp_path, wrong):
    import hashlib

    back_up(mended, tmp_path / "class.zip")
    with zipfile.ZipFile(tmp_path / "class.zip") as archive:
        parts = {name: archive.read(name) for name in archive.namelist()}
    rows = [json.loads(line) for line in parts["history.jsonl"].splitlines()]
    for place, value in wrong.items():
        rows[-1][place] = value
    parts["history.jsonl"] = b"".join(json.dumps(row, ensure_ascii=False).encode() + b"\n" for row in rows)
    page = json.loads(parts["manifest.json"])
    data = parts["history.jsonl"]
    page["members"]["history.jsonl"] = {"sha256": hashlib.sha256(data).hexdigest(), "size": len(data)}
    parts["manifest.json"] = json.dumps(page).encode()
    with zipfile.ZipFile(tmp_path / "wrong.zip", "w") as archive:
        for name, content in parts.items():
            archive.writestr(name, content)
    with open_logbook(another_place) as second:
        with pytest.raises(BackupDamaged):
            restore(second, tmp_path / "wrong.zip")
        assert sum(second.count().values()) == 0


def assert_one_of_two_states(logbook):
    """A trial is with one student, whole, with the figures of its phases and today's ceiling; or removed, with all."""
    found = list(logbook.trials())
    with logbook.reading() as connection:
        held = connection.execute(select(func.count()).select_from(files)).scalar_one()
        kept = connection.execute(select(func.count()).select_from(originals)).scalar_one()
        removed = connection.execute(select(func.count()).select_from(history).where(history.c.held != "")).scalar_one()
    assert (len(found), held, removed, kept) in ((1, 1, 0, 1), (0, 0, 1, 1))
    for trial in found:
        assert differences(trial.sheet, new_sheet(logbook, trial)) == ()
        now = logbook.student(trial.code).ceiling
        assert trial.sheet.provenance.ceiling_bpm == (None if now is None else now.bpm)
    last = history_of(logbook, "trial", 1)[-1:]
    assert [each.what == "removed" for each in last] == ([not found] if last else [])


def test_a_kill_at_any_moment_of_a_change_leaves_one_of_the_two_states(place, tmp_path, zygote):
    with open_logbook(place) as logbook:
        made.filled(logbook, trials_each=0)
        recorded(logbook, tmp_path)
    draw, done = random.Random(5), 0
    for turn in range(10):
        writer = zygote.begin("mend", place, turn * 100)
        if turn % 2:
            zygote.wait_for_one()
        time.sleep(draw.random() * 0.25)
        os.kill(writer, signal.SIGKILL)
        done += sum(words[0] == "kept" for words in zygote.rest())
        with open_logbook(place, create=False) as logbook:
            assert_one_of_two_states(logbook)
    assert done >= 5
