"""How a recorder wrote: its step, whether values are missing, and how much the stamps that are left prove."""

import numpy as np
import pytest
from ownmark.metrics.sampling import Sampling, sampling
from ownmark.metrics.timeline import hold

from tests.makers.pulse import Heart, heart, shown
from tests.makers.recordings import pulse


def stamps(*steps):
    """Time stamps from steps, the first at 0."""
    return np.append(0.0, np.cumsum(np.asarray(steps, dtype=float)))


def student(seconds, rng):
    """Whole beats a minute of a student who works from the first minute on, one a second."""
    return shown(heart(Heart(), ((60.0, float(seconds)),), seconds, rng), rng)


# --- what is proven: two bits a step where none is missing, one where nearly all are, twenty are needed ---


@pytest.mark.parametrize(("steps", "kind", "vouches_s"), [(9, "unclear", 1.0), (10, "regular", 5.0)])
def test_ten_equal_steps_show_the_step_and_nine_do_not(steps, kind, vouches_s):
    # A recorder twice as fast would lose every second value and no other with one chance in 4 a step: 4^-10 is 10^-6.
    found = sampling(stamps(*[5] * steps))
    assert (found.kind, found.vouches_s) == (kind, vouches_s)


@pytest.mark.parametrize(("pairs", "kind"), [(7, "unclear"), (8, "regular")])
def test_where_values_are_missing_more_steps_are_needed(pairs, kind):
    # By hand: steps of 5 and 10 s in turn are 1.5 grid steps on the mean: log2(1/1.5) + 0.5 log2(1/3) = -1.377 bits a
    # step; on a grid twice as fine 3 on the mean: log2(1/3) + 2 log2(2/3) = -2.755. 1.377 bits a step: 15 steps.
    assert sampling(stamps(*[5, 10] * pairs)).kind == kind


def test_fifteen_steps_of_five_and_ten_seconds_are_the_first_that_suffice():
    assert sampling(stamps(*[5, 10] * 7, 5)).kind == "regular"  # a mean of 22/15: 1.386 bits a step, 20.9 in all


def test_one_value_missing_among_ten_leaves_too_little():
    # A mean of 1.1: log2(1/1.1) + 0.1 log2(1/11) = -0.483 bits; of 2.2: -1.1375 + 1.2 log2(6/11) = -2.187: 17 in all.
    assert sampling(stamps(*[5] * 9, 10)).kind == "unclear"


@pytest.mark.parametrize(("equal", "kind"), [(13, "unclear"), (14, "regular")])
def test_two_steps_off_the_grid_cost_more(equal, kind):
    # 2n - log2((n + 2)(n + 1) / 2): 19.3 for 13 and 21.1 for 14.
    assert sampling(stamps(*[5] * (equal - 1), 7, 5, 7)).kind == kind


@pytest.mark.parametrize(("equal", "kind"), [(12, "unclear"), (13, "regular")])
def test_a_step_off_the_grid_costs_what_its_place_may_be(equal, kind):
    # One of n + 1 steps off the grid can stand in n + 1 places: 2n - log2(n + 1) is 20.3 for 12 and 22.2 for 13 ...
    # and the step of 7 s itself counts neither way.
    assert 2 * 12 - np.log2(13) > 20 > 2 * 11 - np.log2(12)
    assert sampling(stamps(*[5] * (equal - 1), 7)).kind == kind


def test_two_readings_a_minute_apart_vouch_for_a_second_each():
    # Neither shows how often the recorder wrote: an assumption, which the sheet says.
    found = sampling(stamps(59))
    assert found == Sampling(1.0, "unclear", 1.0, 1.0, 59.0)
    assert not found.regular
    assert not found.held_on


def test_so_few_samples_that_no_two_are_a_second_apart_vouch_for_a_second_at_most():
    # Ten samples left of 65, one a second: found by the property test with 75 % lost.
    found = sampling(np.array([8.0, 12, 15, 21, 44, 46, 50, 53, 55, 60]))
    assert (found.kind, found.vouches_s) == ("unclear", 1.0)


def test_few_readings_on_a_clock_of_half_seconds_vouch_for_half_a_second():
    assert sampling(stamps(12.5, 20.0, 7.0)).vouches_s == 0.5


