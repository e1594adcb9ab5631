"""How far off a strap's clock was: laid on the recording's own moments, worked out by hand."""

from datetime import datetime

import pytest
from ownmark.records.day.clock_checks import Shift, shift_of
from ownmark.records.day.happened import Check

NINE = 9 * 3600.0


def check(clock, how="button", shown=None):
    return Check(1, datetime.fromisoformat(f"2026-10-06T{clock}"), how, shown)


def test_without_checks_nothing_is_suggested():
    assert shift_of([], [NINE], [NINE]) is None


def test_a_display_says_it_at_once():
    # The screen showed 09:00:00, the strap 08:59:20: 40 s are to be added.
    assert shift_of([check("09:00:00", "shown", NINE - 40)], [], []) == Shift(40.0, True)
    assert shift_of([check("09:00:00", "shown", NINE + 3600)], [], []) == Shift(-3600.0, True)


def test_a_display_beyond_midnight_goes_the_short_way_round():
    assert shift_of([check("23:59:50", "shown", 5.0)], [], []) == Shift(-15.0, True)
    assert shift_of([check("00:00:05", "shown", 86_390.0)], [], []) == Shift(15.0, True)


@pytest.mark.parametrize(("last", "found"), [(NINE + 60 - 42.5, Shift(40.0, True)), (NINE + 60 - 45.1, None)])
def test_displays_that_disagree_say_nothing(last, found):
    # Shifts of 40, 40 and 42.5 s agree within 2.5 s; 40, 40 and 45.1 do not.
    shown = [check("09:00:00", "shown", NINE - 40), check("09:00:30", "shown", NINE - 10)]
    assert shift_of([*shown, check("09:01:00", "shown", last)], [], []) == found


def test_a_display_goes_before_presses():
    assert shift_of([check("09:00:00", "shown", NINE - 40), check("09:00:00")], [NINE], []) == Shift(40.0, True)


def test_two_flashes_lie_on_two_presses_among_others():
    # The strap's clock is 70 s behind: presses at 08:58:50 and 08:59:20 answer the flashes; the others are laps.
    presses = [NINE - 70, NINE - 40, NINE + 300, NINE + 700]
    assert shift_of([check("09:00:30"), check("09:00:00")], presses, []) == Shift(70.0, True)


def test_the_middle_of_hands_that_are_late_counts():
    # Pressed 0.5 and 1.5 s late: flash minus press is 69.5 and 68.5.
    found = shift_of([check("09:00:00"), check("09:00:30")], [NINE - 69.5, NINE - 38.5], [])
    assert found == Shift(pytest.approx(69.0), True)


def test_flashes_that_no_two_presses_answer_say_nothing():
    checks = [check("09:00:00"), check("09:00:30")]
    assert shift_of(checks, [NINE, NINE + 27.4], []) is None
    assert shift_of(checks, [NINE, NINE + 27.6], []).sure
    assert shift_of(checks, [NINE], []) is None
    assert shift_of(checks, [], [NINE, NINE + 30]) is None


def test_presses_that_answer_in_two_ways_say_nothing():
    # Presses every 30 s answer two flashes 30 s apart wherever they are laid.
    assert shift_of([check("09:00:00"), check("09:00:30")], [NINE + 30 * n for n in range(4)], []) is None


def test_one_flash_is_a_suggestion_where_one_press_alone_is_near():
    assert shift_of([check("09:00:00")], [NINE - 900, NINE + 901], []) == Shift(900.0, False)
    assert shift_of([check("09:00:00")], [NINE - 20, NINE + 800], []) is None
    assert shift_of([check("09:00:00")], [NINE - 901], []) is None


def test_taps_are_held_against_taps():
    taps = [check("09:00:00", "taps"), check("09:00:30", "taps")]
    assert shift_of(taps, [], [NINE + 5, NINE + 35]) == Shift(-5.0, True)
    assert shift_of([*taps, check("09:05:00")], [NINE], [NINE + 5, NINE + 35]) == Shift(-5.0, True)
