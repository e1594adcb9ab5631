"""Numbers for the script: nothing is lost that a pixel could show."""

import json

import numpy as np
import pytest
from ownmark.reports.trace.levels import COLUMNS, PER, level
from ownmark.reports.trace.lines import line
from ownmark.reports.trace.trace import Flagged, Trace, View, flagged_of

from tests.reports.pictures.pictures_made import MOVING, made


def decoded(sent):
    return np.cumsum(sent["t"]) / 1000, np.array(sent["v"]) / sent["per"], sent["b"]


def traced(series=None, movement=((), ()), flags=None):
    return Trace(series=series or made(), movement=line(*movement), flagged=flags or flagged_of(None))


def test_a_short_recording_is_sent_as_it_is():
    trace = traced(made(**MOVING), ([0, 0.5], [1, 1.25]))
    found = level(trace)
    assert (found["from"], found["until"], found["exact"]) == (0, 1440, True)
    time, value, begins = decoded(found["lines"]["pulse"])
    assert time.tolist() == trace.pulse.time_s.tolist()
    assert value.tolist() == trace.pulse.value.tolist()
    assert begins == [0, 541]
    assert found["lines"]["movement"] == {"t": [0, 500], "v": [1000, 1250], "b": [0], "per": 1000, "all": True}
    assert found["spans"]["gaps"] == [[540, 720]]
    assert found["spans"]["moving"] == [[290, 600], [640, 800], [900, 1010]]
    assert found["spans"]["assisted"] == [[800, 900]]
    assert found["spans"]["movement-gaps"] == [[600, 640]]
    json.dumps(found, allow_nan=False)


def test_a_long_one_keeps_the_low_and_high_of_each_column_and_says_that_it_is_not_all():
    noise = np.random.default_rng(1)
    time, value = np.arange(0, 1440, 0.01), noise.uniform(0, 4, 144_000)
    found = level(traced(movement=(time, value)))
    assert not found["exact"]
    assert found["lines"]["pulse"]["all"]
    assert not found["lines"]["movement"]["all"]
    assert len(found["lines"]["movement"]["t"]) <= 4 * COLUMNS + 1
    at, sent, _ = decoded(found["lines"]["movement"])
    column, kept = np.floor(time / found["step"]), np.floor(at / found["step"] + 1e-9)
    for each in range(0, COLUMNS, 97):
        of_all, of_kept = value[column == each], sent[kept == each]
        assert of_kept.max() == pytest.approx(of_all.max(), abs=6e-4)
        assert of_kept.min() == pytest.approx(of_all.min(), abs=6e-4)


def test_a_part_brings_as_much_on_both_sides_and_stays_in_the_recording():
    time = np.arange(0, 1440, 0.01)
    found = level(traced(movement=(time, np.ones(len(time)))), View(100, 110))
    assert (found["from"], found["until"]) == (90, 120)
    assert found["exact"]
    at, _, _ = decoded(found["lines"]["movement"])
    assert at[0] == pytest.approx(89.99)
    assert at[-1] == pytest.approx(120.01)
    assert level(traced(), View(0, 100))["from"] == 0
    assert level(traced(), View(1400, 1440))["until"] == 1440


def test_flags_are_sent_with_their_rule_and_null_for_no_value():
    flags = Flagged(np.array([5.0, 1440.0]), np.array([np.nan, 250.04]), np.array([1, 2]), np.array([False, True]))
    assert level(traced(flags=flags))["flags"] == {"t": [5000, 1440000], "v": [None, 250.0], "r": [1, 2], "u": [0, 1]}


def test_of_very_many_flags_each_column_keeps_the_first_lowest_and_highest_of_a_rule():
    many = 3 * COLUMNS
    bpm = np.tile([240.0, 20.0, 230.0, 250.0, 235.0, 236.0], many // 6)
    flags = Flagged(np.arange(many) * (1440 / many), bpm, np.full(many, 2), np.zeros(many, bool))
    found = level(traced(flags=flags))["flags"]
    assert len(found["t"]) < many
    assert {240.0, 20.0, 250.0} <= set(found["v"])
    assert found["t"] == sorted(found["t"])
    assert found["t"][0] == 0


def test_a_recording_without_heart_rate_has_no_gaps_of_it():
    none = np.empty(0)
    from ownmark.reports.pictures.series import Series

    found = level(traced(Series(time_s=none, until_s=none, bpm=none, end_s=9.0)))
    assert found["lines"] == {}
    assert found["spans"]["gaps"] == []
    assert found["exact"]


def test_flags_are_sent_to_the_millisecond_and_a_tenth_of_a_beat():
    flags = Flagged(np.array([5.0006]), np.array([250.26]), np.array([2]), np.array([False]))
    assert level(traced(flags=flags))["flags"] == {"t": [5001], "v": [250.3], "r": [2], "u": [0]}


def test_as_many_flags_as_columns_are_all_sent_and_of_more_one_a_column_of_equal_ones():
    for count, kept in ((COLUMNS, COLUMNS), (4 * COLUMNS, COLUMNS)):
        time = (np.arange(count) + 0.5) * (1440 / count)
        flags = Flagged(time, np.full(count, 240.0), np.full(count, 2), np.zeros(count, bool))
        assert len(level(traced(flags=flags))["flags"]["t"]) == kept


def test_two_rules_in_one_column_are_both_sent():
    count = 2 * COLUMNS
    time = (np.arange(count) + 0.5) * (1440 / count)
    flags = Flagged(time, np.full(count, 240.0), np.tile([2, 4], COLUMNS), np.zeros(count, bool))
    assert len(level(traced(flags=flags))["flags"]["t"]) == count


def test_what_a_script_relies_on():
    assert COLUMNS == 4096
    assert PER == {"pulse": 10, "movement": 1000, "cadence": 10}
    assert level(traced())["step"] == pytest.approx(1440 / 4096)


def test_spans_are_sent_to_the_millisecond_on_the_recordings_clock():
    found = level(traced(made(gaps=((540, 720),), crossings=((100.0006, 200.0004),), start=None)), View(90, 210))
    assert (found["from"], found["until"]) == (0, 330)
    assert found["spans"]["crossings"] == [[100.001, 200.0]]
    assert found["spans"]["gaps"] == []