def test_few_readings_closer_than_a_second_vouch_for_no_more_than_the_shortest_step():
    assert sampling(stamps(0.4, 1.2, 4.2)).vouches_s == pytest.approx(0.2)  # counted in fifths of a second
    assert sampling(stamps(0.257, 1.2, 4.2)).vouches_s == pytest.approx(0.75 * 0.257)


def test_few_readings_on_a_fine_clock_leave_room_for_uneven_steps():
    # Stamps in milliseconds: the steps of a recorder that writes every second may be a quarter shorter.
    for steps in ((3.017, 2.044, 12.101), (419.094,)):
        found = sampling(stamps(*steps))
        assert (found.step_s, found.vouches_s) == (1.0, 0.75)


@pytest.mark.parametrize(("clock_s", "vouches_s"), [(0.1, 0.1), (0.05, 0.75)])
def test_a_clock_of_a_tenth_of_a_second_is_the_finest_that_tells(clock_s, vouches_s):
    assert sampling(stamps(37 * clock_s, 52 * clock_s, 111 * clock_s)).vouches_s == pytest.approx(vouches_s)


def test_one_moment_has_no_step():
    assert sampling(np.array([4.0, 4.0])) == Sampling(None, "unclear", 0.0, 0.0, None)
    assert sampling(np.array([])) == Sampling(None, "unclear")


# --- the step ---


@pytest.mark.parametrize("lost", [0.0, 0.3, 0.55, 0.7, 0.9])
def test_the_step_of_a_regular_recorder_survives_losses(lost):
    time = np.flatnonzero(np.random.default_rng(4).random(3000) >= lost).astype(float)
    found = sampling(time)
    assert (found.step_s, found.kind, found.vouches_s) == (1.0, "regular", 1.0)
    assert (found.regular, found.held_on) == (True, False)
    assert found.whole_share == pytest.approx(1 - lost, abs=0.05)


def test_a_step_that_looks_usual_after_heavy_losses_is_not_taken():
    # 74 % of the seconds lost, as the property test drew it: six of 14 steps are 3 s, which is no whole part of others.
    found = sampling(stamps(3, 3, 4, 3, 7, 3, 5, 3, 3, 4, 8, 6, 2, 5))
    assert (found.kind, found.vouches_s) == ("unclear", 1.0)


def test_uneven_steps_are_not_called_a_regular_recorder_of_long_steps():
    steps = np.random.default_rng(3).choice([1.0, 2, 3, 6, 7, 7, 7, 8], 300)
    assert sampling(stamps(*steps)).step_s == 1.0


def test_a_recorder_whose_steps_jitter_is_regular_and_vouches_for_a_short_step():
    steps = np.random.default_rng(2).uniform(0.82, 1.18, 400)
    found = sampling(stamps(*steps))
    assert found.kind == "regular"
    assert found.step_s == pytest.approx(1.0, abs=0.02)
    assert found.vouches_s == pytest.approx(
        0.75 * found.step_s
    )  # any step within a quarter of the usual agrees with it


def test_a_step_is_usual_to_within_a_quarter():
    # 0.75 and 1.25 s beside 1 s agree; 0.74 and 1.26 s do not.
    inside, outside = stamps(*[1, 0.75, 1, 1.25, 1] * 40), stamps(*[1, 0.74, 1, 1.26, 1] * 40)
    assert (sampling(inside).kind, sampling(inside).whole_share) == ("regular", 1.0)
    assert sampling(outside).kind != "regular"  # a fifth of the steps is shorter than the usual one


@pytest.mark.parametrize(("shorter", "kind"), [(20, "regular"), (21, "unclear")])
def test_a_regular_recorder_makes_hardly_any_step_shorter(shorter, kind):
    # Up to a tenth of 200 steps.
    steps = np.ones(200)
    steps[np.linspace(0, 199, shorter).astype(int)] = 0.613
    assert sampling(stamps(*steps)).kind == kind


@pytest.mark.parametrize(("step_s", "odd_s", "vouches_s"), [(1, 0.5, 0.5), (1, 0.4, 1), (5, 2.5, 2.5), (5, 2.4, 5)])
def test_a_step_under_half_of_the_usual_one_is_a_fault_of_the_clock(step_s, odd_s, vouches_s):
    found = sampling(stamps(*[step_s] * 30, odd_s, *[step_s] * 30))
    assert (found.kind, found.step_s) == ("regular", pytest.approx(step_s))
    assert found.vouches_s == pytest.approx(vouches_s)


