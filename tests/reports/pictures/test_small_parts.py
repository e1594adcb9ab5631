"""The parts that decide what is kept, where labels go, and how numbers read."""

from itertools import pairwise

import numpy as np
from hypothesis import given
from hypothesis import strategies as st
from ownmark.reports.pictures.board import Board, text_width, wrapped
from ownmark.reports.pictures.decimation import thinned
from ownmark.reports.pictures.label_spacing import free_place, spread
from ownmark.reports.pictures.pulse_panel import value_range
from ownmark.reports.pictures.series import length_within
from ownmark.reports.pictures.ticks import time_ticks, value_ticks

from .pictures_made import boxes, made


@given(st.lists(st.floats(30, 230), min_size=1, max_size=400), st.floats(0.01, 3))
def test_thinning_keeps_ends_and_the_low_and_high_of_every_column(bpm, step):
    y = np.array(bpm)
    x = np.arange(len(y)) * step
    kept_x, kept_y = thinned(x, y, 0.5)
    assert kept_x[0] == x[0]
    assert kept_x[-1] == x[-1]
    assert (np.diff(kept_x) > 0).all()
    column, kept = (np.floor(each / 0.5) for each in (x, kept_x))
    for each in np.unique(column):
        assert y[column == each].min() == kept_y[kept == each].min()
        assert y[column == each].max() == kept_y[kept == each].max()
    assert len(kept_x) <= 4 * len(np.unique(column))


@given(st.lists(st.tuples(st.floats(0, 100), st.floats(1, 20)), min_size=1, max_size=4))
def test_spread_labels_do_not_touch_and_stay_inside_where_they_fit(wishes):
    wishes.sort()
    sizes = [size for _, size in wishes]
    found = spread([centre for centre, _ in wishes], sizes, 0, 100, 2)
    ends = [(centre - size / 2, centre + size / 2) for centre, size in zip(found, sizes, strict=True)]
    assert all(before[1] + 2 <= after[0] + 1e-6 for before, after in pairwise(ends))
    assert ends[0][0] >= -1e-6
    assert ends[-1][1] <= 100 + 1e-6


def test_labels_that_do_not_touch_stay_where_they_wish():
    assert spread([10, 50, 90], [8, 8, 8], 0, 100, 2) == [10, 50, 90]
    assert spread([50, 50], [10, 10], 0, 100, 0) == [45, 55]


def test_a_label_takes_the_largest_free_part_or_none():
    assert free_place(0, 100, 10, []) == 50
    assert free_place(0, 100, 10, [(10, 20)]) == 60
    assert free_place(0, 100, 10, [(-5, 95)]) is None
    assert free_place(0, 8, 10, []) is None


def test_round_steps():
    assert time_ticks(0, 1440, 7) == [0, 300, 600, 900, 1200]
    assert time_ticks(-90, 200, 6) == [-60, 0, 60, 120, 180]
    assert value_ticks(60, 160, 6) == [60, 80, 100, 120, 140, 160]


def test_of_stretches_only_what_lies_inside_another_counts():
    assert length_within([(0, 10), (20, 30)], (5, 25)) == 10


def test_a_word_gets_the_room_that_the_renderer_takes_and_little_more():
    board = Board(400, 100)
    for place, text in enumerate(("moderate", "por encima del límite", "−0:01", "recuperación")):
        board.text(10, 10 + 20 * place, text, 9.0)
    for text, left, _, right, _ in boxes(board.figure):
        assert 0.93 * text_width(text, 9.0) < right - left <= text_width(text, 9.0), text


def test_lines_are_no_wider_than_asked():
    text = "No classes of effort are drawn: spinal cord injury at T6 or above."
    lines = wrapped(text, 9.0, 150)
    assert " ".join(lines) == text
    assert len(lines) > 1
    assert all(text_width(line, 9.0) <= 150 for line in lines)


def test_the_axis_holds_every_value_and_a_ceiling_that_is_near():
    series = made(ceiling_bpm=150.0, crossings=())
    low, high = value_range([series])
    assert low < series.lowest
    assert high > 150
    assert value_range([made(ceiling_bpm=None, peak=75.0, gaps=())])[1] - low >= 40
