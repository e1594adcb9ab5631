"""What is left of a recording never proves more than what was recorded, whatever was lost."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra import numpy as arrays
from ownmark.metrics import Asked, Phases, effort
from ownmark.metrics.sampling import sampling
from ownmark.metrics.timeline import hold

from tests.bench.bounds_held import ASKED, BASIS, HOLDS_S, LOSSES, RECORDERS, compared, some_kept
from tests.makers.recordings import every_second, pulse, recording
from tests.makers.sheets import texts
from tests.metrics.test_sampling import student

RATES = arrays.arrays(np.int64, st.integers(60, 400), elements=st.integers(31, 229))


def check(seed):
    """One recorder, one loss: the figures that miss although nothing was assumed, as the sheet tells."""
    rng = np.random.default_rng(seed)
    make, step_s, jitter = RECORDERS[seed % len(RECORDERS)]
    made = make(step_s, jitter, rng)
    keep = some_kept(len(made.bpm), LOSSES[int(rng.integers(len(LOSSES)))], rng)
    partly = made.left(keep).sheet(replace(ASKED, hold_s=HOLDS_S[int(rng.integers(len(HOLDS_S)))]))
    missed = [name for name, holds in compared(made.sheet(), partly).items() if not holds]
    assumed = partly.provenance.sampling.kind == "unclear" and step_s < 1.0
    return [] if assumed else missed


@settings(max_examples=250, deadline=None, derandomize=True)
@given(st.integers(0, 2**32 - 1))
def test_bounds_hold_whatever_is_lost_at_random(seed):
    assert check(seed) == []


@settings(max_examples=150, deadline=None)
@given(RATES, st.data())
def test_bounds_contain_the_truth_when_samples_are_removed_at_random(bpm, data):
    keep = some_kept(
        len(bpm), data.draw(st.sampled_from(LOSSES)), np.random.default_rng(data.draw(st.integers(0, 2**32)))
    )
    phase_s = float(len(bpm) - data.draw(st.sampled_from([0, 61])) if len(bpm) > 130 else len(bpm))
    asked = replace(ASKED, hold_s=data.draw(st.sampled_from(HOLDS_S)))
    truth = effort(every_second(bpm), BASIS, Phases(work=(0.0, phase_s)), ASKED)  # 61 s left over show the recovery
    assert all(compared(truth, thinned(bpm, keep, phase_s, asked)).values())


@settings(max_examples=60, deadline=None)
@given(RATES, st.integers(0, 350), st.integers(1, 120))
def test_bounds_contain_the_truth_when_a_stretch_is_lost(bpm, first, length):
    keep = np.ones(len(bpm), bool)
    keep[first : first + length] = False
    keep[0] = keep[-1] = True
    truth = effort(every_second(bpm), BASIS, Phases(work=(0.0, float(len(bpm)))), ASKED)
    assert all(compared(truth, thinned(bpm, keep, float(len(bpm)), ASKED)).values())


def thinned(bpm, keep, phase_s, asked):
    made = recording(pulse(np.flatnonzero(keep).astype(float), bpm[keep].astype(float)))
    return effort(made, BASIS, Phases(work=(0.0, phase_s)), asked)


def test_two_readings_a_minute_apart_prove_no_later_crossing():
    # One reading a second for a minute, above the ceiling from the second one on; all but the first and last are lost.
    bpm = np.append(100, np.full(59, 160))
    keep = np.zeros(60, bool)
    keep[[0, 59]] = True
    first = thinned(bpm, keep, 60.0, Asked(ceiling_bpm=150)).figures["first_above_ceiling"]
    assert (first.value, first.low, first.high) == (59, 1, 59)


def test_a_step_that_only_looks_usual_proves_no_longer_time_above_the_ceiling():
    # 15 readings left of a minute, most of them 3 s apart; one second is above the ceiling, and it is left.
    left = np.cumsum([0, 3, 3, 4, 3, 7, 3, 5, 3, 3, 4, 8, 6, 2, 5])
    keep = np.isin(np.arange(60), left)
    bpm = np.where(np.arange(60) == left[4], 160, 100)
    above = thinned(bpm, keep, 60.0, Asked(ceiling_bpm=150)).figures["time_above_ceiling"]
    assert (above.value, above.low) == (1, 1)


@pytest.mark.parametrize(
    ("stamps", "said"),
    [
        ([0, 59], "each is assumed to stand for 1 s"),
        (np.flatnonzero(np.random.default_rng(1).random(600) < 0.4), "let a value stand longer: --hold 10"),
    ],
)
def test_the_sheet_says_what_was_assumed(stamps, said):
    sheet = effort(recording(pulse(np.asarray(stamps, float), 100.0 + np.arange(len(stamps)) // 2 % 5)))
    assert any(said in note for note in texts(sheet.provenance.notes))


@settings(max_examples=200, deadline=None, derandomize=True)
@given(st.integers(0, 2**32 - 1), st.sampled_from([0.5, 1.0, 2.0, 5.0]), st.sampled_from([60, 300, 900]))
def test_coverage_never_rises_because_more_was_lost(seed, step_s, seconds):
    rng = np.random.default_rng(seed)
    count = int(seconds / step_s)
    bpm = student(count, rng) if seed % 2 else rng.integers(60, 64, count).astype(float)
    keep, before = np.ones(count, bool), 100.0
    while keep.sum() > 2:
        keep &= rng.random(count) >= rng.uniform(0.02, 0.5)
        time = np.flatnonzero(keep) * step_s
        if step_s < 1 and sampling(time, bpm[keep]).kind == "unclear":
            break  # a second is assumed, and said so: nothing that is left shows that it was less
        told = hold(pulse(time, bpm[keep]), 0.0, float(seconds)).coverage_percent
        assert told <= before + 1e-9
        assert told <= 100 * keep.mean() + 1e-9
        before = told
