"""A logbook whose trials hold what exports stumble over."""

from datetime import date

import pytest
from ownmark.records import HandMeasure, HandResult, Stop, open_logbook
from ownmark.words.message import Message

from tests.records.store import made

from ..sheets_made import FRAME, changed

CHAIR = "the chair moving: floor, speed and motor, not the student's effort"
"""As older sheets have it."""

REACH = HandMeasure(name="reach", unit="cm", kind="range by ruler", sides=True, attempts=2, how="From the fingertips.")
LENGTHS = HandMeasure(name="lengths", unit="lengths", kind="count", sides=False, attempts=1, how="Count them.")
TYPED = (
    "=cmd|' /C calc'!A0",
    "+1",
    "-1",
    "@SUM(A1)",
    "\t=1+1",
    "\r\n=2",
    " =1",
    "'=already quoted",
    "''",
    "'",
    "＝1+1",
    'a "quoted", comma\r\nand a second line',
    "<r>markup</r>",
    "_x0041_ and & < > \u0007",
    "שלום → 🦽 ñ",
    "",
    "NULL",
    "0",
)
"""Notes as somebody could type them."""


def shaped(number):
    """A sheet whose numbers need all their digits, with bounds apart, a negative one, a 0 and some that are missing."""
    sheet = made.sheet(number % 3)
    figures, provenance = {}, {}
    for place, (name, figure) in enumerate(sheet.figures.items()):
        if figure.value is not None and figure.value != 0:
            value = figure.value + (number + 1) * (place + 1) / 3e4
            figures[name] = {"value": value, "low": value - 1 / 7, "high": value + 1 / 3}
    if number % 2:
        provenance["start"] = "2026-10-06T09:00:00.250000-06:00"
        basis = sheet.provenance.basis.model_copy(
            update={"rest_from": Message.english("lowest 30 s mean of the rest phase")}
        )
        provenance["basis"] = basis.model_dump(mode="json")
    if number == 3:
        provenance["movement"] = FRAME
        figures["moving_time"] = {"value": 301.0, "low": 300.0, "high": 310.5, "note": f"shows {CHAIR}"}
    found = changed(sheet, figures, **provenance)
    shunt = Message.english("Shunt: no blows to the head.")
    return found.model_copy(update={"cautions": (*found.cautions, shunt)})


def fill(logbook):
    """Students, protocols and trials; the trials as the logbook then has them."""
    logbook.add_protocol(made.protocol(pulse_sensor="chest", assistance="independent"))
    logbook.add_protocol(
        made.protocol(
            "reach", component="flexibility", title="=Reach", primary_figure="reach", better="higher",
            hand_measures=(REACH, LENGTHS),
        )
    )  # fmt: skip
    for number, notes in enumerate(TYPED):
        code = f"AB-{number}"
        logbook.add_student(made.student(code))
        more = {"prompts_per_min": 0.1, "temperature_c": -2.5, "exertion": 13.0, "exertion_scale": "6-20"}
        facts = more if number % 2 else {}
        logbook.add_trial(made.trial(code, sheet=shaped(number), notes=notes, practice=number % 5 == 4, **facts))
    results = [HandResult(name="reach", value=v, side=s, attempt=a) for v, s, a in
               ((20.1, "left", 1), (22.3, "left", 2), (-0.5, "right", 1), (0.0, "right", 2))]  # fmt: skip
    results.append(HandResult(name="lengths", value=12))
    stops = (Stop(at="09:14", why="=tired"), Stop(at="09:20", why="strap slipped"))
    logbook.add_trial(
        made.trial("AB-1", date(2026, 10, 20), "reach", hand_results=tuple(results), stops=stops, time_of_day="09:05")
    )
    return list(logbook.trials())


@pytest.fixture(scope="session")
def filled(tmp_path_factory):
    """The logbook, open, and its trials."""
    with open_logbook(tmp_path_factory.mktemp("exports") / "logbook.db") as logbook:
        yield logbook, fill(logbook)
