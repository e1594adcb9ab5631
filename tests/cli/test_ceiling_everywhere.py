"""After another ceiling was written down every page and export counts against it, and none against the one before."""

import csv
import json
from pathlib import Path

import numpy as np
import pytest
from ownmark.cli.main import main
from ownmark.records import Trial, open_logbook
from ownmark.records.adding import keep

from tests.records.store import made

ABOVE_S = {"2026-10-06": 409, "2026-10-13": 207}
"""So long heart rate stands at 129 to 133 /min in each trial; elsewhere it is below 112 /min."""


@pytest.fixture(scope="module")
def book(tmp_path_factory):
    """Two trials under a ceiling of 145 /min that nothing passed, and then one of 125 /min."""
    folder = tmp_path_factory.mktemp("ceiling")
    place = str(folder / "book.db")
    with open_logbook(place) as logbook:
        logbook.add_protocol(made.protocol(primary_figure="time_above_ceiling"))
        logbook.add_student(made.student(ceilings=({"bpm": 145, "set_by": "therapist"},)))
        for day, above_s in ABOVE_S.items():
            bpm = np.full(900, 110) + np.arange(900) * 7 // 3 % 5 - 2
            bpm[300 : 300 + above_s] += 21
            path = folder / f"{day}.csv"
            rows = "".join(f"{second},{each}\n" for second, each in enumerate(bpm))
            path.write_text(f"time_s,heart_rate\n{rows}")
            fields = {"code": "TH-11", "protocol": "slalom-gym", "protocol_version": 1, "on": day}
            keep(logbook, Trial(**fields, work="05:00-13:00"), [path])
    return place


@pytest.fixture(scope="module")
def edited(book):
    assert [shown(book, name) for name in ("csv", "json", "fhir")] == [[0.0, 0.0]] * 3
    assert main(["student", "edit", "TH-11", "--ceiling", "125", "--set-by", "nurse", "--logbook", book]) == 0
    return book


def shown(place, form):
    """The time above the ceiling of each trial, as an export tells it [s]."""
    path = Path(f"{place}.{form}")
    assert main(["export", form, "--out", str(path), "--replace", "--logbook", place]) == 0
    text = path.read_text(encoding="utf-8")
    if form == "csv":
        return [float(row["time_above_ceiling [s]"]) for row in csv.DictReader(text.splitlines())]
    if form == "json":
        return [row["figures"]["time_above_ceiling"]["value"] for row in json.loads(text)["trials"]]
    return [
        each["valueQuantity"]["value"]
        for each in objects([json.loads(line) for line in text.splitlines()])
        if str(each.get("id", "")).endswith("-time-above-ceiling")
    ]


def objects(found):
    """Every object in JSON values."""
    inside = found.values() if isinstance(found, dict) else found if isinstance(found, list) else ()
    return [*([found] if isinstance(found, dict) else []), *(each for one in inside for each in objects(one))]


@pytest.mark.parametrize("form", ["csv", "json", "fhir"])
def test_an_export_counts_anew(edited, form):
    assert shown(edited, form) == list(map(float, ABOVE_S.values()))


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["sheet", "TH-11", "--trial", "1"], ["409 s", "125 /min"]),
        (["safety", "TH-11", "--trial", "1"], ["409 s", "125 /min"]),
        (["safety", "TH-11"], ["207 s", "125 /min"]),
        (["safety", "--class"], ["409 s", "207 s", "125 /min"]),
        (["class", "page", "--text"], ["TH-11: ceiling", "Heart rate was above the ceiling"]),
        (["card", "TH-11", "--text"], ["125 /min"]),
        (["district", "--text"], ["409", "207"]),
        (["change", "TH-11"], ["409 s", "207 s"]),
        (["trial", "show", "1"], ["409 s"]),
    ],
)
def test_a_page_counts_anew(edited, capsys, words, told):
    capsys.readouterr()
    assert main([*words, "--logbook", edited]) == 0
    page = " ".join(capsys.readouterr().out.split())
    assert [each for each in told if each not in page] == []
    assert "145" not in page
