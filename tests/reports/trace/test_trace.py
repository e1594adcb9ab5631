"""What a trace holds: flags, what is kept, the view."""

import math

import numpy as np
import pytest
from ownmark.ingest.flags import RULES, Flag
from ownmark.ingest.recording import HEART_RATE, Stream
from ownmark.reports.pictures.series import Series
from ownmark.reports.trace.lines import empty
from ownmark.reports.trace.trace import Trace, View, flagged_of, view_of

from tests.reports.pictures.pictures_made import made


def of(flags, bpm=None):
    time = np.arange(len(flags), dtype=float)
    return flagged_of(Stream.from_samples(HEART_RATE, time, bpm or [100.0] * len(flags), flags=flags))


def test_a_flagged_sample_names_the_rule_that_set_it_aside_before_one_that_only_flagged_it():
    found = of([0, Flag.IMPLAUSIBLE, Flag.VARYING | Flag.TOO_FAST, Flag.VARYING, Flag.BACKWARD_STAMP])
    assert [RULES[each] for each in found.rule] == ["implausible", "too_fast", "varying"]
    assert found.time_s.tolist() == [1, 2, 3]
    assert found.used.tolist() == [False, False, True]


def test_of_two_rules_that_set_a_sample_aside_the_first_is_named():
    assert [RULES[each] for each in of([Flag.NO_CONTACT | Flag.DROPOUT]).rule] == ["dropout"]


def test_a_recording_without_heart_rate_has_no_flags():
    assert len(flagged_of(None)) == 0


def test_flagged_samples_of_a_part_begin_with_it_and_end_before_its_end():
    found = of([Flag.FROZEN] * 5).within((1, 3))
    assert found.time_s.tolist() == [1, 2]
    assert len(found) == len(found.bpm) == len(found.rule) == len(found.used) == 2


def traced(**more):
    series = {key: more.pop(key) for key in ("phases", "whole") if key in more}
    return Trace(series=made(**series), movement=empty(), flagged=flagged_of(None), **more)


def test_the_phases_with_their_margin_are_kept():
    assert traced(phases={"work": (600.0, 900.0)}).kept == (480, 1020)
    assert traced(phases={"work": (600.0, 900.0), "rest": (300.0, 400.0)}, margin_s=60).kept == (240, 960)


def test_what_is_kept_ends_with_the_recording_and_with_what_is_free():
    assert traced(phases={"work": (60.0, 1400.0)}).kept == (0, 1440)
    assert traced(phases={"work": (600.0, 900.0)}, free=(550.0, 950.0)).kept == (550, 950)
    assert traced(phases={"work": (600.0, 900.0)}, free=(-math.inf, 950.0)).kept == (480, 950)


def test_stretches_beside_the_phases_are_kept_too():
    assert traced(phases={"work": (600.0, 900.0)}, beside=((1000.0, 1100.0),)).kept == (480, 1220)


def test_without_a_work_phase_nothing_is_cut():
    assert traced(phases={"rest": (0.0, 60.0)}).kept is None
    assert traced(phases={"work": (0.0, 1440.0)}, whole=True).kept is None


@pytest.mark.parametrize(
    ("asked", "seen"),
    [
        ((None, None), (0, 100)),
        ((20, 40), (20, 40)),
        ((-50, 40), (0, 90)),
        ((90, 110), (80, 100)),
        ((-1e9, 1e9), (0, 100)),
        ((50, 51), (50, 55)),
        ((99, 100), (95, 100)),
        ((60, 20), (60, 65)),
        ((math.nan, 30), (0, 30)),
        ((10, math.inf), (10, 100)),
    ],
)
def test_a_view_lies_in_the_recording_and_is_five_seconds_at_the_least(asked, seen):
    assert view_of((0.0, 100.0), *asked) == View(*seen)


def test_a_view_of_a_short_recording_is_all_of_it():
    assert view_of((0.0, 2.0), 1, 1.5) == View(0, 2)


def test_a_recording_of_no_length_is_a_second_long():
    none = np.empty(0)
    for end, whole in ((0.0, (0.0, 1.0)), (0.4, (0.0, 1.0)), (1.5, (0.0, 1.5))):
        series = Series(time_s=none, until_s=none, bpm=none, end_s=end)
        assert Trace(series=series, movement=empty(), flagged=flagged_of(None)).whole == whole


def test_a_view_is_as_long_as_from_its_begin_to_its_end():
    assert View(10, 30).length_s == 20
    assert View(10, 30).span == (10, 30)
