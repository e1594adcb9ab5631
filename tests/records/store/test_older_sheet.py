"""A sheet that was kept when its reasons, notes and cautions were sentences: read, shown, restored and made again.

``older_sheet.json`` is what ownmark's version of then kept of the trial below.
"""

import json
from pathlib import Path

import pytest
from ownmark.cli.main import main
from ownmark.metrics import EffortSheet
from ownmark.metrics.figure import SCHEMA
from ownmark.metrics.older_sheets import OLDER
from ownmark.records import back_up, figures_of, open_logbook, restore
from ownmark.records.recompute import new_sheet, recompute
from ownmark.records.store.seals import sealed
from ownmark.records.store.tables import sheets
from ownmark.reports.words import Words
from ownmark.words.message import Message
from sqlalchemy import select

from tests.makers.sheets import texts
from tests.records.store import made

TEXT = Path(__file__).with_name("older_sheet.json").read_text(encoding="utf-8")
OLD = json.loads(TEXT)


def keep(logbook, text):
    """A logbook with one trial whose sheet is this text, as the database holds it."""
    ceiling = {"bpm": 115, "set_by": "therapist", "set_on": "2026-09-01"}
    logbook.add_protocol(made.protocol())
    logbook.add_student(made.student(ceilings=(ceiling,), conditions=("epilepsy",)))
    trial = made.trial(work="01:00-08:20", recovery="08:20-09:50", sheet=EffortSheet.from_json(text))
    logbook.add_trial(trial, [("s.csv", made.recording())])
    put(logbook, text)


def put(logbook, text):
    """The trial's sheet becomes this text, under a seal that fits."""
    names = [column.name for column in sheets.columns]
    with logbook.writing() as connection:
        connection.execute(sheets.update().values(dict(zip(names, sealed(1, text), strict=True))))


def kept_text(logbook):
    with logbook.reading() as connection:
        return connection.execute(select(sheets)).one()[1]


@pytest.fixture
def place(tmp_path):
    with open_logbook(tmp_path / "logbook.db") as logbook:
        keep(logbook, TEXT)
    return str(tmp_path / "logbook.db")


def test_its_sentences_are_read_as_messages_and_nothing_is_lost(place):
    assert OLD["schema"] == OLDER
    with open_logbook(place) as logbook:
        sheet = logbook.trial(1).sheet
        assert [row[1:] for row in figures_of_trial(logbook)] == [
            tuple(
                figure[key] for key in ("name", "value", "unit", "low", "high", "coverage", "basis", "source", "note")
            )
            for figure in OLD["figures"].values()
        ]
    assert sheet.schema_ == SCHEMA
    assert texts(sheet.cautions) == tuple(OLD["cautions"])
    assert list(sheet.figures) == list(OLD["figures"])
    for name, figure in sheet.figures.items():
        assert {key: getattr(figure, key) for key in OLD["figures"][name]} == OLD["figures"][name]
        assert (figure.reason is None) == (figure.value is not None)
        assert not (figure.reason and figure.notes)
    assert sheet.figures["cost_index"].reason == Message.english("Not given: no distance is known (--distance).")
    assert sheet.figures["heart_rate_peak"].notes == (Message.english("highest 15 s mean"),)
    page = json.loads(sheet.to_json())
    assert page["schema"] == SCHEMA
    assert EffortSheet.from_page(page) == sheet


def figures_of_trial(logbook):
    return [(row.trial_id, *row[5:]) for row in figures_of(logbook)]


def test_it_is_shown_in_words_and_on_pages_in_both_languages(place, tmp_path, capsys):
    told = {}
    for words in (
        ("trial", "show", "1"),
        ("trial", "show", "1", "--json"),
        ("safety", "TH-11"),
        ("sheet", "TH-11", "--html", "--out", str(tmp_path / "en")),
        ("sheet", "TH-11", "--lang", "es", "--html", "--out", str(tmp_path / "es")),
    ):
        assert main([*words, "--logbook", place]) == 0, words
        told[words] = capsys.readouterr().out
    shown = " ".join(told["trial", "show", "1"].split())
    assert "98 /min" in shown
    assert "highest 15 s mean" in shown
    assert f"- {Words('en').said(OLD['cautions'][-1])}" in shown  # in today's words
    assert json.loads(told["trial", "show", "1", "--json"])["sheet"]["schema"] == SCHEMA
    assert "Above 115 /min for 2:44 in all, first at 0:36." in told["safety", "TH-11"]
    (english,), (spanish,) = ((tmp_path / each).glob("*.html") for each in ("en", "es"))
    assert "compare only trials that end at a like rate" in english.read_text(encoding="utf-8")
    assert "por debajo de 106,8" in spanish.read_text(encoding="utf-8")


def test_it_is_restored_as_it_was_kept(place, tmp_path):
    with open_logbook(place) as logbook, open_logbook(tmp_path / "new.db") as new:
        back_up(logbook, tmp_path / "backup.zip")
        restore(new, tmp_path / "backup.zip")
        assert kept_text(new) == TEXT
        assert new.trial(1) == logbook.trial(1)
        assert figures_of_trial(new) == figures_of_trial(logbook)


def test_it_is_made_again_in_today_s_schema(place):
    with open_logbook(place) as logbook:
        again = new_sheet(logbook, logbook.trial(1))
        mean = {**OLD["figures"]["heart_rate_mean"], "low": 9.0}
        put(logbook, json.dumps({**OLD, "figures": {**OLD["figures"], "heart_rate_mean": mean}}))
        (done,) = recompute(logbook)
        assert done.stored
        assert "heart_rate_mean" in {each.name for each in done.changed}
        assert logbook.trial(1).sheet == again
        assert json.loads(kept_text(logbook))["schema"] == SCHEMA
