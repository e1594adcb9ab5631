"""Two clocks: taps, marks, movement, heart rate, and refusing where nobody can say."""

from dataclasses import replace

import numpy as np
import pytest
from ownmark.ingest.recording import Placing
from ownmark.metrics.messages.trial import CLOCK_NO_EVENTS, CLOCK_OTHER_TAPS
from ownmark.metrics.motion.alignment import Refusal, by_events, by_movement, by_taps, choose
from ownmark.metrics.motion.cross_correlation import match
from ownmark.metrics.motion.grid import Grid, to_grid
from ownmark.metrics.motion.onset_alignment import WITHIN_S, answer, by_heart_rate
from ownmark.metrics.motion.taps import find_taps

from tests.bench.rhythm_accuracy import heart_pair, movement_pair, taps_pair
from tests.makers import two_clocks
from tests.makers.motion import Bout, Sensor, motion
from tests.makers.pulse import Heart, heart, shown


def still_with_taps(taps, rate_hz=50.0, seconds=40.0, noise_g=0.005, seed=0, size_g=4.0):
    """A sensor that lies still and is tapped."""
    rng = np.random.default_rng(seed)
    made = motion(seconds, [], sensor=Sensor(rate_hz=rate_hz, noise_g=noise_g), seed=seed)
    return to_grid(two_clocks.tapped(made.acceleration, taps, rate_hz, rng, size_g))


@pytest.mark.parametrize("rate_hz", [25.0, 50.0, 100.0, 200.0])
def test_three_taps_are_found_to_a_sample(rate_hz):
    taps = (10.3, 11.1, 12.0)
    found = find_taps(still_with_taps(taps, rate_hz))
    assert len(found) == 1
    assert found[0].time_s == pytest.approx(taps, abs=1.5 / rate_hz + 0.02)


@pytest.mark.parametrize(
    "taps",
    [
        (10.0, 11.0),
        (10.0, 10.8, 11.6, 12.4),  # four
        (10.0, 10.5, 12.0),  # uneven
        (10.0, 14.0, 18.0),  # too far apart
        (10.0, 10.1, 10.2),  # one blow that rattles
    ],
)
def test_other_numbers_and_rows_of_knocks_are_no_taps(taps):
    assert find_taps(still_with_taps(taps)) == ()


def test_a_faint_knock_before_two_hard_ones_is_no_row():
    one = still_with_taps((10.8, 11.7), size_g=8.0)
    both = Grid(one.start_s, one.rate_hz, one.values + still_with_taps((10.0,), size_g=0.8, noise_g=0.0).values)
    assert find_taps(both) == ()


def test_steps_wheels_and_cranks_hold_no_taps():
    for seed, place in enumerate(("wrist", "frame", "trunk", "crank")):
        bouts = two_clocks.lesson(4, np.random.default_rng(seed))
        made = motion(240, bouts, placement=place, sensor=Sensor(rate_hz=100, bumps=((100.0, 1.0),)), seed=seed)
        assert find_taps(to_grid(made.acceleration)) == ()


def test_too_short_or_empty_recordings_hold_no_taps():
    for values in (np.empty((0, 3)), np.zeros((2, 3)), np.full((500, 3), np.nan)):
        assert find_taps(Grid(0.0, 50.0, values)) == ()


@pytest.mark.parametrize("rates", [(25.0, 100.0), (50.0, 50.0), (100.0, 200.0)])
def test_taps_align_two_sensors_to_well_under_half_a_second(rates):
    given = 0
    for seed in range(6):
        first, second, offset = taps_pair(100 + seed, rates)
        found = by_taps(first, second)
        if isinstance(found, Placing):
            given += 1
            assert found.offset_s == pytest.approx(offset, abs=1.0 / rates[0] + 1.0 / rates[1])
            assert (found.how, found.drift_ppm) == ("taps", None)
    assert given >= 5


def test_taps_at_both_ends_tell_the_drift_of_the_clocks():
    rng = np.random.default_rng(6)
    bouts = [Bout(30 + 60 * place, 70 + 60 * place, cadence=60, size_g=0.4) for place in range(11)]
    taps = [*two_clocks.row_of_three(8.0, rng), *two_clocks.row_of_three(708.0, rng)]
    first, second = (
        two_clocks.tapped(two_clocks.acceleration(bouts, 720, place, rate, seed), taps, rate, rng)
        for seed, (place, rate) in enumerate((("wrist", 50.0), ("frame", 100.0)))
    )
    found = by_taps(to_grid(first), to_grid(two_clocks.on_other_clock(second, -37.5, drift_ppm=150.0)))
    assert found.drift_ppm == pytest.approx(150.0, abs=40.0)  # a sample of 20 ms over 700 s is 29 millionths
    true = np.array([10.0, 400.0, 710.0])
    np.testing.assert_allclose(found.on_trial(two_clocks.other_clock(true, -37.5, 150.0)), true, atol=0.04)
    assert "give or take" in found.note


