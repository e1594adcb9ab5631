"""The trace of files that are stored nowhere yet."""

import json

from ownmark.records.plan.seen import see
from ownmark.sample_streams import FOLDER
from ownmark.web.file_trace import file_levels, file_shown, file_trace

STRAP = FOLDER / "bag" / "S6.fit"
ZONE = "America/Denver"


def trace_of(*paths, zone=ZONE):
    return file_trace([each.recording for each in see(paths, zone, lambda _: ()) if each.recording is not None], zone)


def asked(*paths, zone=ZONE, **more):
    return file_shown(trace_of(*(paths or (STRAP,)), zone=zone), "en", **more)


def test_a_file_is_shown_by_the_schools_clock_before_it_is_stored():
    found = json.loads(json.dumps(asked(), allow_nan=False))
    assert found["part"] == "Shown: 09:03:00 to 09:18:00, 15:00."
    assert found["kept"].startswith("No work phase is written down")
    assert found["times"] == "clock"


def test_phases_as_they_are_typed_are_drawn_and_nonsense_is_not():
    found = asked(phases={"work": "@09:06:00-@09:12:00", "rest": "nonsense", "recovery": "@09:14:00-@09:13:00"})
    assert found["script"]["phases"] == {"work": [180.0, 540.0]}
    assert found["kept"].startswith("Kept with the trial: 09:04:00 to 09:14:00.")


def test_what_is_kept_ends_where_another_students_trial_begins():
    phases = {"work": "@09:06:00-@09:12:00"}
    assert "09:05:00 to 09:14:00" in asked(phases=phases, free=[120.0, 800.0])["kept"]
    assert "09:05:30 to 09:12:30" in asked(phases=phases, margin_s=30.0)["kept"]


def test_a_part_and_its_numbers():
    found = asked(query={"from": "60", "until": "120"}, address="/day/2026-11-18", data="/day/2026-11-18/trace")
    assert found["part"] == "Shown: 09:04:00 to 09:05:00, 1:00."
    assert found["ways"]["whole"] == "/day/2026-11-18#trace"
    numbers = file_levels(trace_of(STRAP), {"from": "60", "until": "120"})
    assert (numbers["from"], numbers["until"]) == (0, 180)
    assert file_levels(trace_of(STRAP), {})["until"] == 900


def test_a_strap_and_a_sensor_are_laid_on_one_clock():
    files = [FOLDER / name for name in ("TH-11-power-chair-slalom.fit", "TH-11-chair-frame.csv.gz")]
    found = asked(*files, zone=None)
    assert [each[0] for each in found["script"]["panels"]] == ["pulse", "movement"]
