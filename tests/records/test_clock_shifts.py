"""A strap whose clock is off is put right, written down, and the true time stands wherever a time stands."""

import json
from datetime import date, datetime, timedelta

import numpy as np
import pytest
from ownmark.errors import NotATrial, NotConfirmed, NotOneTrial, UsageError
from ownmark.records import back_up, disclose, open_logbook, restore
from ownmark.records.class_day import add_class
from ownmark.records.class_table import read_class
from ownmark.records.mending import Edit, edit_trial
from ownmark.records.recompute import recompute
from ownmark.records.store.history import history_of
from ownmark.reports.exports.fhir_observations import work_period
from ownmark.reports.exports.rows import Record

from tests.records.store import made
from tests.records.test_shared_files import FIRST, SECOND, added
from tests.records.test_shared_files import school as two_students
from tests.reports.sheets_made import with_sheet

school = two_students
AT = datetime.fromisoformat("2026-10-06T08:00:00")
CLOCK = {"rest_phase": "@9:00:30-@9:05", "work": "@9:05-@9:12", "recovery": "@9:12-@9:14:30"}
HOUR = {"strap.csv": 3600.0}


def dated(folder, name, hearts, at=AT, zone=""):
    """A table that states the wall clock of each second."""
    rows = "".join(f"{(at + timedelta(seconds=n)).isoformat()}{zone},{bpm}\n" for n, bpm in enumerate(hearts))
    path = folder / name
    path.write_text(f"time,heart_rate\n{rows}")
    return path


def shift_notes(trial):
    return [note["shift"].text for note in trial.sheet.provenance.notes if note.code == "placed.shifted"]


def test_a_strap_an_hour_behind_is_added_by_the_wall_clock_and_told(school, tmp_path):
    strap = dated(tmp_path, "strap.csv", FIRST)
    kept = added(school, "TH-11", strap, **CLOCK, clock_shifts=HOUR)
    sheet = kept.sheet
    assert sheet.provenance.start == "2026-10-06T09:00:00"
    assert sheet.provenance.phases.work == (300.0, 720.0)
    assert shift_notes(kept.trial) == ["+1:00:00"]
    assert sheet.figures["heart_rate_mean"].value == pytest.approx(np.mean(FIRST[300:720]), abs=0.01)
    assert school.trial(1).clock_shifts == HOUR
    assert [each.path for each in sheet.provenance.files] == ["table-0900"]  # its name holds the true time
    assert not any(each.changed or each.refused for each in recompute(school))


def test_an_excerpt_keeps_the_file_s_own_clock_and_is_shifted_once(school, tmp_path):
    strap = dated(tmp_path, "strap.csv", np.r_[FIRST, SECOND, SECOND])
    kept = added(school, "TH-11", strap, **CLOCK, clock_shifts=HOUR)
    assert kept.trial.files[0].part_s is not None
    assert kept.trial.files[0].of is not None
    again = list(recompute(school))
    assert [(each.changed, each.refused) for each in again] == [((), None)]
    assert school.trial(1).sheet.provenance.start == "2026-10-06T09:00:00"
    assert shift_notes(school.trial(1)) == ["+1:00:00"]


def test_another_day_by_a_shift_is_the_trial_s_day(school, tmp_path):
    strap = dated(tmp_path, "strap.csv", FIRST, AT - timedelta(days=3000, hours=-1))
    with pytest.raises(NotConfirmed):
        added(school, "TH-11", strap, **CLOCK)
    kept = added(school, "TH-11", strap, **CLOCK, clock_shifts={"strap.csv": 3000 * 86400.0})
    assert kept.sheet.provenance.start == "2026-10-06T09:00:00"


def test_a_file_without_a_clock_is_refused(school, tmp_path):
    path = tmp_path / "strap.csv"
    path.write_text("time_s,heart_rate\n" + "".join(f"{n},{bpm}\n" for n, bpm in enumerate(FIRST)))
    with pytest.raises(NotOneTrial, match=r"strap\.csv: it states no time of day.*--offset"):
        added(school, "TH-11", path, work="05:00-12:00", clock_shifts=HOUR)
    assert school.count()["trials"] == 0


