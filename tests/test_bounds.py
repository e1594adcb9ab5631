"""Bounds contain what a perfect sensor would have given, whatever is missing; and no second is counted twice."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra import numpy as arrays
from ownmark.ingest.combine import combine
from ownmark.metrics import Asked, Band, Phases, choose_basis, effort
from ownmark.metrics.glossary import ZONE_FIGURES
from ownmark.metrics.timeline import hold, sampling

from tests.makers.recordings import every_second, pulse, recording

BASIS = choose_basis(rest_bpm=70, measured_max_bpm=200, sex="female")
ASKED = Asked(distance_m=500, target=Band(110, 140, "/min"), ceiling_bpm=150)
RATES = arrays.arrays(np.int64, st.integers(60, 400), elements=st.integers(31, 229))


def seen(sheet):
    return {name: figure for name, figure in sheet.figures.items() if figure.low is not None}


def thinned(bpm, keep, phase_s, hold_s=None):
    time = np.flatnonzero(keep).astype(float)
    made = recording(pulse(time, bpm[keep].astype(float)))
    return effort(made, BASIS, Phases(work=(0.0, phase_s)), replace(ASKED, hold_s=hold_s))


@settings(max_examples=150, deadline=None)
@given(RATES, st.data())
def test_bounds_contain_the_truth_when_samples_are_removed_at_random(bpm, data):
    lost = data.draw(st.one_of(st.floats(0, 0.2), st.floats(0.2, 0.9)))
    hold_s = data.draw(st.sampled_from([None, 3.0, 10.0]))  # lets more figures be given where much is missing
    seed = data.draw(st.integers(0, 2**32 - 1))
    keep = np.random.default_rng(seed).random(len(bpm)) >= lost
    keep[0] = keep[-1] = True  # a ceiling counts over the whole recording: its ends stay where they are
    phase_s = float(len(bpm) - data.draw(st.sampled_from([0, 61])) if len(bpm) > 130 else len(bpm))
    truth = effort(every_second(bpm), BASIS, Phases(work=(0.0, phase_s)), ASKED)  # 61 s left over show the recovery
    partly = thinned(bpm, keep, phase_s, hold_s)
    for name, figure in seen(partly).items():
        if name == "coverage_heart_rate" or truth.figures[name].value is None:
            continue
        true = truth.figures[name].value
        assert figure.low - 1e-6 <= true <= figure.high + 1e-6, (name, figure, true)


@settings(max_examples=60, deadline=None)
@given(RATES, st.integers(0, 350), st.integers(1, 120))
def test_bounds_contain_the_truth_when_a_stretch_is_lost(bpm, first, length):
    keep = np.ones(len(bpm), bool)
    keep[first : first + length] = False
    keep[0] = keep[-1] = True
    truth = effort(every_second(bpm), BASIS, Phases(work=(0.0, float(len(bpm)))), ASKED)
    partly = thinned(bpm, keep, float(len(bpm)))
    for name, figure in seen(partly).items():
        if name != "coverage_heart_rate" and truth.figures[name].value is not None:
            assert figure.low - 1e-6 <= truth.figures[name].value <= figure.high + 1e-6, name


@settings(max_examples=100, deadline=None)
@given(RATES, st.data())
def test_zone_times_and_unmeasured_time_add_up_to_the_phase(bpm, data):
    # Tables row 2.11: the sum of the bands and the invalid time is the recorded time.
    flags = np.where(
        data.draw(arrays.arrays(np.bool_, len(bpm), elements=st.booleans(), fill=st.just(False))), 2, 0
    ).astype(np.uint16)
    made = recording(pulse(np.arange(len(bpm), dtype=float), bpm.astype(float), flags=flags))
    sheet = effort(made, BASIS, Phases(work=(0.0, float(len(bpm)))))
    gaps = sum(until - begin for begin, until in sheet.provenance.unmeasured)
    assert sheet.figures["coverage_heart_rate"].value == pytest.approx(100 * (1 - gaps / len(bpm)))
    if sheet.figures["time_moderate"].value is not None:
        times = sum(sheet.figures[name].value for name in ZONE_FIGURES)
        assert times + gaps == pytest.approx(len(bpm))


@settings(max_examples=60, deadline=None)
@given(RATES, st.randoms(use_true_random=False), st.data())
def test_nothing_depends_on_the_order_of_samples_or_on_where_a_file_is_split(bpm, random, data):
    time = np.arange(len(bpm), dtype=float)
    order = list(range(len(bpm)))
    random.shuffle(order)
    cut = data.draw(st.integers(1, len(bpm) - 1))
    whole = effort(every_second(bpm), BASIS, None, ASKED)
    shuffled = effort(recording(pulse(time[order], bpm[order].astype(float))), BASIS, None, ASKED)
    parts = [recording(pulse(time[part], bpm[part].astype(float))) for part in (slice(cut), slice(cut, None))]
    joined = combine([parts[0], _other_file(parts[1])])
    assert shuffled.figures == whole.figures
    assert effort(joined, BASIS, None, ASKED).figures == whole.figures


def _other_file(made):
    return replace(made, sources=(replace(made.sources[0], sha256="1" * 64, path="second.csv"),))


def test_a_dropout_of_40_s_widens_a_zone_by_40_s():
    # The design's own example: 40 s lost of 12 minutes make 352 s in moderate 352 to 392 s.
    bpm = np.full(720, 100.0) + np.arange(720) % 2
    bpm[100:492] = 130
    keep = np.ones(720, bool)
    keep[200:240] = False
    made = recording(pulse(np.flatnonzero(keep).astype(float), bpm[keep]))
    figure = effort(made, BASIS, Phases(work=(0.0, 720.0))).figures["time_moderate"]
    assert (figure.value, figure.low, figure.high) == pytest.approx((352, 352, 392))


def test_means_weigh_by_time_and_not_by_sample():
    # Tables row 1.10: 100 /min for 30 s, then 150 for 90 s is 137.5, though more samples say 100.
    time = np.concatenate((np.arange(0, 30, 0.5), np.arange(30, 120, 1.0)))
    made = recording(pulse(time, np.where(time < 30, 100.0, 150.0)))
    assert effort(made, BASIS, Phases(work=(0, 119))).figures["heart_rate_mean"].value == pytest.approx(
        (30 * 100 + 89 * 150) / 119
    )


@pytest.mark.parametrize("lost", [0.0, 0.3, 0.55])
def test_the_step_of_a_regular_recorder_survives_losses(lost):
    time = np.flatnonzero(np.random.default_rng(4).random(3000) >= lost).astype(float)
    assert sampling(time).step_s == 1.0
    assert sampling(time).regular


def test_a_recorder_that_writes_now_and_then_is_told_from_a_regular_one(real_dir):
    # The steps of a real strap file that was written on change: 1 to 9 s.
    steps = [1, 1, 2, 1, 2, 7, 2, 1, 5, 1, 2, 2, 2, 1, 3, 3, 9, 2, 5, 5]
    found = sampling(np.append(0.0, np.cumsum(steps)))
    assert not found.regular


def test_so_few_samples_that_no_two_are_a_second_apart_vouch_for_a_second_at_most():
    # Ten samples left of 65, one a second: found by the property test above with 75 % lost.
    time = np.array([8.0, 12, 15, 21, 44, 46, 50, 53, 55, 60])
    found = sampling(time)
    assert (found.step_s, found.regular) == (1.0, False)


def test_one_reading_a_minute_is_no_recording():
    # A value vouches for 10 s at the most, however seldom a recorder writes (common practice).
    made = recording(pulse(np.arange(20) * 60.0, np.full(20, 120.0)))
    sheet = effort(made, BASIS)
    assert sheet.figures["coverage_heart_rate"].value == pytest.approx(100 * 200 / 1150)
    assert sheet.figures["heart_rate_mean"].value is None


def test_uneven_steps_are_not_called_a_regular_recorder_of_long_steps():
    steps = np.random.default_rng(3).choice([1.0, 2, 3, 6, 7, 7, 7, 8], 300)
    assert not sampling(np.append(0.0, np.cumsum(steps))).regular


def test_a_lost_reading_at_the_end_of_work_widens_the_recovery_or_withholds_it():
    bpm = np.concatenate((np.full(300, 150.0) + np.arange(300) % 2, np.linspace(150, 100, 90)))
    keep = np.ones(390, bool)
    keep[360] = False
    made = recording(pulse(np.flatnonzero(keep).astype(float), bpm[keep]))
    assert effort(made, None, Phases(work=(0, 300))).figures["recovery_60s"].value is None
    figure = effort(made, None, Phases(work=(0, 300)), Asked(hold_s=5)).figures["recovery_60s"]
    assert figure.low < bpm[300] - bpm[360] < figure.high


def test_a_value_stands_for_its_own_step_only():
    stream = pulse([0.0, 1.0, 2.0, 7.0, 8.0], [100.0, 101, 102, 103, 104])
    held = hold(stream, 0.0, 10.0)
    assert held.held_s.tolist() == [1, 1, 1, 1, 1]
    assert held.gaps() == [(3.0, 7.0), (9.0, 10.0)]
    longer = hold(stream, 0.0, 10.0, hold_s=6.0)
    assert longer.held_s.tolist() == [1, 1, 5, 1, 1]
    assert longer.certain_s.tolist() == [1, 1, 1, 1, 1]
