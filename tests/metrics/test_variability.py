"""RMSSD and SDNN against hand-worked values and an independent library."""

import math
import warnings

import numpy as np
import pytest
from ownmark.metrics.variability import rmssd_ms, sdnn_ms


@pytest.fixture(scope="module")
def hrv_time():
    """RMSSD and SDNN [ms] by neurokit2 0.2.12 (MIT), which warns about itself on import and use."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import neurokit2

    def measure(rr_ms, end_s=None):
        end = np.cumsum(rr_ms) / 1000 if end_s is None else end_s
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            row = neurokit2.hrv_time({"RRI": np.asarray(rr_ms, dtype=float), "RRI_Time": end})
        return float(row["HRV_RMSSD"].iloc[0]), float(row["HRV_SDNN"].iloc[0])

    return measure


@pytest.mark.parametrize(
    ("intervals_ms", "rmssd", "sdnn", "tolerance"),
    [
        ([800, 810, 790, 805], 15.55, 8.54, 0.005),  # reference section 6: sqrt(725 / 3)
        ([800, 810, 790, 805, 795], 14.3614, 7.9057, 5e-5),  # tables row 6.8; dividing by n would give 7.0711
    ],
)
def test_hand_worked_intervals(intervals_ms, rmssd, sdnn, tolerance):
    rr_s = np.array(intervals_ms) / 1000
    assert rmssd_ms(rr_s) == pytest.approx(rmssd, abs=tolerance)
    assert sdnn_ms(rr_s) == pytest.approx(sdnn, abs=tolerance)


def test_a_published_recording_has_its_published_variability(real_dir):
    # 337 intervals of a BSD-licensed package; the values are stated beside the file.
    rr_s = np.load(real_dir / "rr_short.npy") / 1000
    assert rmssd_ms(rr_s) == pytest.approx(101.3006, abs=5e-5)
    assert sdnn_ms(rr_s) == pytest.approx(95.6904, abs=5e-5)


@pytest.mark.parametrize("name", ["rr_short.npy", "rr_long.npy"])
def test_real_intervals_agree_with_an_independent_library(real_dir, hrv_time, name):
    rr_ms = np.load(real_dir / name)
    assert (rmssd_ms(rr_ms / 1000), sdnn_ms(rr_ms / 1000)) == pytest.approx(hrv_time(rr_ms), abs=1e-6)


@pytest.mark.parametrize("name", ["rr_short.npy", "rr_long.npy"])
def test_nothing_is_joined_across_left_out_intervals_as_in_an_independent_library(real_dir, hrv_time, name):
    # The library sees the hole in the time of the intervals and leaves out the difference across it, too.
    rr_ms = np.load(real_dir / name)
    usable = np.ones(len(rr_ms), dtype=bool)
    usable[20::25] = False
    usable[101:140] = False
    end_s = np.cumsum(rr_ms) / 1000
    expected = hrv_time(rr_ms[usable], end_s[usable])
    rr_s = rr_ms / 1000
    assert (rmssd_ms(rr_s, usable), sdnn_ms(rr_s, usable)) == pytest.approx(expected, abs=1e-6)
    joined = math.sqrt(np.mean(np.diff(rr_ms[usable]) ** 2.0))
    assert rmssd_ms(rr_s, usable) != pytest.approx(joined, abs=0.01)
    missing = np.where(usable, rr_s, math.nan)
    assert (rmssd_ms(missing), sdnn_ms(missing)) == (rmssd_ms(rr_s, usable), sdnn_ms(rr_s, usable))


def test_too_few_intervals_give_no_value():
    assert math.isnan(rmssd_ms([]))
    assert math.isnan(rmssd_ms([0.8]))
    assert math.isnan(rmssd_ms([0.8, math.nan, 0.9]))
    assert math.isnan(sdnn_ms([0.8, math.nan]))
    assert rmssd_ms([0.8, 0.9]) == pytest.approx(100)
