"""A strap that may have changed hands, by hand: twelve seconds at their edge, each witness, and what lies between."""

import numpy as np
import pytest
from ownmark.ingest.flags import Flag
from ownmark.ingest.recording import HEART_RATE
from ownmark.metrics import hand_over
from ownmark.metrics.hand_over import (
    CONTACT,
    EQUAL,
    GAP,
    LEAPS,
    HandOver,
    Stretch,
    _longest_by_chance,
    hand_overs,
    stretches,
)
from ownmark.words.render import english

from tests.makers import other_straps
from tests.makers.class_recordings import LONG_LOSS_S, STYLES, handed, idle, worn_by_one
from tests.makers.recordings import pulse

LOST = (100, 120)


def calm(seconds=300):
    """A heart at rest that never writes one value twice in a row."""
    return 80.0 + np.arange(seconds) % 2


def beating():
    """The same with an effort at 10 s and one at 230 s: between them a strap may change hands."""
    bpm = calm()
    bpm[10:30] += 40.0
    bpm[230:260] += 40.0
    return bpm


def strap(bpm=None, *, missing=(), flags=()):
    """1 Hz, without the rows of some spans, with flags on those of others."""
    bpm = beating() if bpm is None else bpm
    time = np.arange(len(bpm), dtype=float)
    flag = np.zeros(len(bpm), np.uint16)
    for begin, until, bits in flags:
        flag[begin:until] |= np.uint16(bits)
    keep = np.ones(len(bpm), bool)
    for begin, until in missing:
        keep[begin:until] = False
    return pulse(time[keep], bpm[keep], flags=flag[keep])


def held(begin, length, after=81.0, value=80.0):
    """One value for so many seconds; behind it another rate."""
    bpm = beating()
    bpm[begin - 1 : begin] = value + 1
    bpm[begin : begin + length] = value
    bpm[begin + length] = after
    return strap(bpm)


# ---- losses


@pytest.mark.parametrize(("until", "found"), [(111, ()), (112, (HandOver(100.0, 112.0, GAP),))])
def test_twelve_seconds_without_a_value_and_no_less(until, found):
    # rows 100 to 111 are missing: the value of 99 stands until 100, the next begins at 112
    assert hand_overs(strap(missing=[(100, until)])) == found


@pytest.mark.parametrize("rule", [Flag.DROPOUT, Flag.IMPLAUSIBLE, Flag.TOO_FAST])
def test_values_that_were_set_aside_are_a_gap(rule):
    assert hand_overs(strap(flags=[(100, 112, rule)])) == (HandOver(100.0, 112.0, GAP),)
    assert hand_overs(strap(flags=[(100, 111, rule)])) == ()


def test_a_sensor_that_says_it_has_no_contact_is_named_even_where_most_is_missing():
    assert hand_overs(strap(flags=[(100, 112, Flag.NO_CONTACT)])) == (HandOver(100.0, 112.0, CONTACT),)
    assert hand_overs(strap(flags=[(100, 111, Flag.NO_CONTACT)])) == ()
    both = strap(missing=[(101, 120)], flags=[(100, 101, Flag.NO_CONTACT)])
    assert hand_overs(both) == (HandOver(100.0, 120.0, CONTACT),)
    beside = strap(missing=[(100, 112)], flags=[(112, 113, Flag.BACKWARD_STAMP), (99, 100, Flag.BACKWARD_STAMP)])
    assert hand_overs(beside) == (HandOver(100.0, 112.0, GAP),)


@pytest.mark.parametrize(("between", "found"), [(4, (HandOver(100.0, 116.0, GAP),)), (5, ())])
def test_contact_that_comes_for_under_five_seconds_does_not_end_a_loss(between, found):
    # twice 6 s are lost, and what lies between does not count as lost
    second = 106 + between
    assert hand_overs(strap(missing=[(100, 106), (second, second + 6)])) == found


def test_the_seconds_between_two_losses_are_not_lost_themselves():
    assert hand_overs(strap(missing=[(100, 106), (109, 114)])) == ()  # 6 + 5 s


