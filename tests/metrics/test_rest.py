"""Resting heart rate from a rest phase: definition, coverage and notes."""

import math

import numpy as np
import pytest
from ownmark.errors import BasisError
from ownmark.metrics.level_rate import Level
from ownmark.metrics.rest import DEFINITION, rest_rate

from tests.makers.sheets import in_english


def seconds(*stretches):
    """Starts, durations and rates of 1 s pieces from (seconds, rate) stretches."""
    bpm = np.concatenate([np.full(length, rate, dtype=float) for length, rate in stretches])
    return np.arange(len(bpm), dtype=float), np.ones(len(bpm)), bpm


def falling(per_minute, span_s=300, until_bpm=80.0):
    start, held, _ = seconds((span_s, 0))
    return start, held, until_bpm + per_minute * (start + 0.5 - span_s) / 60


def test_rest_is_the_mean_of_the_last_minute_not_of_the_whole_phase_nor_the_lowest_beat():
    # Common practice: five quiet minutes, mean of the last one. The whole would give 88, the lowest value 70.
    found = rest_rate(*seconds((120, 95), (120, 86), (20, 70), (40, 85)), from_s=0, until_s=300)
    assert found.bpm == pytest.approx((20 * 70 + 40 * 85) / 60)
    assert (found.from_s, found.until_s, found.coverage_percent) == (240, 300, 100)
    assert "last 60 s" in DEFINITION


def test_rest_of_the_published_series_is_the_plain_mean_and_none_of_the_other_definitions():
    # Logan 2000, tables row 4.3: of these twelve values the mean is 82.4167; lowest and all within 3 gives 79.5,
    # the lowest five 79.2, the median 81.5. Twelve pieces of 5 s fill the minute.
    values = [82, 80, 79, 81, 84, 88, 80, 79, 83, 85, 90, 78]
    found = rest_rate(np.arange(12) * 5, np.full(12, 5), values, from_s=0, until_s=60)
    assert found.bpm == pytest.approx(82.4167, abs=5e-5)


def test_rest_is_weighted_by_time_and_not_by_the_number_of_samples():
    # Tables row 1.10, scaled to one minute: a quarter of the time at 100 and the rest at 150 is 137.5; the mean of
    # the samples 100, 100, 100, 150 would be 112.5.
    found = rest_rate([0, 5, 10, 15], [5, 5, 5, 45], [100, 100, 100, 150], from_s=0, until_s=60)
    assert found.bpm == pytest.approx(137.5)


def test_only_the_part_of_a_piece_inside_the_last_minute_counts():
    found = rest_rate([0, 250, 310], [250, 60, 50], [120, 80, 150], from_s=0, until_s=300)
    assert found.bpm == pytest.approx((10 * 120 + 50 * 80) / 60)


def test_a_rest_phase_in_the_middle_of_a_recording_takes_nothing_from_around_it():
    start, held, bpm = seconds((100, 140), (120, 76), (100, 150))
    found = rest_rate(start, held, bpm, from_s=100, until_s=220)
    assert found.bpm == 76
    assert found.notes == ()


def test_a_phase_under_a_minute_is_averaged_whole_and_says_so():
    found = rest_rate(*seconds((45, 82)), from_s=0, until_s=45)
    assert found.bpm == 82
    assert found.from_s == 0
    assert any("lasted only 45 s" in in_english(note) for note in found.notes)
    assert rest_rate(*seconds((60, 82)), from_s=0, until_s=60).notes == ()


@pytest.mark.parametrize("span_s", [0, 10, 29])
def test_less_than_30_measured_seconds_give_no_rest(span_s):
    with pytest.raises(BasisError, match="30 s are needed") as refused:
        rest_rate(*seconds((span_s, 80)), from_s=0, until_s=max(span_s, 1))
    assert "leave the rest phase out and it counts" in refused.value.mend  # where one is on record
    assert rest_rate(*seconds((30, 80)), from_s=0, until_s=30).bpm == 80


def test_a_last_minute_with_less_than_80_percent_measured_gives_no_rest():
    # Tables row 6.13: below 80 % coverage nothing is given; 80–90 % with a warning.
    with pytest.raises(BasisError, match="only 78 %"):
        rest_rate(*seconds((240, 80), (13, math.nan), (47, 80)), from_s=0, until_s=300)
    found = rest_rate(*seconds((240, 80), (12, math.nan), (48, 80)), from_s=0, until_s=300)
    assert found.coverage_percent == pytest.approx(80)
    assert any("only 80 %" in in_english(note) for note in found.notes)
    assert rest_rate(*seconds((240, 80), (6, math.nan), (54, 80)), from_s=0, until_s=300).notes == ()


