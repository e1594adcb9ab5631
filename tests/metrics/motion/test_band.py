"""The band of rhythm: what passes, what does not, and running means by hand."""

import numpy as np
import pytest
from ownmark.metrics.motion.band import bridged, rhythm_band, running_means, slowed
from ownmark.metrics.motion.grid import Grid

NAN = np.nan


def wave(hz, rate_hz=48.0, seconds=40.0, start_s=0.0):
    at = np.arange(round(rate_hz * seconds)) / rate_hz
    return Grid(start_s, rate_hz, np.column_stack((np.cos(2 * np.pi * hz * at), np.ones(len(at)))))


def passed(hz, rate_hz=48.0):
    """Share of a swing's amplitude that passes, away from the ends."""
    values = rhythm_band(wave(hz, rate_hz)).values[:, 0]
    middle = values[len(values) // 4 : -len(values) // 4]
    return float(np.sqrt(2 * np.mean(middle**2)))


# ---- slowed


@pytest.mark.parametrize(
    ("rate_hz", "every"), [(20.0, 1), (24.0, 1), (47.9, 1), (48.0, 2), (71.0, 2), (100.0, 4), (400.0, 16)]
)
def test_a_slowed_grid_keeps_24_samples_a_second_or_more(rate_hz, every):
    values = np.arange(64.0).reshape(32, 2)
    found = slowed(Grid(5.0, rate_hz, values))
    assert found.rate_hz == pytest.approx(rate_hz / every)
    assert found.values == pytest.approx(values.reshape(32 // every, every, 2).mean(axis=1))
    assert found.start_s == pytest.approx(5.0 + (every - 1) / 2 / rate_hz)  # the middle of the first mean


def test_a_single_column_stays_one_and_a_gap_a_gap():
    found = slowed(Grid(0.0, 48.0, np.array([1.0, 3.0, 5.0, NAN, 9.0, 11.0])))
    assert found.values[:, 0].tolist()[::2] == [2.0, 10.0]
    assert np.isnan(found.values[1, 0])
    assert found.values.shape == (3, 1)


# ---- the band


@pytest.mark.parametrize("rate_hz", [24.0, 48.0])
def test_half_of_the_amplitude_passes_at_3_3_hz_all_below_2_3_and_nothing_above_4_3(rate_hz):
    assert passed(3.3, rate_hz) == pytest.approx(0.5, abs=0.02)
    assert passed(2.2, rate_hz) == pytest.approx(1.0, abs=0.02)
    assert passed(4.4, rate_hz) == pytest.approx(0.0, abs=0.01)
    assert passed(3.0, rate_hz) == pytest.approx(0.74, abs=0.03)
    assert passed(3.6, rate_hz) == pytest.approx(0.26, abs=0.03)


def test_posture_does_not_pass():
    # A mean over 4 s takes all of a swing of 0.25 Hz (its sine over 4 s is nought) and most of what is slower away.
    assert passed(0.25) == pytest.approx(1.0, abs=0.02)
    assert passed(0.02) < 0.02
    assert passed(0.125) == pytest.approx(1 - 2 / np.pi, abs=0.02)  # 1 - sin(π / 2) / (π / 2)
    assert np.abs(rhythm_band(wave(1.0)).values[:, 1]).max() < 1e-6


@pytest.mark.parametrize(("rate_hz", "every"), [(20.0, 1), (24.0, 2), (35.0, 2), (36.0, 3), (48.0, 4)])
def test_the_band_keeps_12_samples_a_second_or_more(rate_hz, every):
    made = wave(1.0, rate_hz, start_s=7.0)
    found = rhythm_band(made)
    assert found.rate_hz == pytest.approx(rate_hz / every)
    assert len(found.values) == -(-len(made.values) // every)
    assert found.start_s == 7.0
    assert found.values[len(found.values) // 2, 0] == pytest.approx(
        made.values[len(found.values) // 2 * every, 0], abs=0.02
    )


def test_what_was_not_measured_is_not_in_the_band_and_lines_bridge_it():
    made = wave(1.0)
    made.values[480:576] = NAN  # 10 to 12 s
    found = rhythm_band(made)
    assert np.flatnonzero(np.isnan(found.values[:, 0])).tolist() == list(range(120, 144))
    whole = rhythm_band(wave(1.0)).values[:, 0]
    assert found.values[:60, 0] == pytest.approx(whole[:60], abs=1e-6)


def test_nothing_measured_has_no_band():
    found = rhythm_band(Grid(3.0, 24.0, np.full((50, 3), NAN)))
    assert found.values.shape == (0, 3)
    assert (found.start_s, found.rate_hz) == (3.0, 24.0)


# ---- helpers


def test_gaps_are_bridged_by_straight_lines():
    known = np.array([True, True, False, False, True])
    assert bridged(np.array([[1.0, 2, NAN, NAN, 5], [0, 0, NAN, NAN, 6]]), known).tolist() == [
        [1, 2, 3, 4, 5],
        [0, 0, 2, 4, 6],
    ]
    columns = np.ones((1, 5))
    assert bridged(columns, np.ones(5, bool)) is columns


def test_running_means_are_centred_and_the_ends_stand_on():
    column = np.array([[1.0, 2, 4, 8, 16]])
    one, three, four = running_means(column, [1, 3, 4])
    assert one.tolist() == column.tolist()
    assert three[0] == pytest.approx([4 / 3, 7 / 3, 14 / 3, 28 / 3, 40 / 3])
    assert four[0] == pytest.approx([5 / 4, 8 / 4, 15 / 4, 30 / 4, 44 / 4])  # two before, itself, one behind
    (long,) = running_means(column, [9])
    assert long[0, 2] == pytest.approx((2 * 1 + 31 + 2 * 16) / 9)