def test_the_ends_of_a_recording_are_no_hand_over():
    assert hand_overs(strap(flags=[(0, 30, Flag.NO_CONTACT), (270, 300, Flag.DROPOUT)])) == ()


def test_nothing_is_said_of_an_empty_recording():
    assert hand_overs(pulse([], [])) == () == stretches(pulse([], []), ())
    assert hand_overs(strap(flags=[(0, 300, Flag.NO_CONTACT)])) == ()


def test_two_hand_overs_are_two():
    found = hand_overs(strap(missing=[(50, 90)], flags=[(190, 230, Flag.NO_CONTACT)]))
    assert found == (HandOver(50.0, 90.0, GAP), HandOver(190.0, 230.0, CONTACT))


# ---- where a loss lies


@pytest.mark.parametrize(("until", "found"), [(139, ()), (140, (HandOver(100.0, 140.0, GAP),))])
def test_a_loss_at_rest_counts_from_forty_seconds_on(until, found):
    assert hand_overs(strap(calm(), missing=[(100, until)])) == found


def test_of_the_shorter_losses_in_one_rest_the_longest_counts():
    assert hand_overs(strap(missing=[(60, 73), (100, 112)])) == (HandOver(60.0, 73.0, GAP),)
    assert hand_overs(strap(missing=[(60, 72), (100, 113)])) == (HandOver(100.0, 113.0, GAP),)
    assert hand_overs(strap(missing=[(60, 72), (100, 150)])) == (HandOver(100.0, 150.0, GAP),)
    # two long ones count both
    assert [each.from_s for each in hand_overs(strap(missing=[(50, 90), (130, 175)]))] == [50.0, 130.0]


def test_two_losses_that_touch_are_as_long_as_both():
    # 20 and 20 s of nothing, with 3 s of values between them: 40 s are lost
    assert hand_overs(strap(calm(), missing=[(100, 120), (123, 143)])) == (HandOver(100.0, 143.0, GAP),)
    assert hand_overs(strap(calm(), missing=[(100, 120), (123, 142)])) == ()


def test_a_value_that_is_held_and_the_loss_behind_it_are_one_loss_as_long_as_both():
    bpm = calm()
    bpm[98], bpm[99:124] = 81.0, 80.0
    assert hand_overs(strap(bpm, missing=[(124, 139)])) == (HandOver(99.0, 139.0, GAP),)
    assert hand_overs(strap(bpm, missing=[(124, 137)])) == ()


@pytest.mark.parametrize(("until", "found"), [(209, ()), (210, (HandOver(150.0, 210.0, GAP),))])
def test_amid_work_a_loss_counts_from_sixty_seconds_on(until, found):
    bpm = calm()
    bpm[60:250] += 40.0
    assert hand_overs(strap(bpm, missing=[(150, until)])) == found


def test_a_loss_beside_which_too_little_is_left_to_judge_counts_by_its_length():
    # 20 s are left before the loss: two means
    assert hand_overs(strap(beating(), missing=[(20, 50)])) == ()
    assert hand_overs(strap(calm(), missing=[(10, 50)])) == (HandOver(10.0, 50.0, GAP),)


def test_rates_that_leap_as_no_heart_does_are_a_loss_of_their_own_kind():
    bpm = beating()
    bpm[100:130] = np.where(np.arange(30) % 2, 110.0, 60.0)
    found = hand_overs(strap(bpm))
    assert [each.seen for each in found] == [LEAPS]
    assert found[0].from_s == pytest.approx(100, abs=4)
    assert found[0].until_s == pytest.approx(130, abs=4)
    with_contact_lost = strap(bpm, flags=[(110, 112, Flag.NO_CONTACT)])
    assert [each.seen for each in hand_overs(with_contact_lost)] == [CONTACT]


# ---- one value for too long


@pytest.mark.parametrize(("length", "found"), [(11, ()), (12, (HandOver(100.0, 112.0, EQUAL),))])
def test_twelve_equal_values_with_another_rate_behind(length, found):
    assert hand_overs(held(100, length, after=84.0)) == found


