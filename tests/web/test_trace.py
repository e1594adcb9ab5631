"""What the trace's template is given."""

import json

import numpy as np
import pytest
from ownmark.ingest.flags import RULES
from ownmark.reports.trace.lines import line
from ownmark.reports.trace.trace import Flagged, Trace, View, flagged_of
from ownmark.web.trace import HalfPhase, asked_view, levels, phase_texts, shown

from tests.reports.pictures.pictures_made import EN, ES, MOVING, made


def traced(movement=((), ()), flags=None, **more):
    return Trace(series=made(**more), movement=line(*movement), flagged=flags or flagged_of(None))


@pytest.mark.parametrize(
    ("query", "view"),
    [
        ({}, (0, 1440)),
        ({"from": "60", "until": "120"}, (60, 120)),
        ({"from": "nonsense", "until": "120"}, (0, 120)),
        ({"from": "nan", "until": "inf"}, (0, 1440)),
        ({"from": "1e999", "until": "-1e999"}, (0, 1440)),
    ],
)
def test_an_address_names_a_part_and_nonsense_in_it_is_all(query, view):
    assert asked_view(traced(), query).span == view


def test_all_that_is_shown_is_plain_json_in_both_languages():
    for words in (EN, ES):
        found = shown(traced(([0, 1], [1, 2]), **MOVING), words, editable=True)
        assert json.loads(json.dumps(found, allow_nan=False))["name"] == "trace"


def test_numbers_of_the_whole_and_of_a_part():
    trace = traced()
    assert (levels(trace, {})["from"], levels(trace, {})["until"]) == (0, 1440)
    assert levels(trace, {"from": "600", "until": "660"})["from"] == 540


def test_ways_lead_nearer_farther_and_to_the_work_and_keep_the_flags():

    flags = Flagged(np.array([1.0]), np.array([250.0]), np.array([2]), np.array([False]))
    trace = traced(flags=flags)
    ways = shown(trace, EN, view=View(600, 900), address="/trial/12", flags=True)["ways"]
    assert ways["zoom_in"] == "/trial/12?from=700.000&until=800.000&flags=1#trace"
    assert ways["zoom_out"] == "/trial/12?from=300.000&until=1200.000&flags=1#trace"
    assert ways["earlier"] == "/trial/12?from=450.000&until=750.000&flags=1#trace"
    assert ways["later"] == "/trial/12?from=750.000&until=1050.000&flags=1#trace"
    assert ways["whole"] == "/trial/12?flags=1#trace"
    assert ways["to_work"] == "/trial/12?from=228.000&until=1092.000&flags=1#trace"
    assert ways["flags"] == "/trial/12?from=600.000&until=900.000#trace"
    assert "flags" not in shown(traced(), EN)["ways"]
    assert "to_work" not in shown(traced(phases={"work": (0.0, 1440.0)}, whole=True), EN)["ways"]


def test_what_is_kept_is_told():
    assert shown(traced(phases={"work": (600.0, 900.0)}), EN)["kept"].startswith("Kept with the trial: 8:00 to 17:00. ")
    assert shown(traced(phases={}), EN)["kept"].startswith("No work phase is written down")


def test_the_table_has_a_row_a_minute_and_no_column_of_nothing():
    table = shown(traced(), EN)["table"]
    assert table["heads"] == ["From", "to", "Phase", "Mean, beats a minute", "Lowest", "Highest", "Measured"]
    assert len(table["rows"]) == 24
    assert table["rows"][9] == ["9:00", "10:00", "work", "not measured", "not measured", "not measured", "0 %"]
    heads = shown(traced(([0, 1], [1, 2]), **MOVING), EN)["table"]["heads"]
    assert heads[-2:] == ["Movement, g", "Moving"]


def test_fields_hold_the_clock_where_it_is_known_and_else_the_time_from_the_start():
    found = shown(traced(start="2026-05-12T09:30:00.400"), EN, editable=True)
    assert found["times"] == "clock"
    assert [[end["text"] for end in phase["ends"]] for phase in found["phases"]] == [
        ["09:30:00", "09:34:00"],
        ["09:35:00", "09:47:00"],
        ["09:47:00", "09:54:00"],
    ]
    assert found["phases"][1]["was"] == "09:35:00-09:47:00"
    found = shown(traced(phases={"work": (300.0, 1020.0)}), EN, editable=True)
    assert found["times"] == "start"
    assert [phase["was"] for phase in found["phases"]] == ["-", "5:00-17:00", "-"]
    assert shown(traced(), EN)["phases"] == []


def sent(**fields):
    usual = {"times": "clock", "work_from": "09:35:00", "work_until": "09:47:00", "work_was": "09:35:00-09:47:00"}
    none = {f"{name}_{end}": "" for name in ("rest", "recovery") for end in ("from", "until")}
    return {**usual, **none, "rest_was": "-", "recovery_was": "-", **fields}


def test_a_phase_as_it_was_shown_is_no_change():
    assert phase_texts(sent()) == {}
    assert phase_texts({}) == {}


def test_a_changed_phase_is_a_span_of_clock_times_or_of_times_from_the_start():
    assert phase_texts(sent(work_from="9:36 am")) == {"work": "@9:36 am-@09:47:00"}
    assert phase_texts(sent(work_from="@09:36:00")) == {"work": "@09:36:00-@09:47:00"}
    assert phase_texts(sent(times="start", rest_from="0:00", rest_until="4:00")) == {"rest_phase": "0:00-4:00"}


def test_an_emptied_phase_is_taken_away():
    assert phase_texts(sent(work_from="", work_until="")) == {"work": "none"}


@pytest.mark.parametrize("empty", ["work_from", "work_until"])
def test_a_phase_of_one_end_is_refused_at_the_empty_field(empty):
    with pytest.raises(HalfPhase) as refusal:
        phase_texts(sent(**{empty: " "}))
    assert refusal.value.field == empty


def test_the_script_is_told_every_rule_and_every_text():
    found = shown(traced(), EN)["script"]
    assert len(found["rules"]) == len(RULES)
    assert found["free"] == [None, None]
    assert found["texts"]["moment"] == "{clock}, {start} from the start"
    assert found["start"] is None
    assert shown(traced(start="2026-05-12T09:30:00.400"), EN)["script"]["start"] == 34_200.4
