"""Lines keep every low and high, and never bridge a gap."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from ownmark.ingest.flags import Flag
from ownmark.ingest.recording import ACCELERATION, Stream
from ownmark.reports.trace.lines import Line, empty, line, movement_line, pulse_line, rate_line

from tests.reports.pictures.pictures_made import MOVING, made


def points(found: Line) -> list[tuple[float, float, bool]]:
    return list(zip(found.time_s.tolist(), found.value.tolist(), found.begins.tolist(), strict=True))


def test_a_run_of_heart_rate_ends_where_its_last_value_does_and_the_next_begins_anew():
    found = pulse_line(made(gaps=((2, 4),), end=6, work=(0, 6), phases={}, peak=75.0))
    assert found.time_s.tolist() == [0, 1, 2, 4, 5, 6]
    assert found.begins.tolist() == [True, False, False, True, False, False]
    assert found.value[1] == found.value[2]
    assert found.value[4] == found.value[5]


def test_a_recording_without_a_measured_value_has_no_line():
    assert len(pulse_line(made(gaps=((0, 1440),)))) == 0


def test_columns_keep_first_lowest_highest_and_last():
    found = line([0, 1, 2, 3, 4, 5], [5, 9, 1, 4, 6, 7]).thinned(6)
    assert points(found) == [(0, 5, True), (1, 9, False), (2, 1, False), (5, 7, False)]


def test_of_equal_values_the_first_lowest_and_the_last_highest_stay():
    found = line([0, 1, 2, 3, 4, 5, 6, 7, 8, 10, 11], [5, 1, 1, 9, 9, 5, 4, 4, 4, 2, 3]).thinned(10)
    assert [each[0] for each in points(found)] == [0, 1, 4, 8, 10, 11]
    found = line([0, 1, 2, 3, 4, 5, 6, 7, 8, 9], [5, 1, 1, 9, 9, 5, 4, 4, 4, 4]).thinned(10)
    assert [each[0] for each in points(found)] == [0, 1, 4, 9]


def test_a_line_behind_a_gap_that_was_left_out_begins_anew():
    found = line([0, 1, 2, 3, 4, 5, 6], [5, 9, 1, 4, 4, 4, 7], [1, 0, 0, 1, 0, 0, 0]).thinned(7)
    assert points(found) == [(0, 5, True), (1, 9, False), (2, 1, False), (6, 7, True)]


def test_a_line_of_few_points_stays_as_it_is():
    found = line([0, 1, 2, 3], [5, 9, 1, 4])
    assert found.thinned(4) is found


@given(
    st.lists(st.tuples(st.floats(0.01, 3), st.integers(30, 230), st.booleans()), min_size=1, max_size=200),
    st.floats(0.5, 40),
)
def test_every_column_keeps_its_low_and_high_and_every_gap(samples, step):
    time = np.cumsum([each[0] for each in samples])
    whole = line(time, [each[1] for each in samples], [each[2] for each in samples])
    found = whole.thinned(step)
    column = np.floor((whole.time_s - whole.time_s[0]) / step)
    kept = np.floor((found.time_s - whole.time_s[0]) / step)
    assert set(kept) == set(column)
    for each in set(column):
        of_all, of_kept = whole.value[column == each], found.value[kept == each]
        assert of_kept.min() == of_all.min()
        assert of_kept.max() == of_all.max()
    gaps = whole.time_s[whole.begins]
    for before, after, anew in zip(found.time_s, found.time_s[1:], found.begins[1:], strict=False):
        assert anew == bool(((gaps > before) & (gaps <= after)).any())


def test_a_part_takes_one_point_beyond_each_end():
    found = line([0, 1, 2, 3, 4, 5], [1, 2, 3, 4, 5, 6]).within((2, 3))
    assert points(found) == [(1, 2, True), (2, 3, False), (3, 4, False), (4, 5, False)]


def test_a_part_in_a_gap_has_the_points_on_both_sides_and_nothing_between():
    found = line([0, 1, 9, 10], [1, 2, 3, 4], [1, 0, 1, 0]).within((3, 5))
    assert points(found) == [(1, 2, True), (9, 3, True)]


def test_lines_of_unequal_parts_are_refused():
    with pytest.raises(ValueError, match="differ in number"):
        Line(np.zeros(2), np.zeros(2), np.zeros(1, bool))


def moved(time, values, flags=None):
    made_of = Stream.from_samples(ACCELERATION, time, values, flags=np.zeros(len(time)) if flags is None else flags)
    return movement_line(made_of)


def test_strength_is_the_length_of_the_acceleration():
    found = moved([0, 0.01], [[0, 0, 1], [2, 3, 6]])
    assert points(found) == [(0, 1, True), (0.01, 7, False)]


def test_movement_breaks_behind_a_step_of_more_than_twice_the_usual_and_50_ms():
    still = [[0, 0, 1]] * 5
    assert moved([0, 1, 2, 4.05, 5.05], still).begins.tolist() == [True, False, False, False, False]
    assert moved([0, 1, 2, 4.06, 5.06], still).begins.tolist() == [True, False, False, True, False]


def test_movement_breaks_where_a_sample_was_set_aside_or_holds_no_value():
    still = [[0, 0, 1]] * 5
    found = moved([0, 1, 2, 3, 4], still, [0, Flag.FROZEN, 0, 0, 0])
    assert points(found) == [(0, 1, True), (2, 1, True), (3, 1, False), (4, 1, False)]
    found = moved([0, 1, 2, 3], [[0, 0, 1], [0, np.nan, 1], [0, 0, 1], [0, 0, 1]])
    assert points(found) == [(0, 1, True), (2, 1, True), (3, 1, False)]


def test_a_saturated_sample_stays_on_the_line():
    assert len(moved([0, 1], [[0, 0, 8], [0, 0, 8]], [Flag.SATURATED, 0])) == 2


def test_two_samples_of_one_moment_are_no_gap():
    found = moved([0, 1, 1, 2], [[0, 0, 1], [0, 0, 2], [0, 0, 3], [0, 0, 1]])
    assert points(found) == [(0, 1, True), (1, 3, False), (2, 1, False)]


def test_no_movement_makes_no_line():
    assert len(movement_line(None)) == 0
    assert len(moved([0.0, 1.0], [[np.nan] * 3] * 2)) == 0
    assert len(empty()) == 0


def test_cadence_breaks_as_in_the_pictures():
    series = made(**MOVING)
    found = rate_line(series)
    assert found.time_s.tolist() == [each for each, _ in series.cadence]
    assert found.time_s[found.begins].tolist() == [300, 640]
    assert len(rate_line(made())) == 0


def test_every_run_of_heart_rate_begins_anew():
    found = pulse_line(made(gaps=((2, 4), (6, 7), (9, 10)), end=12, work=(0, 12), phases={}))
    assert found.time_s[found.begins].tolist() == [0, 4, 7, 10]


def test_a_single_sample_of_movement_is_a_point():
    assert points(moved([5.0], [[0, 0, 1]])) == [(5, 1, True)]


def test_of_two_samples_the_step_between_them_is_the_usual_one():
    assert moved([0.0, 9.0], [[0, 0, 1]] * 2).begins.tolist() == [True, False]
