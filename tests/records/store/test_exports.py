"""Exports and pages read the same from either database."""

import csv
import json

from ownmark.records import open_logbook
from ownmark.reports.exports import FORMATS, export

from tests.records.store import made

TEXTS = [form for form in FORMATS if form not in ("xlsx", "parquet")]


def test_every_form_is_the_same_from_either_database(logbook, tmp_path):
    with open_logbook(tmp_path / "other.db") as sqlite:
        made.filled(sqlite)
        whole = {form: _exported(sqlite, form, tmp_path / "sqlite") for form in TEXTS}
    made.filled(logbook)
    assert {form: _exported(logbook, form, tmp_path / "here") for form in whole} == whole
    rows = list(csv.DictReader(whole["csv"][0].splitlines()))
    assert [row["code"] for row in rows] == ["TH-11", "BF-07", "TH-11", "BF-07"]
    assert len(json.loads(whole["json"][0])["trials"]) == 4


def _exported(logbook, form, folder):
    """The text of each file of a form."""
    folder.mkdir(exist_ok=True)
    found = export(logbook, form, folder / f"out.{form}", change=True)
    return [each.read_text(encoding="utf-8") for each in found.files]