def test_an_edit_puts_a_clock_right_takes_it_back_and_leaves_history(school, tmp_path):
    strap = dated(tmp_path, "strap.csv", FIRST)
    added(school, "TH-11", strap, work="05:00-12:00", rest_phase="00:30-05:00")
    before = school.trial(1)
    done = edit_trial(school, 1, Edit(clock_shifts=("+1:00:00",)), why="battery", today=made.DAY)
    assert done.fields == ("clock_shifts",)
    assert done.trial.clock_shifts == HOUR
    assert done.trial.sheet.provenance.start == "2026-10-06T09:00:00"
    assert done.trial.sheet.figures == before.sheet.figures
    (change,) = history_of(school, "trial", 1)
    assert (change.before, change.why) == ({"clock_shifts": {}}, "battery")
    same = edit_trial(school, 1, Edit(clock_shifts=("strap.csv=+3600",)), today=made.DAY)
    assert same.fields == ()
    back = edit_trial(school, 1, Edit(clock_shifts=("none",)), today=made.DAY)
    assert (back.trial.clock_shifts, back.trial.sheet.provenance.start) == ({}, "2026-10-06T08:00:00")
    assert back.trial.sheet.figures == before.sheet.figures
    assert history_of(school, "trial", 1)[1].before == {"clock_shifts": HOUR}
    for wrong in ("3600", "+1:00", "other.csv=+3600"):
        with pytest.raises(UsageError):
            edit_trial(school, 1, Edit(clock_shifts=(wrong,)), today=made.DAY)
    assert school.trial(1) == back.trial


def test_an_edit_that_would_need_what_is_not_kept_asks_for_the_whole_file(school, tmp_path):
    strap = dated(tmp_path, "strap.csv", np.r_[SECOND, SECOND, SECOND, SECOND, FIRST])  # from 8:00; FIRST at 9:00
    early = {name: text.replace("@9", "@8") for name, text in CLOCK.items()}
    added(school, "TH-11", strap, **early)
    assert school.trial(1).sheet.figures["heart_rate_mean"].value == pytest.approx(171, abs=0.5)
    back = Edit(clock_shifts=("-1:00:00",))  # its clock ran an hour ahead: at 8:00 it showed 9:00
    with pytest.raises(NotATrial, match=r"08:00:30 to 08:14:30.*only .* is kept.*--add-file strap\.csv") as refusal:
        edit_trial(school, 1, back, today=made.DAY)
    assert "take 08:00:30 to 08:14:30 (3630 s to 4470 s from its start), and of strap.csv only" in str(refusal.value)
    done = edit_trial(school, 1, Edit(clock_shifts=("strap.csv=-1:00:00",), add=(strap,)), today=made.DAY)
    assert done.trial.sheet.figures["heart_rate_mean"].value == pytest.approx(127, abs=0.5)


def test_files_that_were_laid_by_what_they_saw_are_given_again_beside_another_clock(school, tmp_path, monkeypatch):
    from ownmark.ingest.recording import Placing
    from ownmark.records import mending

    strap = dated(tmp_path, "strap.csv", FIRST)
    added(school, "TH-11", strap, work="05:00-12:00")
    other = dated(tmp_path, "other.csv", SECOND)
    edit_trial(school, 1, Edit(add=(other,)), today=made.DAY)
    read = mending.files_of

    def seen(trial, originals):
        from dataclasses import replace

        found = read(trial, originals)
        laid = (Placing("table-0800", 0.0, "taps"),)
        return replace(found, recordings=tuple(replace(each, placings=laid) for each in found.recordings))

    monkeypatch.setattr(mending, "files_of", seen)
    with pytest.raises(NotATrial, match=r"--add-file strap\.csv --add-file other\.csv"):
        edit_trial(school, 1, Edit(clock_shifts=("strap.csv=+5",)), today=made.DAY)


def test_of_two_files_the_one_that_is_named_is_moved(school, tmp_path):
    strap, other = dated(tmp_path, "strap.csv", FIRST), dated(tmp_path, "other.csv", SECOND, AT + timedelta(hours=1))
    added(school, "TH-11", other, **CLOCK)
    with pytest.raises(UsageError, match="which file"):
        edit_trial(school, 1, Edit(clock_shifts=("+1:00:00",), add=(strap,)), today=made.DAY)
    done = edit_trial(school, 1, Edit(clock_shifts=("strap.csv=+1:00:00",), add=(strap,)), today=made.DAY)
    assert done.trial.clock_shifts == HOUR
    assert [each.offset_s for each in done.trial.sheet.provenance.clocks] == [0.0, 0.0]
    out = edit_trial(school, 1, Edit(take_out=("strap.csv",)), today=made.DAY)
    assert out.trial.clock_shifts == {}


def rows(logbook, folder, *lines, correct=False):
    table = folder / "day.csv"
    table.write_text("code,protocol,files,work,clock_shift\n" + "\n".join(lines) + "\n")
    return [
        (each.state, each.sentence, each.kept)
        for each in add_class(logbook, read_class(table), day=None, today=date(2026, 10, 6), correct=correct)
    ]