@pytest.mark.parametrize(("after", "found"), [(83.0, 0), (84.0, 1), (76.0, 1), (77.0, 0)])
def test_another_rate_is_one_that_differs_by_four(after, found):
    made = 70.0 + 3 * (np.arange(300) // np.where(np.arange(300) < 200, 8, 14) % 2)  # nothing stands out by its length
    made[100:115], made[99], made[115] = 80.0, 81.0, after
    made[10:30] += 40.0
    made[230:260] += 40.0
    assert len(hand_overs(strap(made))) == found


def test_a_run_counts_by_its_length_alone_where_chance_makes_none_so_long():
    # All other runs last 1 s: none is longer than their median, so that chance makes none of 12 s.
    assert hand_overs(held(100, 12)) == (HandOver(100.0, 112.0, EQUAL),)
    assert hand_overs(held(100, 11)) == ()


def test_chance_makes_longer_runs_the_more_and_the_longer_there_are():
    # 28 runs of 10 s, one of 12 and the longest, which is left out: 10 + 1.9 · 2 · ln 15.
    assert _longest_by_chance(np.array([50.0] + [10.0] * 28 + [12.0])) == pytest.approx(10 + 1.9 * 2 * np.log(15))
    # Excesses 200, which counts as 12, and 2: mean 7.
    lasts = np.array([1.0, 1.0, 300.0, 1.0, 3.0, 201.0])
    assert _longest_by_chance(lasts) == pytest.approx(1 + 1.9 * 7 * np.log(3))
    assert _longest_by_chance(np.array([5.0, 7.0, 9.0])) == pytest.approx(6 + 1.9 * 1 * np.log(2))
    assert _longest_by_chance(np.array([5.0, 5.0])) == 5.0
    assert _longest_by_chance(np.array([5.0])) == 0.0


def test_twelve_equal_values_need_twelve_values_however_slow_the_recorder():
    bpm = np.array([80.0, 81.0] * 20 + [80.0] * 11 + [90.0] + [80.0, 81.0] * 20)
    slow = pulse(np.arange(len(bpm)) * 5.0, bpm)
    assert hand_overs(slow) == ()
    bpm = np.insert(bpm, 40, 80.0)
    assert [each.seen for each in hand_overs(pulse(np.arange(len(bpm)) * 5.0, bpm))] == [EQUAL]


def test_values_that_stand_at_the_ends_are_no_hand_over():
    bpm = beating()
    bpm[:40], bpm[260:] = 70.0, 95.0
    assert hand_overs(strap(bpm)) == ()


def test_a_loss_right_behind_the_first_value_or_before_the_last_counts():
    first = strap(calm(), missing=[(1, 41)])
    assert hand_overs(first) == (HandOver(1.0, 41.0, GAP),)
    last = strap(calm(), missing=[(259, 299)])
    assert hand_overs(last) == (HandOver(259.0, 299.0, GAP),)


def test_a_run_right_behind_the_first_one_counts_and_one_that_is_the_last_does_not():
    bpm = calm()
    bpm[0], bpm[1:41], bpm[41] = 90.0, 80.0, 90.0
    assert hand_overs(strap(bpm)) == (HandOver(1.0, 41.0, EQUAL),)
    bpm = calm()
    bpm[250:], bpm[249] = 80.0, 90.0
    assert hand_overs(strap(bpm)) == ()
    bpm[299] = 90.0
    assert hand_overs(strap(bpm)) == (HandOver(250.0, 299.0, EQUAL),)


def test_frozen_values_are_equal_values_and_no_gap():
    bpm = beating()
    bpm[100:190] = 80.0
    bpm[99] = bpm[190] = 81.0
    assert hand_overs(strap(bpm, flags=[(101, 190, Flag.FROZEN)])) == (HandOver(100.0, 190.0, EQUAL),)


def test_what_a_loss_follows_at_once_is_one_hand_over_known_by_the_surer():
    bpm = beating()
    bpm[100:130], bpm[99], bpm[160] = 80.0, 81.0, 84.0
    assert hand_overs(strap(bpm, missing=[(130, 160)])) == (HandOver(100.0, 160.0, GAP),)


# ---- what lies between


def test_stretches_between_hand_overs_and_what_was_measured_of_them():
    made = strap(missing=[(40, 80)], flags=[(190, 230, Flag.NO_CONTACT), (90, 100, Flag.DROPOUT)])
    found = stretches(made, hand_overs(made))
    assert found == (Stretch(0.0, 40.0, 40.0), Stretch(80.0, 190.0, 100.0), Stretch(230.0, 300.0, 70.0))
    assert [each.can_hold() for each in found] == [False, True, True]
    assert [each.can_hold(70.0) for each in found] == [False, True, True]
    assert [each.can_hold(70.1) for each in found] == [False, True, False]


@pytest.mark.parametrize(("measured", "can"), [(29.9, False), (30.0, True)])
def test_half_of_a_stretch_must_be_measured(measured, can):
    assert Stretch(0.0, 60.0, measured).can_hold() is can
    assert not Stretch(0.0, 59.9, 59.9).can_hold()
    assert not Stretch(0.0, 59.9, 59.9).can_hold(10.0)


def test_a_recording_without_a_hand_over_is_one_stretch():
    assert stretches(strap(), ()) == (Stretch(0.0, 300.0, 300.0),)


# ---- what is said, and never who


@pytest.mark.parametrize(
    ("seen", "words"),
    [(CONTACT, "no skin contact"), (GAP, "no heart rate"), (LEAPS, "values that leap"), (EQUAL, "the same")],
)
def test_a_hand_over_is_possible_and_has_a_time(seen, words):
    found = HandOver(754.0, 784.0, seen)
    assert (found.length_s, found.message().code) == (30.0, f"hand_over.{seen}")
    assert english(found.message()).startswith(f"The strap may have been handed to someone else at 12:34: {words}")


# ---- made classes; tests.bench.hand_over_accuracy has the table


@pytest.mark.parametrize("style", STYLES)
def test_hand_overs_of_made_classes_are_found_where_they_were(style):
    found = 0
    for seed in range(12):
        made = handed(style, 500 + seed)
        begin, until = made.handed or (0.0, 0.0)
        found += any(a.from_s < until + 5 and a.until_s > begin - 5 for a in hand_overs(made.recording[HEART_RATE]))
    assert found >= 11


def test_hand_overs_of_the_other_maker_are_found_too():
    found = 0
    for seed in range(12):
        made = other_straps.two(500 + seed, power=bool(seed % 2))
        begin, until = made.handed or (0.0, 0.0)
        found += any(a.from_s < until + 5 and a.until_s > begin - 5 for a in hand_overs(made.recording[HEART_RATE]))
    assert found >= 11


def test_one_student_is_rarely_taken_for_two():
    alone = [worn_by_one(500 + seed, LONG_LOSS_S, 6.0) for seed in range(25)] + [idle(500 + seed) for seed in range(25)]
    alone += [other_straps.one(500 + seed, 6.0, hard=bool(seed % 2)) for seed in range(25)]
    assert sum(bool(hand_overs(each.recording[HEART_RATE])) for each in alone) <= 3


@pytest.mark.parametrize("name", ["rr_long.npy", "rr_short.npy"])
def test_strongly_varying_real_hearts_are_no_hand_over(real_dir, name):
    beats_s = np.load(real_dir / name) / 1000.0
    assert hand_overs(pulse(np.cumsum(beats_s) - beats_s, np.rint(60.0 / beats_s))) == ()


def test_constants_are_those_that_were_measured():
    assert hand_over.FUMBLE_S == 5.0
    assert (hand_over.LEAST_S, hand_over.LEAST_EQUAL, hand_over.OTHER_BPM, hand_over.CLEARLY) == (12.0, 12, 4.0, 1.9)
    assert (hand_over.SURELY_OFF_S, hand_over.AMID_WORK_S) == (40.0, 60.0)