def test_taps_in_one_recording_only_are_refused():
    with_taps = still_with_taps((10.0, 10.8, 11.7))
    without = still_with_taps(())
    assert "in the second recording" in by_taps(with_taps, without).reason
    assert "in the first recording" in by_taps(without, with_taps).reason


def test_taps_of_another_rhythm_are_not_the_same_taps():
    one, other = still_with_taps((10.0, 10.7, 11.4)), still_with_taps((10.0, 10.9, 12.0))
    assert "in a different rhythm" in by_taps(one, other).reason


def test_one_row_of_taps_that_fits_two_is_refused():
    one = still_with_taps((10.0, 10.8, 11.7), seconds=60)
    other = still_with_taps((10.0, 10.8, 11.7, 40.0, 40.8, 41.7), seconds=60)
    refused = by_taps(one, other)
    assert isinstance(refused, Refusal)
    assert "2 ways" in refused.reason
    both = by_taps(other, other)
    assert both.offset_s == pytest.approx(0.0, abs=0.01)


def test_a_press_of_the_button_beside_the_taps_aligns_a_heart_rate():
    taps = find_taps(still_with_taps((10.0, 10.8, 11.7)))
    found = by_events([group.time_s[0] for group in taps], [73.0])
    assert found.offset_s == pytest.approx(-63.0, abs=0.05)
    assert found.within_s == 1.0


def test_events_that_do_not_pair_off_are_refused():
    assert "no marked event" in by_events([], [3.0]).reason
    assert "2 marked events and the other 1" in by_events([3.0, 9.0], [3.0]).reason
    assert "not the same distance apart" in by_events([10.0, 500.0], [0.0, 600.0]).reason
    both = by_events([10.0, 1210.0], [0.0, 1200.5])
    assert both.offset_s == 10.0
    assert both.drift_ppm == pytest.approx(1e6 * (1200 / 1200.5 - 1))


@pytest.mark.parametrize("minutes", [6, 9])
def test_two_movement_sensors_of_one_lesson_align_to_under_half_a_second(minutes):
    for seed in range(4):
        first, second, offset = movement_pair(200 + seed, minutes)
        found = by_movement(first, second)
        assert isinstance(found, Placing)
        assert found.offset_s == pytest.approx(offset, abs=found.within_s)
        assert found.within_s == 0.5
        assert found.confidence > 0.3


def test_movements_of_different_lessons_are_refused():
    for seed in range(6):
        first, second, _ = movement_pair(300 + seed, 6, same=False)
        found = by_movement(first, second)
        assert isinstance(found, Refusal)
        assert "taps" in found.reason


def test_movement_that_never_changes_is_refused():
    whole = [Bout(0.0, 300.0, cadence=60.0, wobble=0.0)]
    first = to_grid(two_clocks.acceleration(whole, 300, "wrist", 50.0, 1))
    second = to_grid(two_clocks.acceleration(whole, 300, "frame", 50.0, 2))
    assert isinstance(by_movement(first, second), Refusal)
    flat = Grid(0.0, 50.0, np.tile([0.0, 0.0, 1.0], (15000, 1)))
    assert "do not change" in by_movement(flat, flat).reason
    assert "Less than 60 s" in by_movement(flat, Grid(0.0, 50.0, np.zeros((100, 3)))).reason


def test_work_that_was_done_twice_alike_fits_at_two_offsets_and_is_refused():
    once = [bout for bout in two_clocks.lesson(6, np.random.default_rng(9)) if bout.until_s < 330]
    twice = once + [replace(bout, from_s=bout.from_s + 360, until_s=bout.until_s + 360) for bout in once]
    first = to_grid(two_clocks.acceleration(twice, 720, "wrist", 25.0, 1))
    second = to_grid(two_clocks.acceleration(once, 360, "wrist", 25.0, 2))
    found = by_movement(first, second)
    assert isinstance(found, Refusal)
    assert "repeat themselves" in found.reason
    assert isinstance(by_movement(first.between(0, 360), second), Placing)


def test_one_beginning_and_one_end_that_happen_to_be_as_long_are_no_proof():
    first = to_grid(two_clocks.acceleration([Bout(100, 200, cadence=60.0)], 300, "wrist", 25.0, 1))
    second = to_grid(two_clocks.acceleration([Bout(60, 160, cadence=80.0)], 300, "frame", 25.0, 2))
    found = by_movement(first, second)  # of two lessons; they would fit perfectly at 40 s
    assert isinstance(found, Refusal)


def test_twenty_seconds_on_and_off_are_refused():
    bouts = [Bout(20.0 + 40 * place, 40.0 + 40 * place, cadence=60.0, uneven=0.0, wobble=0.0) for place in range(20)]
    first = to_grid(two_clocks.acceleration(bouts, 840, "wrist", 25.0, 1))
    inside = to_grid(two_clocks.acceleration(bouts, 840, "wrist", 25.0, 2)).between(200, 560)
    assert isinstance(by_movement(first, inside), Refusal)