def test_the_column_of_a_class_table_adds_and_corrects(school, tmp_path):
    dated(tmp_path, "strap.csv", FIRST)
    ((state, _, kept),) = rows(school, tmp_path, "TH-11,slalom-gym,strap.csv,@9:05-@9:12,+1:00:00")
    assert (state, kept.trial.clock_shifts) == ("added", HOUR)
    ((state, told, _),) = rows(school, tmp_path, "TH-11,slalom-gym,strap.csv,@9:05-@9:12,+1:00:00")
    assert (state, "otherwise" in told) == ("there already", False)
    ((state, told, _),) = rows(school, tmp_path, "TH-11,slalom-gym,strap.csv,@9:05-@9:12,strap.csv=+1:00:10")
    assert state == "there already"
    assert "clock shifts strap.csv +1:00:10 (kept: strap.csv +1:00:00)" in told
    ((state, _, _),) = rows(school, tmp_path, "TH-11,slalom-gym,strap.csv,@9:05-@9:12,+1:00:10", correct=True)
    assert state == "corrected"
    assert school.trial(1).clock_shifts == {"strap.csv": 3610.0}
    assert school.trial(1).sheet.provenance.phases.work == (290.0, 710.0)
    ((state, told, _),) = rows(school, tmp_path, "BF-07,slalom-gym,strap.csv,@9:05-@9:12,1:00:00")
    assert (state, "does not say how far a clock was off" in told) == ("refused", True)


def test_fhir_states_the_true_instant(school, tmp_path):
    strap = dated(tmp_path, "strap.csv", FIRST, zone="-06:00")
    kept = added(school, "TH-11", strap, **CLOCK, clock_shifts=HOUR)
    period = work_period(Record(kept.trial, made.protocol()))
    assert period == {"start": "2026-10-06T09:05:00.000-06:00", "end": "2026-10-06T09:12:00.000-06:00"}


@pytest.mark.parametrize("utc_on_the_sheet", [False, True])
def test_fhir_keeps_the_period_of_a_morning_that_is_the_day_before_in_utc(school, tmp_path, utc_on_the_sheet):
    """In Sydney, 11 hours ahead of UTC; a sheet of before has its start in UTC."""
    night = datetime.fromisoformat("2026-10-05T22:00:00")
    strap = dated(tmp_path, "strap.csv", FIRST, at=night, zone="+00:00")
    trial = added(school, "TH-11", strap, **CLOCK, zone="Australia/Sydney").trial
    assert (str(trial.on), trial.sheet.provenance.start) == ("2026-10-06", "2026-10-06T09:00:00+11:00")
    if utc_on_the_sheet:
        trial = with_sheet(trial, start="2026-10-05T22:00:00+00:00")
    period = work_period(Record(trial, made.protocol()))
    assert period == {"start": "2026-10-06T09:05:00.000+11:00", "end": "2026-10-06T09:12:00.000+11:00"}


def test_a_backup_keeps_it_and_without_recordings_no_file_is_named(school, tmp_path, another_place):
    strap = dated(tmp_path, "strap-of-ann.csv", FIRST)
    added(school, "TH-11", strap, **CLOCK, clock_shifts={"strap-of-ann.csv": 3600.0})
    edit_trial(school, 1, Edit(clock_shifts=("+1:00:01",)), today=made.DAY)
    back_up(school, tmp_path / "all.zip")
    with open_logbook(another_place) as other:
        restore(other, tmp_path / "all.zip")
        assert other.trial(1) == school.trial(1)
        assert other.trial(1).clock_shifts == {"strap-of-ann.csv": 3601.0}
        assert not any(each.changed or each.refused for each in recompute(other))
    back_up(school, tmp_path / "bare.zip", with_originals=False)
    import zipfile

    with zipfile.ZipFile(tmp_path / "bare.zip") as archive:
        assert not any(b"of-ann" in archive.read(name) for name in archive.namelist())
    written = disclose(school, "TH-11", tmp_path / "record")
    page = json.loads(next(each for each in written if each.name == "trial.json").read_text())
    assert list(page["clock_shifts"].values()) == [3601.0]
    assert not any(b"of-ann" in each.read_bytes() for each in written)


@pytest.mark.parametrize("step", ["replace_trial", "remember"])
def test_what_stops_in_the_middle_of_an_edit_or_a_correction_leaves_the_state_before(
    school, tmp_path, monkeypatch, step
):
    from ownmark.records import mending

    dated(tmp_path, "strap.csv", FIRST)
    row = "TH-11,slalom-gym,strap.csv,@9:05-@9:12,"
    rows(school, tmp_path, row + "+1:00:00")
    before, counted = school.trial(1), school.count()
    done = getattr(mending, step)

    def stops(*words):
        done(*words)
        raise KeyboardInterrupt

    with monkeypatch.context() as patched:
        patched.setattr(mending, step, stops)
        with pytest.raises(KeyboardInterrupt):
            edit_trial(school, 1, Edit(clock_shifts=("+1:00:10",)), today=made.DAY)
        with pytest.raises(KeyboardInterrupt):
            rows(school, tmp_path, row + "+1:00:10", correct=True)
    assert (school.trial(1), school.count(), history_of(school, "trial", 1)) == (before, counted, ())
    assert rows(school, tmp_path, row + "+1:00:10", correct=True)[0][0] == "corrected"
