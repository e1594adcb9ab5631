"""Sheets are worked out again from the original files, and what changed is listed."""

import json
import re
import sqlite3

import pytest
from ownmark.cli.main import main
from ownmark.errors import DamagedFile, LogbookDamaged
from ownmark.records import MeasuredRate, open_logbook
from ownmark.records.recompute import new_sheet, recompute

from tests.makers.sheets import altered, with_figure
from tests.records.store import made


@pytest.fixture
def one(logbook):
    """A trial with a file and its true sheet."""
    logbook.add_student(made.student())
    logbook.add_protocol(made.protocol())
    trial = logbook.add_trial(made.trial(work="01:00-08:20", recovery="08:20-09:50"), [("s.csv", made.recording())])
    logbook.replace_sheet(trial.id, new_sheet(logbook, trial))
    logbook.add_trial(made.trial(time_of_day="11:00"))  # by hand: passed over
    return logbook.trial(trial.id)


def test_nothing_changes_where_nothing_changed(logbook, one):
    (done,) = recompute(logbook)
    assert (done.trial_id, done.changed, done.stored, done.refused) == (one.id, (), False, None)
    assert logbook.trial(one.id) == one


def made_by(version, sheet):
    """The sheet as another version of ownmark would have made it."""
    return altered(sheet, lambda page: page["provenance"].update(ownmark=version))


def test_the_sheet_holds_the_mean_of_the_file(one):
    # The mean of the table's own rows from 60 s to 499 s, by plain division.
    rows = [line.split(",") for line in made.recording().decode().splitlines()[1:]]
    values = [int(bpm) for second, bpm in rows if 60 <= int(second) < 500]
    assert one.sheet.figures["heart_rate_mean"].value == pytest.approx(sum(values) / len(values), abs=1e-9)
    assert one.sheet.provenance.basis.rest_bpm == 72


def test_a_figure_that_changed_is_listed_and_stored(logbook, one):
    truth = one.sheet.figures["heart_rate_mean"].value
    old = made_by("0.0.1", with_figure(one.sheet, "heart_rate_mean", value=99.0))
    logbook.replace_sheet(one.id, old)
    assert logbook.trial(one.id).computed_by == "0.0.1"
    (only_told,) = recompute(logbook, store=False)
    assert not only_told.stored
    assert logbook.trial(one.id).sheet == old
    (done,) = recompute(logbook)
    assert [(each.name, each.before, each.after) for each in done.changed] == [("heart_rate_mean", 99.0, truth)]
    assert done.stored
    assert logbook.trial(one.id) == one


def test_a_new_version_is_stored_even_without_a_change(logbook, one):
    old = made_by("0.0.1", one.sheet)
    logbook.replace_sheet(one.id, old)
    (done,) = recompute(logbook)
    assert (done.changed, done.stored) == ((), True)
    assert logbook.trial(one.id).computed_by == one.computed_by


def test_a_rest_measured_later_changes_no_old_trial(logbook, one):
    made.bare_edit(logbook, "TH-11", rests=(*made.student().rests, MeasuredRate(bpm=60, on=one.on.replace(day=28))))
    assert next(recompute(logbook)).changed == ()
    made.bare_edit(logbook, "TH-11", rests=(MeasuredRate(bpm=60, on=made.student().rests[0].on),))
    assert "heart_rate_rise" in {each.name for each in next(recompute(logbook)).changed}


def test_a_file_that_cannot_be_read_keeps_the_old_sheet_and_stops_no_other(logbook, one):
    broken = logbook.add_trial(made.trial(on=one.on.replace(day=7)), [("s.csv", b"\x00\x01" * 50)])
    logbook.replace_sheet(broken.id, one.sheet)
    more = logbook.add_trial(made.trial(on=one.on.replace(day=8)), [("other.csv", made.recording(5))])
    _, first, second = recompute(logbook)
    assert first.refused is not None
    assert first.refused.code.startswith(("unknown_format", DamagedFile.code))
    assert (second.trial_id, second.stored) == (more.id, True)
    assert logbook.trial(broken.id).sheet == one.sheet


def test_an_original_that_changed_on_the_disk_is_never_measured(logbook, one):
    with logbook.writing() as connection:
        connection.exec_driver_sql("UPDATE originals SET size = size + 1")
    (done,) = recompute(logbook)
    assert isinstance(done.refused, LogbookDamaged)
    assert str(done.refused).count("s.csv")


def spoiled(place, number):
    """Change a byte of the recording that a trial keeps, as a failing disk would."""
    with sqlite3.connect(place) as raw:
        (sha256,) = raw.execute("SELECT sha256 FROM files WHERE trial_id = ?", (number,)).fetchone()
        (data,) = raw.execute("SELECT data FROM originals WHERE sha256 = ?", (sha256,)).fetchone()
        raw.execute("UPDATE originals SET data = ? WHERE sha256 = ?", (data[:-9] + b"!" + data[-8:], sha256))
    raw.close()


@pytest.mark.parametrize("rest", [72, 90])
def test_a_change_that_rests_on_a_damaged_recording_is_told_and_no_success(tmp_path, capsys, rest):
    place = str(tmp_path / "logbook.db")
    with open_logbook(place) as logbook:
        made.filled(logbook, codes=("TH-11", "BF-07"))
        # A new rest, so that the re-test is worked out again from its recording.
        made.bare_edit(logbook, "TH-11", rests=[{"bpm": rest, "on": "2026-09-11"}])
    words = ["change", "TH-11", "--retest-from", "2026-09-11", "--logbook", place]
    assert main(words) == 0
    assert "has changed on the disk" not in capsys.readouterr().out
    spoiled(place, 2)
    assert main(words) == 1
    told = " ".join(capsys.readouterr().out.split())
    assert re.search(r"A recording of the trial on [^.]*\b11\b[^.]*2026[^.]* has changed on the disk", told)
    assert main([*words, "--json"]) == 1
    assert json.loads(capsys.readouterr().out)["damaged"] == [2]
    assert main([*words, "--lang", "es", "--html", "--out", str(tmp_path)]) == 1
    told = capsys.readouterr()
    assert told.err == "A kept recording has changed on the disk (trial 2): restore the latest backup.\n"
    (page,) = tmp_path.glob("*.html")
    assert "ha cambiado en el disco" in page.read_text()
    assert main(["change", "BF-07", "--retest-from", "2026-09-11", "--logbook", place]) == 0
    spoiled(place, 1)
    capsys.readouterr()
    assert main([*words, "--json"]) == 1
    assert json.loads(capsys.readouterr().out)["damaged"] == [1, 2]
