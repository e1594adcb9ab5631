"""Logbooks and backups of the first version are brought up to date, and nothing of them is lost."""

import json
import os
import random
import signal
import sqlite3
import time
from contextlib import suppress
from pathlib import Path

import pytest
from ownmark.errors import LogbookDamaged, LogbookNewer, LogbookReadOnly
from ownmark.metrics import EffortSheet
from ownmark.records import back_up, figures_of, open_logbook, restore
from ownmark.records.judging import judge_all
from ownmark.records.store.version import SCHEMA
from ownmark.words.vocabulary import CEILING_FIGURES
from sqlalchemy import inspect

from tests.records.store import first_version
from tests.records.store.test_backup import everything

VERDICT = ("within day-to-day variation", 5.196635235184274, 15.032629160282282)
"""Of the re-test, as the version that made the logbook gave it: change and detectable change [/min]."""


@pytest.fixture
def truth(tmp_path):
    return first_version.rows_of(first_version.file(tmp_path / "truth.db"))


@pytest.fixture
def old(place, tmp_path):
    """A place with a logbook of the first version."""
    first_version.put(place, tmp_path)
    return place


def judged(logbook):
    found = dict(judge_all(logbook, "slalom-gym"))["TH-11"]
    return found.verdict, found.change, found.detectable_change


def but_for_the_ceiling(text):
    """A sheet without what it counts above the ceiling, which is that of today since then."""
    page = json.loads(EffortSheet.from_json(text).to_json())
    page["figures"] = {name: each for name, each in page["figures"].items() if name not in CEILING_FIGURES}
    counted = ("above_ceiling", "possible_crossings", "recording_unmeasured", "ceiling_bpm")
    page["provenance"] = {name: each for name, each in page["provenance"].items() if name not in counted}
    return page


def figures_but_for_the_ceiling(logbook):
    return sorted((row.trial_id, *row[5:]) for row in figures_of(logbook) if row.name not in CEILING_FIGURES)


def truth_but_for_the_ceiling(truth):
    return [row[:-1] for row in truth["figures"] if row[1] not in CEILING_FIGURES]


def test_every_sheet_counts_against_the_ceiling_of_today(old):
    # A therapist set 115 /min on 2026-09-01; the baselines of 2025 were worked out without a ceiling.
    with open_logbook(old, create=False) as logbook:
        for trial in logbook.trials():
            now = logbook.student(trial.code).ceiling
            assert trial.sheet.provenance.ceiling_bpm == (None if now is None else now.bpm)
            for crossing in trial.sheet.provenance.above_ceiling:
                assert now is not None, crossing
        assert logbook.trial(1).sheet.figures["time_above_ceiling"].value > 0


def test_every_figure_sheet_and_recording_is_there_afterwards(old, truth):
    with open_logbook(old, create=False) as logbook:
        with logbook.reading() as connection:
            assert first_version.version(connection) == SCHEMA
            assert not inspect(connection).has_table("figures")
        sheets = {row[0]: row[1] for row in truth["sheets"]}
        kept = first_version.kept_sheets(logbook)
        assert {number: but_for_the_ceiling(text) for number, text in kept.items()} == {
            number: but_for_the_ceiling(text) for number, text in sheets.items()
        }
        assert {each.id: each.sheet for each in logbook.trials()} == {
            number: EffortSheet.from_json(text) for number, text in kept.items()
        }
        assert figures_but_for_the_ceiling(logbook) == truth_but_for_the_ceiling(truth)
        assert len(list(figures_of(logbook))) == 180
        kept_then = [{**json.loads(row[1]), "answers": []} for row in truth["students"]]
        assert [each.model_dump(mode="json") for each in logbook.students()] == kept_then
        assert logbook.student("TH-11").notes == "moved to group 2"
        for sha256, size, _, _ in truth["originals"]:
            assert len(logbook.original(sha256)) == size
        counts = {name: len(truth[name]) for name in ("students", "protocols", "trials", "figures", "originals")}
        assert logbook.count() == counts


def test_the_verdict_on_the_change_is_the_same(old):
    with open_logbook(old) as logbook:
        verdict, change, detectable = judged(logbook)
    assert (verdict, change, detectable) == (VERDICT[0], pytest.approx(VERDICT[1]), pytest.approx(VERDICT[2]))


def test_a_backup_of_the_first_version_is_restored_to_the_same(old, another_place, tmp_path):
    with open_logbook(old) as logbook, open_logbook(another_place) as second:
        restore(second, first_version.BACKUP)
        assert everything(second) == everything(logbook)
        assert first_version.kept_sheets(second) == first_version.kept_sheets(logbook)
        assert judged(second) == judged(logbook)
        back_up(second, tmp_path / "again.zip")
    with open_logbook(tmp_path / "third.db") as third:
        assert restore(third, tmp_path / "again.zip").counts["sheets"] == 5


def test_a_lost_sheet_stops_it_and_leaves_the_figures_where_they_are(tmp_path):
    path = first_version.file(tmp_path / "logbook.db")
    raw = sqlite3.connect(path)
    raw.execute("DELETE FROM sheets WHERE trial_id = 3")
    raw.commit()
    raw.close()
    before = path.read_bytes()
    with pytest.raises(LogbookDamaged, match="the sheet of trial 3"):
        open_logbook(path)
    assert path.read_bytes() == before


def test_a_version_of_tomorrow_is_refused_as_it_is(tmp_path):
    path = first_version.file(tmp_path / "logbook.db")
    raw = sqlite3.connect(path)
    raw.execute("UPDATE ownmark_version SET version_num = ?", [f"{int(SCHEMA) + 1:04d}"])
    raw.commit()
    raw.close()
    before = path.read_bytes()
    with pytest.raises(LogbookNewer):
        open_logbook(path)
    assert path.read_bytes() == before


def test_a_file_that_may_only_be_read_is_refused_as_it_is(tmp_path, monkeypatch):
    path = first_version.file(tmp_path / "logbook.db")
    before = path.read_bytes()
    whole = sqlite3.connect  # root may write everywhere: the connection itself is made one that only reads
    monkeypatch.setattr(sqlite3, "connect", lambda place, **more: whole(place.replace("mode=rw", "mode=ro"), **more))
    with pytest.raises(LogbookReadOnly):
        open_logbook(path)
    assert path.read_bytes() == before


def test_it_is_whole_or_as_it_was_whenever_the_program_is_killed(tmp_path, truth, zygote):
    draw, seen = random.Random(31), set()
    for turn in range(12):
        path = first_version.file(tmp_path / f"{turn}.db")
        writer = zygote.begin("open", str(path))
        time.sleep(draw.random() * 0.12)
        with suppress(ProcessLookupError):  # it may have ended by itself
            os.kill(writer, signal.SIGKILL)
        zygote.rest()
        seen.add(_version_and_whole(path, truth))
    assert seen <= {"0001", SCHEMA}


def _version_and_whole(path: Path, truth):
    """Which version a file is of after the kill: it holds the old table only if it is of the first, and it opens."""
    raw = sqlite3.connect(path)
    try:
        assert raw.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
        assert raw.execute("PRAGMA foreign_key_check").fetchall() == []
        found = raw.execute("SELECT version_num FROM ownmark_version").fetchone()[0]
        tables = {row[0] for row in raw.execute("SELECT name FROM sqlite_master WHERE type = 'table'")}
    finally:
        raw.close()
    assert ("figures" in tables) == (found == "0001")
    with open_logbook(path, create=False) as logbook:
        assert figures_but_for_the_ceiling(logbook) == truth_but_for_the_ceiling(truth)
    return found
