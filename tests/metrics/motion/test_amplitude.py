"""Movement level: check values, agreement with an independent library, bounds for what was not measured."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from ownmark.ingest.recording import ACCELERATION
from ownmark.metrics.motion.amplitude import _partly, mad, measured_percent, motion_level
from ownmark.metrics.motion.grid import Grid, to_grid

from tests.makers.motion import stream
from tests.makers.real_motion import pieces
from tests.outside.parts import ACTIVITY


def along_x(*lengths):
    return np.column_stack((lengths, np.zeros(len(lengths)), np.zeros(len(lengths))))


def test_mad_of_the_tables_check_epoch():
    # Tables row 7.2: lengths 1.0, 1.2, 0.9, 1.1 have a MAD of 100.0 mg.
    epoch = along_x(1.0, 1.2, 0.9, 1.1)
    assert mad(epoch, 4) == pytest.approx([100.0])


@pytest.mark.parametrize("size", [1, 7, 50, 250, 499])
def test_mad_equals_that_of_an_independent_library(size):
    # scikit-digital-health 0.17.18 (MIT): the same definition, in g. Tolerance: its running sums, 1e-9 g.
    library = ACTIVITY.need()
    values = np.random.default_rng(size).normal([0.2, -0.5, 0.8], 0.4, (3000, 3))
    assert mad(values, size) / 1000 == pytest.approx(library.metric_mad(values, wlen=size), abs=1e-9)


def test_mad_forgives_a_scale_that_is_off_by_a_constant_along_gravity():
    # Tables row 7.2: a 20 mg offset along gravity is no MAD.
    assert mad(along_x(*np.full(250, 1.02)), 250) == pytest.approx([0.0], abs=1e-9)


def test_mad_of_open_recordings_has_the_published_order(real_dir):
    # BasicMotions (BSD, from sktime 1.2), median MAD by label in m/s²: the folder's README, worked out without ownmark.
    both = pieces(real_dir, "TRAIN") + pieces(real_dir, "TEST")
    labels = ("standing", "walking", "running", "badminton")
    levels = {label: [mad(values, 100)[0] / 1000 for own, values in both if own == label] for label in labels}
    medians = [round(float(np.median(levels[label])), 2) for label in labels]
    assert medians == [0.45, 1.16, 3.04, 5.92]


def lost(values, *spans):
    values = values.copy()
    for first, last in spans:
        values[first:last] = np.nan
    return values


SHAKING = along_x(*np.tile([0.9, 1.1], 50))  # MAD 100 mg, two epochs of 50 samples at 10 Hz


def test_an_epoch_measured_to_four_fifths_has_a_level_and_bounds_for_the_rest():
    # By hand. 40 of 50 samples lie 0.1 g from their median: 40 · 100 / 50 = 80 mg at the least. With the ten others at
    # 8 g the mean is 2.4 g: (20 · 1.5 + 20 · 1.3 + 10 · 5.6) / 50 = 2.24 g at the most. The other epoch adds 100 mg.
    level = motion_level(Grid(0.0, 10.0, lost(SHAKING, (10, 20))), 0.0, 10.0)
    assert level.value == pytest.approx(100.0)
    assert level.low == pytest.approx((80 + 100) / 2)
    assert level.high == pytest.approx((2240 + 100) / 2)


def test_an_epoch_measured_to_less_has_none_and_may_be_as_loud_as_can_be():
    # 38 samples: 38 · 100 / 50 = 76 mg at the least, the highest level there is at the most; none of the value's.
    values = SHAKING.copy()
    values[50:] = 1.0, 0, 0
    level = motion_level(Grid(0.0, 10.0, lost(values, (10, 22))), 0.0, 10.0)
    assert level == (
        pytest.approx(38.0),
        pytest.approx(38.0),
        pytest.approx(2000.0),
    )  # value 0, not below the low bound


def test_an_unmeasured_epoch_may_be_still_or_as_loud_as_can_be():
    level = motion_level(Grid(0.0, 10.0, lost(SHAKING, (50, 100))), 0.0, 10.0)
    assert level == (pytest.approx(100.0), pytest.approx(50.0), pytest.approx(2050.0))


def test_the_measured_share_counts_samples_and_not_epochs():
    assert measured_percent(Grid(0.0, 10.0, lost(SHAKING, (10, 20))), 0.0, 10.0) == pytest.approx(90.0)
    assert measured_percent(Grid(0.0, 10.0, SHAKING), 5.0, 15.0) == pytest.approx(50.0)
    assert measured_percent(Grid(0.0, 10.0, SHAKING), 0.0, 4.9) == 0.0


def test_one_late_sample_in_each_epoch_costs_nothing_at_400_hertz():
    # A frame sensor of 400 Hz with a step of 17 ms in every epoch but the still one: plain epochs give the level.
    rng = np.random.default_rng(5)
    time = np.arange(400 * 60) / 400
    values = np.column_stack((np.zeros((len(time), 2)), np.ones(len(time))))
    values[2000:] += 0.07 * rng.standard_normal((len(time) - 2000, 3))
    plain = mad(values, 2000)
    keep = np.ones(len(time), bool)
    for epoch in range(1, 12):
        keep[2000 * epoch + 900 : 2000 * epoch + 906] = False
    grid = to_grid(stream(ACCELERATION, time[keep], values[keep]))
    level = motion_level(grid, 0.0, 60.0)
    assert level.value == pytest.approx(plain.mean(), rel=0.01)
    assert level.low == level.value == level.high
    assert measured_percent(grid, 0.0, 60.0) == 100.0


def test_epochs_count_from_the_start_of_the_phase():
    # Loud from 7 s to 12 s, lengths 1.0 and 1.4: the second of three epochs if the phase starts at 2 s, half of two
    # epochs if it starts at 4.5 s, whose mean length is then 1.1.
    values = along_x(*np.ones(250))
    values[70:120, 0] = np.tile([1.0, 1.4], 25)
    grid = Grid(0.0, 10.0, values)
    assert motion_level(grid, 2.0, 17.0).value == pytest.approx(200 / 3)
    halves = (0.25 * 300 + 0.75 * 100) * 2  # a quarter of each epoch's samples lies at 1.4, 300 mg above the mean
    assert motion_level(grid, 4.5, 19.5).value == pytest.approx(halves / 3, rel=0.01)


def test_level_is_none_where_no_epoch_was_measured_whole():
    grid = Grid(0.0, 10.0, np.full((200, 3), np.nan))
    assert motion_level(grid, 0.0, 20.0) == (None, 0.0, 4000.0)
    assert motion_level(grid, 0.0, 4.9).value is None
    assert motion_level(Grid(0.0, 10.0, along_x(*np.ones(200))), 30.0, 60.0).value is None


def test_what_lies_before_and_behind_a_recording_may_be_still_or_as_loud_as_can_be():
    grid = Grid(5.0, 10.0, SHAKING)
    whole, half = (pytest.approx(100.0),) * 3, (pytest.approx(100.0), pytest.approx(50.0), pytest.approx(2050.0))
    assert motion_level(grid, 5.0, 15.0) == whole
    assert motion_level(grid, 10.0, 15.0) == whole  # one epoch
    assert motion_level(grid, 10.0, 20.0) == motion_level(grid, 0.0, 10.0) == half
    assert motion_level(grid, 5.0, 9.9) == (None, 0.0, 4000.0)
    assert [measured_percent(grid, *span) for span in ((5.0, 10.0), (0.0, 5.0), (2.5, 7.5))] == [100.0, 0.0, 50.0]


def test_an_epoch_is_a_sample_at_least():
    assert motion_level(Grid(0.0, 10.0, SHAKING), 0.0, 10.0, 0.05) == (0.0, 0.0, 0.0)
    with pytest.raises(ValueError, match="0"):
        mad(SHAKING, 0)


def test_each_epoch_has_its_own_bounds():
    # The second epoch: 76 mg at the least, the highest level at the most. The first has 100 mg.
    level = motion_level(Grid(0.0, 10.0, lost(SHAKING, (60, 72))), 0.0, 10.0)
    assert level == (pytest.approx(100.0), pytest.approx(88.0), pytest.approx(2050.0))


def test_the_least_level_of_part_of_an_epoch_is_that_about_its_own_median():
    # 32 samples of 1 g and 8 of 2 g: 8 g in all about the median, 12.8 about the mean; 10 of 50 are lost. At the most
    # they are 8 g: of the mean of 2.56 g, 32 are 1.56 away, 8 0.56 and 10 5.44.
    values = along_x(*np.concatenate((np.full(32, 1.0), np.full(8, 2.0), np.full(10, np.nan))))
    assert _partly(values) == (
        pytest.approx(320.0),
        pytest.approx(160.0),
        pytest.approx(20 * (32 * 1.56 + 8 * 0.56 + 54.4)),
    )
    assert _partly(along_x(*np.concatenate((np.full(39, 1.0), np.full(11, np.nan)))))[1:] == (0.0, 4000.0)


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 2**32 - 1), st.floats(0, 0.3), st.integers(1, 200))
def test_bounds_of_the_level_contain_the_truth(seed, lost, longest):
    rng = np.random.default_rng(seed)
    values = rng.normal(0, rng.uniform(0, 1.0, (1200, 1)), (1200, 3))
    truth = motion_level(Grid(0.0, 20.0, values), 3.0, 57.0)
    assert truth.low == truth.value == truth.high
    partly = values.copy()
    while np.isnan(partly[:, 0]).mean() < lost:
        begin = int(rng.integers(1200))
        partly[begin : begin + longest] = np.nan
    level = motion_level(Grid(0.0, 20.0, partly), 3.0, 57.0)
    assert level.low - 1e-9 <= truth.value <= level.high + 1e-9
    if level.value is not None:
        assert level.low <= level.value <= level.high
