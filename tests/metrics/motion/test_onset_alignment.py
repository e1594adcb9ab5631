"""A heart rate laid beside a movement: hearts that answer as they are thought to, and each threshold at its edge."""

import numpy as np
import pytest
from ownmark.ingest.recording import HEART_ONSET, Placing
from ownmark.metrics.messages.trial import CLOCK_NO_ONSET
from ownmark.metrics.motion import onset_alignment
from ownmark.metrics.motion.alignment import Refusal, activity
from ownmark.metrics.motion.grid import Grid
from ownmark.metrics.motion.heart_rate_series import mean_around
from ownmark.metrics.motion.onset_alignment import WITHIN_S, _spread, answer, by_heart_rate

NAN = np.nan
WORK = np.zeros(600, bool)
for _begin, _until in ((60, 130), (190, 300), (330, 370), (450, 540)):
    WORK[_begin:_until] = True


def grid(moving_g=0.1, still_g=0.01, work=WORK, start_s=5.0):
    """Two values in turn, 10 a second: their spread is the level."""
    size = np.repeat(np.where(work, moving_g, still_g), 10)
    return Grid(start_s, 10.0, np.column_stack((size * np.tile([1.0, -1.0], len(size) // 2), 0 * size, 1 + 0 * size)))


def beating(constant_s=35.0, rise=50.0, late_s=7.0, work=WORK):
    """Start, hold and value of a heart that answers so, on a clock on which the movement began at 100."""
    at = np.arange(float(len(work)))
    return 100.0 + at + late_s, np.ones(len(at)), 80.0 + rise * answer(np.where(work, 1.0, 0.0), constant_s)


def laid(*words, **changes):
    return by_heart_rate(grid(**changes), *(words or beating()))


@pytest.mark.parametrize("constant_s", [20.0, 35.0, 60.0])
def test_a_heart_that_answers_as_thought_is_laid_to_a_second(constant_s):
    found = laid(*beating(constant_s, late_s=7.0))
    assert isinstance(found, Placing)
    # The movement at 5 is the heart's 107, which is written 3 s late.
    assert found.offset_s == pytest.approx(5 - 107 + 3, abs=1.0)
    assert (found.how, found.within_s, WITHIN_S) == (HEART_ONSET, 15.0, 15.0)
    assert 0.3 < found.confidence <= 1


def test_the_answer_that_fits_best_decides(monkeypatch):
    asked, made = [], []

    def match(*words):
        asked.append(words)
        made.append(onset_alignment_match(*words))
        return made[-1]

    onset_alignment_match = onset_alignment.match
    monkeypatch.setattr(onset_alignment, "match", match)
    spread = []
    monkeypatch.setattr(onset_alignment, "activity", lambda *words: spread.append(words) or activity(*words))
    start_s, held_s, bpm = beating(60.0)
    start_s, held_s, bpm = start_s[::2], 2 * held_s[::2], bpm[::2]
    start_s[-1] += 0.05
    found = by_heart_rate(grid(), start_s, held_s, bpm, 444.0)
    begin, level = activity(grid(), 1.0, 1.0)
    assert spread[0][1:] == (1.0, 1.0)
    at = 107.0 + np.arange(600)  # to the second after the last one began
    heart = mean_around(start_s, held_s, bpm, at, 1.0)
    for constant_s, (answered, begin_s, second, second_s, step_s, most_s, least) in zip(
        (20.0, 35.0, 60.0), asked, strict=True
    ):
        np.testing.assert_array_equal(answered, answer(level, constant_s))
        np.testing.assert_array_equal(second, heart)
        assert (begin_s, second_s, step_s, most_s, least) == (begin, 107.0, 1.0, 444.0, 60)
    assert found.offset_s == made[2].top_s() + 3.0
    assert found.confidence == pytest.approx(1 - made[2].rival(40.0) / made[2].strength().max())


def test_what_lies_within_forty_seconds_of_the_best_is_its_own_peak(monkeypatch):
    asked = []
    monkeypatch.setattr(onset_alignment, "judged", lambda *words: asked.append(words) or Refusal((CLOCK_NO_ONSET,)))
    assert laid() == Refusal((CLOCK_NO_ONSET,))
    assert asked[0][1:4] == (40.0, HEART_ONSET, 15.0)


def test_a_heart_rate_spreads_by_ten_at_least():
    steps = np.where(WORK, 90.0, 80.0)
    start_s, held_s, _ = beating()
    enough, less = (laid(start_s, held_s, np.where(WORK, high, 80.0)) for high in (90.0, 89.99))
    assert less != enough
    assert isinstance(less, Refusal)
    assert less == laid(start_s, held_s, np.full(600, 80.0))
    assert _spread(steps) == 10


def test_a_movement_spreads_threefold_at_least():
    assert isinstance(laid(moving_g=0.0301), Placing)
    assert isinstance(laid(moving_g=0.0299), Refusal)
    assert laid(moving_g=0.0299) == laid(moving_g=0.01)


def test_a_spread_is_from_the_10th_to_the_90th_percentile():
    assert _spread(np.append(np.arange(101.0), NAN)) == 80
    assert _spread(np.arange(101.0) ** 2) == 90**2 - 10**2


def test_sixty_seconds_of_each_are_needed():
    short, flat = laid(np.empty(0), np.empty(0), np.empty(0)), laid(*beating(rise=0.0))
    assert isinstance(short, Refusal)
    assert short != flat
    level = np.full(62, 80.0)
    for count, told in ((60, flat), (59, short)):
        assert laid(np.arange(float(count)), np.ones(count), level[:count]) == told, count
    known = int(np.count_nonzero(np.isfinite(activity(grid(work=WORK[:62]), 1.0, 1.0)[1])))
    for less, told in ((0, flat), (1, short)):
        found = by_heart_rate(grid(work=WORK[: 62 + 60 - known - less]), *beating(rise=0.0))
        assert found == told, less


def test_the_answer_goes_a_share_of_the_way_each_second():
    # A constant of 4 s: a quarter of what is left.
    level = np.array([NAN, 0.0, 5.0, 5.0, 5.0, NAN, 0.0, 0.0, 0.0])
    np.testing.assert_allclose(
        answer(level, 4.0), [NAN, 0, 0.25, 0.4375, 0.578125, NAN, *0.43359375 * 0.75 ** np.arange(1, 4)]
    )
    assert answer(np.array([5.0, 5.0, 0.0, 0.0]), 2.0).tolist() == [1.0, 1.0, 0.5, 0.25]
    assert answer(np.array([5.0, 0.0, 0.0, 5.0]), 2.0).tolist() == [1.0, 0.5, 0.25, 0.625]


def test_moving_is_above_the_middle_of_the_percentiles():
    # 0 to 10 in elevenths: from 1 to 9, whose middle is 5.
    assert answer(np.arange(11.0), 1.0).tolist() == [0.0] * 6 + [1.0] * 5
    # One far above does not move it: the 90th percentile of eleven is the tenth.
    assert answer(np.append(np.arange(10.0), 1000.0), 1.0).tolist() == [0.0] * 6 + [1.0] * 5