@pytest.mark.parametrize(("multiple", "kind"), [(8, "regular"), (9, "unclear")])
def test_steps_of_more_than_eight_usual_ones_prove_nothing(multiple, kind):
    assert sampling(stamps(5, 5, 5, *[5 * multiple] * 22)).kind == kind


def test_a_grid_is_looked_for_from_the_shortest_step_to_the_middle_one():
    # Nine in ten are lost, and two steps of a fault are shorter than any true one.
    time = np.flatnonzero(np.random.default_rng(12).random(3000) < 0.1).astype(float)
    time = np.sort(np.append(time, [time[20] + 0.3, time[90] + 0.3]))
    found = sampling(time)
    assert (found.kind, found.step_s) == ("regular", 1.0)


def test_rounded_stamps_of_a_slow_recorder_are_regular():
    # Every 5 s, written in whole seconds one early or late.
    steps = np.random.default_rng(5).choice([4.0, 5.0, 5.0, 6.0], 100)
    found = sampling(stamps(*steps))
    assert (found.step_s, found.kind, found.vouches_s) == (5.0, "regular", 4.0)


def test_uneven_stamps_are_told_as_such_from_a_hundred_steps_on():
    steps = np.random.default_rng(6).gamma(4.0, 0.5, 100)
    found = sampling(stamps(*steps))
    assert (found.kind, found.regular, found.held_on) == ("uneven", False, True)
    assert found.step_s == found.vouches_s == pytest.approx(steps.min())
    assert sampling(stamps(*steps[:99])).kind == "unclear"


def test_stamps_on_a_coarse_clock_are_never_called_uneven():
    # Whole seconds, none of them short: what is left of a recorder that lost nearly all.
    steps = np.random.default_rng(13).integers(5, 60, 150)
    assert (sampling(stamps(*steps)).kind, sampling(stamps(*steps)).vouches_s) == ("unclear", 1.0)
    tenths = sampling(np.append(0, np.cumsum(steps)) / 10.0)
    assert (tenths.kind, tenths.vouches_s) == ("unclear", 0.1)


@pytest.mark.parametrize(("shorter", "kind"), [(20, "unclear"), (21, "uneven")])
def test_up_to_a_fifth_of_the_steps_may_lie_off_the_grid_before_stamps_are_uneven(shorter, kind):
    assert (
        sampling(stamps(*np.random.default_rng(14).permutation([0.613] * shorter + [1.0] * (100 - shorter)))).kind
        == kind
    )


@pytest.mark.parametrize(("short", "kind"), [(19, "uneven"), (20, "regular")])
def test_a_burst_of_short_steps_is_no_grid_until_a_tenth_of_them_are(short, kind):
    steps = [0.0123] * short + (0.2 + np.random.default_rng(15).gamma(2.0, 1.0, 200 - short)).tolist()
    assert sampling(stamps(*np.random.default_rng(16).permutation(steps))).kind == kind


def test_uneven_stamps_vouch_for_a_second_at_most():
    found = sampling(stamps(*(3.0 + np.random.default_rng(6).gamma(1.0, 4.0, 200))))
    assert (found.kind, found.vouches_s) == ("uneven", 1.0)


# --- written on change ---


def test_a_recorder_that_writes_on_change_is_told_by_never_writing_a_value_twice():
    bpm = student(600, np.random.default_rng(7))
    written = np.append(True, np.diff(bpm) != 0)
    lost = np.random.default_rng(8).random(600) < 1 - written.mean()
    found = sampling(np.flatnonzero(written).astype(float), bpm[written])
    assert (found.kind, found.step_s, found.vouches_s) == ("on_change", 1.0, 1.0)
    assert (found.regular, found.held_on) == (False, True)
    assert sampling(np.flatnonzero(~lost).astype(float), bpm[~lost]).kind == "regular"
    assert sampling(np.flatnonzero(written).astype(float)).kind == "regular"  # nothing but stamps: nothing is told