def test_coverage_and_length_are_not_lost_to_the_rounding_of_short_samples():
    # 48 s in 0.1 s pieces, later in a recording, add up to 47.999999999983515; 79.5 % is still too little.
    start = 1000.1 + np.arange(480) * 0.1
    found = rest_rate(start, np.full(480, 0.1), np.full(480, 80.0), from_s=1000.1, until_s=1060.1)
    assert found.bpm == pytest.approx(80)
    with pytest.raises(BasisError, match=r"only 79\.5 % of .* rest phase; 80 % are"):
        rest_rate([0], [47.7], [80], from_s=0, until_s=60)


def test_time_that_no_piece_covers_is_not_measured_either():
    # 47 of 60 s: the strap came off before the end and the last value is not held over.
    with pytest.raises(BasisError, match="only 78 %"):
        rest_rate(*seconds((287, 80)), from_s=0, until_s=300)


def test_a_gap_does_not_pull_the_mean():
    found = rest_rate(*seconds((20, 90), (6, math.nan), (34, 72)), from_s=0, until_s=60)
    assert found.bpm == pytest.approx((20 * 90 + 34 * 72) / 54)


@pytest.mark.parametrize(
    ("per_minute", "noted"), [(-2.0, True), (-1.05, True), (-0.95, False), (0.0, False), (3, False)]
)
def test_a_rate_that_still_falls_by_more_than_one_a_minute_is_noted(per_minute, noted):
    # Tables row 4.9, common practice.
    notes = rest_rate(*falling(per_minute), from_s=0, until_s=300).notes
    assert any("still falling" in in_english(note) for note in notes) is noted


def test_the_slope_is_that_of_the_last_two_minutes_and_has_the_size_of_the_fall():
    # A straight fall of 2 /min each minute; the steep fall before it is older than two minutes.
    start, held, bpm = falling(-2.0)
    bpm[:180] += np.linspace(60, 0, 180)
    found = rest_rate(start, held, bpm, from_s=0, until_s=300)
    assert any("(−2.0 /min each minute)" in in_english(note) for note in found.notes)


def test_the_slope_does_not_depend_on_how_time_is_cut_into_pieces():
    # 90 for one minute, then 84: least squares over two minutes give −4.5 /min per min. By hand, with
    # time from the middle in minutes: the integral of t · y is −3, that of t² is 2/3.
    whole = rest_rate([180, 240], [60, 60], [90, 84], from_s=0, until_s=300)
    cut = rest_rate(*seconds((240, 90), (60, 84)), from_s=0, until_s=300)
    assert in_english(whole.notes) == in_english(cut.notes)
    assert "(−4.5 /min each minute)" in in_english(whole.notes[0])


@pytest.mark.parametrize(("bpm", "noted"), [(111, True), (110, False)])
def test_a_rest_above_110_is_noted_as_likely_excitement(bpm, noted):
    notes = rest_rate(*seconds((300, bpm)), from_s=0, until_s=300).notes
    assert any("excitement" in in_english(note) for note in notes) is noted


@pytest.mark.parametrize(("measured_s", "enough"), [(0, False), (29, False), (47, False), (48, True)])
def test_where_a_level_rate_was_set_aside_that_is_said_and_not_how_little_was_left(measured_s, enough):
    level = Level(0.0, 300.0, 60.0)
    piece = ([240], [measured_s], [80])
    if enough:
        assert rest_rate(*piece, from_s=0, until_s=300, level=level).bpm == 80
        return
    with pytest.raises(BasisError) as caught:
        rest_rate(*piece, from_s=0, until_s=300, level=level)
    assert caught.value.what == (
        "heart rate stayed level at 60 /min for 5 min at rest, as if the sensor had stopped, so it gives no resting"
        " heart rate."
    )
    assert "pacemaker" in caught.value.mend


@pytest.mark.parametrize(("from_s", "until_s"), [(300, 300), (300, 0), (0, math.nan)])
def test_a_rest_phase_without_length_is_refused(from_s, until_s):
    with pytest.raises(BasisError, match="rest phase ends"):
        rest_rate(*seconds((300, 80)), from_s=from_s, until_s=until_s)
