"""The trace of files that are stored nowhere yet, by the child that reads them."""

import json

import pytest
from ownmark.errors import NothingMeasured
from ownmark.sample_streams import FOLDER
from ownmark.web.jobs import JOBS, State

STRAP = str(FOLDER / "bag" / "S6.fit")
ZONE = "America/Denver"


@pytest.fixture
def state(place):
    found = State(place)
    found.see = _seen
    return found


def _seen(path, zone):
    from ownmark.records.plan.seen import see

    (found,) = see([path], zone, lambda _: ())
    return found


def asked(state, **more):
    return JOBS["trace"](state, [STRAP], ZONE, "en", **more)


def test_a_file_is_shown_by_the_schools_clock_before_it_is_stored(state):
    found = json.loads(json.dumps(asked(state), allow_nan=False))
    assert found["part"] == "Shown: 09:03:00 to 09:18:00, 15:00."
    assert found["kept"].startswith("No work phase is written down")
    assert found["times"] == "clock"


def test_phases_as_they_are_typed_are_drawn_and_nonsense_is_not(state):
    found = asked(state, phases={"work": "@09:06:00-@09:12:00", "rest": "nonsense", "recovery": "@09:14:00-@09:13:00"})
    assert found["script"]["phases"] == {"work": [180.0, 540.0]}
    assert found["kept"].startswith("Kept with the trial: 09:04:00 to 09:14:00.")


def test_what_is_kept_ends_where_another_students_trial_begins(state):
    phases = {"work": "@09:06:00-@09:12:00"}
    assert "09:05:00 to 09:14:00" in asked(state, phases=phases, free=[120.0, 800.0])["kept"]
    assert "09:05:30 to 09:12:30" in asked(state, phases=phases, margin_s=30.0)["kept"]


def test_a_part_and_its_numbers(state):
    found = asked(state, query={"from": "60", "until": "120"}, address="/day/2026-11-18", data="/day/2026-11-18/trace")
    assert found["part"] == "Shown: 09:04:00 to 09:05:00, 1:00."
    assert found["ways"]["whole"] == "/day/2026-11-18#trace"
    numbers = JOBS["trace_numbers"](state, [STRAP], ZONE, {"from": "60", "until": "120"})
    assert (numbers["from"], numbers["until"]) == (0, 180)
    assert JOBS["trace_numbers"](state, [STRAP], ZONE, {})["until"] == 900


def test_a_strap_and_a_sensor_are_laid_on_one_clock(state):
    files = [str(FOLDER / name) for name in ("TH-11-power-chair-slalom.fit", "TH-11-chair-frame.csv.gz")]
    found = JOBS["trace"](state, files, None, "en")
    assert [each[0] for each in found["script"]["panels"]] == ["pulse", "movement"]


def test_files_that_nobody_can_read_have_no_trace(state, tmp_path):
    with pytest.raises(NothingMeasured):
        JOBS["trace"](state, [str(tmp_path / "gone.fit")], ZONE, "en")


def test_of_several_files_those_that_can_be_read_are_shown(state, tmp_path):
    found = JOBS["trace"](state, [str(tmp_path / "gone.fit"), STRAP], ZONE, "es")
    assert found["part"] == "Se muestra: de 09:03:00 a 09:18:00, 15:00."