def on_change(changes, equal, *, least=1.0):
    """Values that change by the least step so often, and stand still so often, at steps of 1 and 2 s in turn."""
    moves = np.concatenate((np.resize([least, -least], changes), np.zeros(equal)))
    return stamps(*np.resize([1, 2], changes + equal)), 100 + np.append(0.0, np.cumsum(moves))


@pytest.mark.parametrize(
    ("changes", "equal", "kind"),
    [(30, 0, "on_change"), (29, 0, "regular"), (40, 1, "on_change"), (39, 1, "regular"), (80, 2, "on_change")],
)
def test_thirty_least_changes_without_an_equal_pair_show_writing_on_change(changes, equal, kind):
    # Chance would make an equal pair for two least changes: none for thirty is e^-15, 3 in 10 million.
    assert sampling(*on_change(changes, equal)).kind == kind
    assert sampling(*on_change(changes, equal, least=0.25)).kind == kind
    assert sampling(*on_change(changes, equal, least=4.0)).kind == kind


def test_larger_changes_do_not_count_as_least_ones():
    time, bpm = on_change(30, 0)
    bpm[-1] -= 1.0  # one change of 2 among 29 of 1
    assert sampling(time, bpm).kind == "regular"


@pytest.mark.parametrize(
    ("other", "kind"), [(1.0, "on_change"), (1.5, "on_change"), (1.6, "regular"), (10.0, "regular")]
)
def test_a_change_is_a_least_one_up_to_one_and_a_half_times_the_least(other, kind):
    time, _ = on_change(60, 0)
    moves = np.resize([1.0, -1.0, other, -other], 60)[: 30 if kind == "on_change" else 56]
    time = time[: len(moves) + 1]
    assert sampling(time, 100 + np.append(0.0, np.cumsum(moves))).kind == kind


def test_a_value_that_never_changes_is_not_written_on_change():
    time, bpm = on_change(60, 0)
    assert sampling(time, np.full(len(bpm), 100.0)).kind == "regular"


def test_a_value_beside_a_dropout_is_no_pair():
    time, bpm = on_change(30, 0)
    time, bpm = np.append(time, [46.0, 48.0, 50.0]), np.append(bpm, [0.0, 0.0, bpm[-1]])
    assert sampling(time, bpm).kind == "on_change"
    bpm[-3:-1] = np.nan
    assert sampling(time, bpm).kind == "on_change"


def test_where_four_in_five_steps_are_the_usual_one_nothing_is_taken_to_be_written_on_change():
    # A level that goes up and down every second, and a strap that was off for a while.
    bpm = 100.0 + np.arange(100) % 2
    assert sampling(stamps(*[1] * 80, *[2] * 20), np.append(bpm, 100.0)).kind == "regular"
    assert sampling(stamps(*[1] * 79, *[2] * 21), np.append(bpm, 100.0)).kind == "on_change"


@pytest.mark.parametrize(
    ("steps", "step_s"),
    [
        ([5, 10] * 20, 5.0),  # a grid that is proven
        ([*[5, 10] * 20, 3], 3.0),  # and never more than the shortest step
        ((2.2 + np.random.default_rng(6).gamma(1.0, 4.0, 40)).tolist(), 1.0),  # no grid: a second is assumed
        ((0.2 + np.random.default_rng(6).gamma(1.0, 4.0, 40)).tolist(), None),  # or the shortest step
    ],
)
def test_a_value_written_on_change_vouches_for_one_step(steps, step_s):
    bpm = 100.0 + np.arange(len(steps) + 1) % 2
    found = sampling(stamps(*steps), bpm)
    assert found.kind == "on_change"
    assert found.step_s == found.vouches_s == pytest.approx(min(steps) if step_s is None else step_s)


# --- coverage ---


@pytest.mark.parametrize("lost", [0.1, 0.5, 0.7, 0.9])
def test_coverage_counts_missing_rows_like_zeros(lost):
    rng = np.random.default_rng(9)
    bpm = student(1200, rng)
    keep = rng.random(1200) >= lost
    zeros = pulse(np.arange(1200.0), np.where(keep, bpm, 0.0), flags=np.where(keep, 0, 2).astype(np.uint16))
    rows = pulse(np.flatnonzero(keep).astype(float), bpm[keep])
    told = [hold(stream, 0.0, 1200.0).coverage_percent for stream in (zeros, rows)]
    assert told == pytest.approx([100 * keep.mean()] * 2)