def test_a_gap_in_one_movement_does_not_move_the_offset():
    rng = np.random.default_rng(8)
    bouts = two_clocks.lesson(10, rng)
    first = to_grid(two_clocks.acceleration(bouts, 600, "wrist", 25.0, 1, gaps=((150.0, 230.0), (400.0, 420.0))))
    second = two_clocks.on_other_clock(two_clocks.acceleration(bouts, 600, "frame", 50.0, 2), 211.3)
    assert by_movement(first, to_grid(second)).offset_s == pytest.approx(211.3, abs=0.5)


def test_sliding_finds_the_shift_of_a_noise_and_half_a_step_of_it():
    rng = np.random.default_rng(3)
    fine = np.convolve(rng.standard_normal(4200), np.hanning(21), "same")
    one, other = fine[:4000:2], fine[101:4101:2]  # 50 and a half steps of 2 later
    found = match(one, 0.0, other, 0.0, 1.0, 100.0, 500)
    assert found.top_s() == pytest.approx(50.5, abs=0.05)
    holes = other.copy()
    holes[300:900] = np.nan
    assert match(one, 0.0, holes, 0.0, 1.0, 100.0, 500).top_s() == pytest.approx(50.5, abs=0.1)
    exact = np.corrcoef(one[50:2000], other[:1950])[0, 1]
    place = int(np.flatnonzero(found.offset_s == 50.0)[0])
    assert found.r[place] == pytest.approx(exact, abs=1e-9)


def test_a_heart_rate_aligns_by_its_onsets_only_to_what_the_result_says():
    errors = []
    for seed in range(5):
        grid, at, bpm, offset = heart_pair(400 + seed)
        found = by_heart_rate(grid, at, np.ones(len(at)), bpm)
        assert isinstance(found, Placing)
        assert found.within_s == WITHIN_S
        assert "good to 15 s at best" in found.note
        errors.append(abs(found.offset_s - offset))
    assert max(errors) <= WITHIN_S
    assert np.median(errors) < 4  # the usual delay of a sensor is allowed for
    assert np.median(errors) > 0.1  # half a second cannot be promised


def test_the_heart_of_another_lesson_is_refused():
    for seed in range(5):
        grid, at, bpm, _ = heart_pair(500 + seed, same=False)
        assert isinstance(by_heart_rate(grid, at, np.ones(len(at)), bpm), Refusal)


def test_one_beginning_and_one_end_are_too_little_to_place_a_heart_rate():
    bouts = [Bout(180.0, 600.0, cadence=60.0)]
    rng = np.random.default_rng(1)
    grid = to_grid(two_clocks.acceleration(bouts, 900, "wrist", 25.0, 1))
    bpm = shown(heart(Heart(), [(180, 600)], 900, rng), rng)
    assert isinstance(by_heart_rate(grid, np.arange(900), np.ones(900), bpm), Refusal)


def test_a_heart_rate_or_a_movement_that_does_not_change_is_refused():
    grid, at, bpm, _ = heart_pair(400)
    assert "10 /min" in by_heart_rate(grid, at, np.ones(900), np.full(900, 90.0)).reason
    constant = to_grid(two_clocks.acceleration([Bout(0, 900, cadence=60.0)], 900, "wrist", 25.0, 1))
    assert "neither begins nor ends" in by_heart_rate(constant, at, np.ones(900), bpm).reason
    assert "Less than 60 s" in by_heart_rate(grid, at[:1], np.ones(1), bpm[:1]).reason


def test_the_heart_answers_work_by_63_percent_in_one_time_constant():
    level = np.repeat([0.0, 5.0], [100, 200])
    assert answer(level, 30.0)[130] == pytest.approx(1 - np.exp(-1), abs=0.02)
    level[:10] = np.nan
    assert np.isnan(answer(level, 30.0)[:10]).all()


def test_the_smallest_error_is_chosen_and_another_answer_that_disagrees_is_named():
    events = Placing("", 0.0, "events", 1.0, 0.6)
    found = choose([events, Refusal((CLOCK_NO_EVENTS,)), Placing("", 37.0, "taps", 0.04, 0.9)])
    assert found.offset_s == 37.0
    assert "By events the offset would be −37.0 s different; taps are used." in found.note
    assert choose([events, Placing("", 0.3, "taps", 0.04, 0.9)]).note == ""
    assert choose([events]).offset_s == 0.0
    one, two = Refusal((CLOCK_NO_EVENTS,)), Refusal((CLOCK_OTHER_TAPS,))
    assert choose([one, two, one]).reasons == (CLOCK_NO_EVENTS, CLOCK_OTHER_TAPS)
    with pytest.raises(ValueError, match="nothing"):
        choose([])
