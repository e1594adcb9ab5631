"""Knocks of a floor: what is one by its length, strength and weight, and cadence between regular ones."""

import numpy as np
import pytest
from ownmark.metrics.motion.band import rhythm_band, running_means
from ownmark.metrics.motion.floor_knocks import _heavy, _left, _level, _sharp, knocks
from ownmark.metrics.motion.grid import Grid, to_grid
from ownmark.metrics.motion.rhythm import rhythm

from tests.bench.rhythm_cases import over_joints
from tests.makers.motion import Bout, motion
from tests.makers.walks import FORMS, Walk, knocked, walk

RATE_HZ = 100.0


def marked(values, rate_hz=RATE_HZ):
    """What is called a knock, of a movement along one axis."""
    columns = values[:, None] if values.ndim == 1 else values
    grid = Grid(0.0, rate_hz, columns)
    return knocks(grid, rhythm_band(grid))


def humps(length_s, begins_s, seconds=60.0, size_g=1.0):
    """Half a sine wave at each moment, nothing between."""
    time = np.arange(round(seconds * RATE_HZ)) / RATE_HZ
    return sum(
        size_g * np.where((time >= at) & (time < at + length_s), np.sin(np.pi * (time - at) / length_s), 0.0)
        for at in begins_s
    )


@pytest.mark.parametrize(("length_s", "short"), [(0.05, True), (0.2, True), (0.32, True), (0.33, False), (0.5, False)])
def test_what_lasts_under_a_third_of_a_second_is_a_knock(length_s, short):
    # At the top of half a sine wave of length L: mean over 0.1 s sin(0.05 pi / L) L / (0.05 pi), over 0.4 s 2 L / (0.4
    # pi), over 3 s 2 L / (3 pi). The first less the second, as a share of the first less the third, is 0.505 for 0.32 s
    # and 0.490 for 0.33 s; more than 0.5 is a knock.
    assert marked(humps(length_s, np.arange(3.0, 58.0, 3.0))).any() == short


def test_a_knock_is_marked_from_its_beginning_to_its_end_and_little_more():
    # It stands out for 0.1 s around its middle, at 30.1 s; 0.12 s before and behind belong to it.
    mask = marked(humps(0.2, np.arange(2.0, 58.0, 4.0)))
    time = np.flatnonzero(mask) / RATE_HZ
    one = time[(time > 28) & (time < 32)]
    assert one[0] == pytest.approx(29.94)
    assert one[-1] == pytest.approx(30.27)
    assert np.diff(one).max() == pytest.approx(0.01)


def test_the_stillness_beside_a_push_is_no_knock():
    # Beside a push of half a second its mean over 0.4 s lies further from the signal than that over 3 s.
    assert not marked(humps(0.5, np.arange(3.0, 57.0, 3.0))).any()


def test_what_beats_faster_than_about_80_a_minute_is_the_movement_itself():
    assert marked(humps(0.2, np.arange(2.0, 58.0, 0.9))).any()
    assert not marked(humps(0.2, np.arange(2.0, 58.0, 0.6))).any()


def circle(size, hz=2.0, seconds=60.0):
    """A vector that turns twice a second: means over 0.1 and 0.4 s differ by 0.7016 of its length all the time."""
    time = np.arange(round(seconds * RATE_HZ)) / RATE_HZ
    turn = 2 * np.pi * hz * time
    return np.asarray(size)[:, None] * np.stack((np.cos(turn), np.sin(turn)), axis=1)


@pytest.mark.parametrize(("times", "stands_out"), [(1.45, False), (1.55, True)])
def test_a_knock_stands_out_by_one_and_a_half_times(times, stands_out):
    time = np.arange(6000) / RATE_HZ
    size = 1.0 + (times - 1.0) * np.interp(np.abs(time - 30.0), [0.3, 0.55], [1.0, 0.0])
    assert marked(circle(size)).any() == stands_out


def test_what_has_no_weight_in_the_band_of_rhythm_is_left_where_it_is():
    # A rattle of 10 Hz stands out as much as a knock; of its power nothing passes 4.3 Hz.
    time = np.arange(6000) / RATE_HZ
    swing = 0.3 * np.cos(2 * np.pi * 0.8 * time)
    rattle = np.exp(-0.5 * ((time - 30.0) / 0.2) ** 2) * np.cos(2 * np.pi * 10 * time)
    assert not marked(swing + rattle).any()
    assert marked(swing + humps(0.2, [30.0], size_g=2.0)).any()


def test_a_gap_is_no_knock_and_hides_none():
    values = humps(0.2, [10.0, 30.0])
    values[1500:2900] = np.nan
    mask = marked(values)
    assert mask[1000:1020].all()
    assert mask[3000:3020].all()
    assert not mask[1100:2900].any()
    assert not marked(np.full(6000, np.nan)).any()
    assert not marked(np.zeros(30)).any()


def test_a_gap_beside_it_gives_no_weight_to_what_has_none():
    # A swing of steady power and a rattle that adds none; of the 12 s around, 7 are lost. They count for nothing.
    values = circle(np.full(6000, 0.3), hz=0.8)
    time = np.arange(6000) / RATE_HZ
    values[:, 0] += 2.0 * np.exp(-0.5 * ((time - 30.0) / 0.2) ** 2) * np.cos(2 * np.pi * 10 * time)
    values[2400:2800] = values[3300:3600] = np.nan
    assert not marked(values).any()


def test_what_was_not_measured_makes_no_level_quieter():
    values = circle(np.ones(6000))
    values[1000:5900] = np.nan
    assert not marked(values).any()


def test_running_means_are_centred_and_the_ends_stand_on():
    # By hand; of an even count one more lies before than behind.
    three, four = running_means(np.array([[1.0, 2.0, 6.0, 10.0]]), [3, 4])
    np.testing.assert_allclose(three, [[4 / 3, 3.0, 6.0, 26 / 3]])
    np.testing.assert_allclose(four, [[5 / 4, 10 / 4, 19 / 4, 28 / 4]])


@pytest.mark.parametrize("form", FORMS)
def test_joints_every_4_s_do_not_become_the_cadence_of_pushes_at_47(form):
    # Without a search for knocks: 15 a minute in nearly all of the movement, from knocks of 0.6 to 2 g on.
    for seed, size_g in enumerate((0.6, 2.0, 4.0)):
        assert over_joints(47, 4.0, size_g, form, seed)[0] == pytest.approx(47, rel=0.02)


@pytest.mark.parametrize("form", FORMS)
def test_rolling_over_joints_without_a_push_has_no_cadence(form):
    for seed, size_g in enumerate((0.6, 2.0)):
        assert over_joints(None, 4.0, size_g, form, seed)[0] is None


def test_slow_short_pushes_of_a_frame_are_not_taken_for_knocks():
    time = np.arange(6000) / RATE_HZ
    for per_minute in (17, 25, 40):
        begins = np.arange(3.0, 57.0, 60 / per_minute)
        noise = 0.004 * np.random.default_rng(per_minute).standard_normal((6000, 3))
        values = 0.2 * humps(0.4, begins)[:, None] * [1.0, 0.2, 0.0] + [0.0, 0.0, 1.0] + noise
        found = rhythm(Grid(0.0, RATE_HZ, values), [(3.0, float(time[-1]) - 2)])
        assert found.cadence_mean.value == pytest.approx(per_minute, rel=0.02)
        assert found.knocks_s == 0


def test_hard_footfalls_keep_their_rhythm():
    for seed in range(3):
        felt, falls = walk(Walk(ratio=3.0, landing_s=0.04), 60.0, seed)
        found = rhythm(Grid(0.0, 50.0, felt.values), [(0.0, 60.0)])
        strides = 30 * (len(falls) - 1) / (falls[-1] - falls[0])
        assert found.cadence_mean.value == pytest.approx(strides, rel=0.02)


def test_beats_on_a_drum_keep_their_rhythm():
    # The arm swings, and each cycle ends in a blow.
    made = motion(80.0, [Bout(5, 75, cadence=50)], placement="wrist", seed=2)
    blows = made.truth.cycles[0][1:-1]
    felt = knocked(made.acceleration, blows.tolist(), 2.0, "50 ms", 2)
    found = rhythm(to_grid(felt), made.truth.moving)
    assert found.cadence_mean.value == pytest.approx(50, rel=0.02)
    assert found.rhythmic_s == pytest.approx(70, abs=1)


def test_the_time_that_knocks_take_is_told():
    swing = 0.3 * np.cos(2 * np.pi * 0.8 * np.arange(6000) / RATE_HZ)
    values = np.stack((swing, np.zeros(6000), np.ones(6000)), axis=1)
    assert rhythm(Grid(0.0, RATE_HZ, values), [(0.0, 60.0)]).knocks_s == 0
    values[:, 1] += humps(0.2, np.arange(3.0, 60.0, 4.0), size_g=3.0)
    found = rhythm(Grid(0.0, RATE_HZ, values), [(0.0, 60.0)])
    assert 15 * 0.2 <= found.knocks_s <= 15 * 0.6
    half = rhythm(Grid(0.0, RATE_HZ, values), [(0.0, 60.0)], within=(0.0, 30.0))
    assert half.knocks_s == pytest.approx(found.knocks_s * 7 / 15, rel=0.05)
    assert found.cadence_mean.value == pytest.approx(48, rel=0.01)


# ---- by hand


def test_what_is_sharp_stands_out_and_is_not_beside_a_push():
    brief = np.array([1.49, 1.51, 1.51, 1.51, 1.51, np.nan])
    around = np.array([2.0, 2.0, 3.03, 1.51 / 1.26, 1.51 / 1.24, 2.0])
    assert _sharp(brief, around, np.ones(6)).tolist() == [False, True, False, False, True, False]
    assert _sharp(np.array([1.51]), np.array([3.01]), np.ones(1)).all()


def test_nine_tenths_of_what_was_measured_stay_below_the_level():
    def alone(values):
        """The level of one window that holds all of them."""
        found = _level(values, len(values))
        assert (found == found[0]).all()
        return found[0]

    assert alone(np.arange(101.0)[::-1]) == 90.0
    assert alone(np.append(np.arange(101.0), [np.nan, np.nan])) == 90.0
    assert alone(np.append(np.arange(100.0), np.nan)) == 89.0
    assert alone(np.array([3.0])) == 3.0
    assert alone(np.array([5.0, 4.0, np.nan])) == 4.0
    assert alone(np.array([np.nan])) == np.inf


def test_a_window_without_a_measurement_has_no_level_and_its_neighbours_keep_theirs():
    values = np.concatenate((np.arange(8.0), np.full(8, np.nan), np.arange(8.0)))
    found = _level(values, 4)  # windows of four begin at every sample; nine tenths of three steps are two
    assert found[[2, 20]].tolist() == [2.0, 4.0]
    assert np.isinf(found[[12, 13]]).all()


@pytest.mark.parametrize("count", [20, 21])
def test_the_level_is_taken_four_times_a_window_and_lines_lie_between(count):
    # Windows of eight begin at 0, 2, … 12; nine tenths of seven steps are six.
    found = _level(np.arange(float(count)), 8)
    assert found == pytest.approx(np.clip(np.arange(count) + 2.0, 6.0, 18.0))


def test_a_level_of_short_windows_and_of_short_recordings():
    assert _level(np.arange(6.0), 2).tolist() == [0, 0, 1, 2, 3, 4]
    assert _level(np.arange(11.0), 40).tolist() == [9.0] * 11
    assert _level(np.arange(4.0), 1).tolist() == [0, 0.5, 1.5, 2.5]


def heavy(power, hits, *, every=10, measured=None):
    """Which stretches of samples are heavy, of a band of ten samples a second with this power."""
    values = np.sqrt(np.asarray(power, dtype=float))[:, None] * [0.6, 0.8]
    if measured is not None:
        values[~measured] = np.nan
    hit = np.zeros(len(values) * every, bool)
    for first, last in hits:
        hit[first:last] = True
    found = _heavy(hit, Grid(0.0, 10.0, values), every)
    edges = np.flatnonzero(np.diff(found.astype(np.int8), prepend=0, append=0))
    return edges.reshape(-1, 2).tolist()


@pytest.mark.parametrize(("own", "is_heavy"), [(1.49, False), (1.51, True)])
def test_a_knock_weighs_half_again_as_much_as_the_rest(own, is_heavy):
    power = np.ones(400)
    power[200:204] = own
    assert heavy(power, [(2003, 2037)]) == ([[2003, 2037]] if is_heavy else [])
    power[[199, 204]] = 9.0  # what is beside it is not its own, and part of the rest
    assert heavy(power, [(2003, 2037)]) == ([[2003, 2037]] if own > 1.5 * (114 + 18) / 116 else [])


def test_each_knock_is_weighed_alone_and_other_knocks_are_no_rest():
    power = np.ones(400)
    power[0:2], power[200:203], power[250:260], power[398:400] = 1.6, 1.2, 5.0, 3.0
    hits = [(0, 20), (2000, 2030), (2500, 2600), (3980, 4000)]
    assert heavy(power, hits) == [[0, 20], [2500, 2600], [3980, 4000]]
    power[250:260] = 1.0
    assert heavy(power, [(2000, 2001)]) == []
    power[200] = 1.6
    assert heavy(power, [(2000, 2001)]) == [[2000, 2001]]  # the sample that holds it
    assert heavy(power, []) == []


def test_the_rest_is_what_lies_within_6_seconds():
    power = np.zeros(400)
    power[200:203] = 0.051
    power[[143, 259]] = 2.0  # 5.8 s away on both sides: of 117 samples that are no knock, two
    assert heavy(power, [(2000, 2030)]) == [[2000, 2030]] * (0.051 > 1.5 * 4 / 117)
    power[200:203] = 0.0515
    assert heavy(power, [(2000, 2030)]) == [[2000, 2030]]
    power[200:203] = 0.051
    assert heavy(power, [(2000, 2030)]) == []
    power[[143, 259]], power[[139, 263]] = 0.0, 2.0  # 6.2 s away
    assert heavy(power, [(2000, 2030)]) == [[2000, 2030]]


@pytest.mark.parametrize(("own", "is_heavy"), [(0.74, False), (0.76, True)])
def test_a_rest_of_under_a_tenth_counts_for_less(own, is_heavy):
    # Six of 120 samples: 0.05 of power 1, held against a tenth; half again as much is 0.75.
    measured = np.zeros(400, bool)
    measured[200:203] = measured[220:226] = True
    power = np.ones(400)
    power[200:203] = own
    assert bool(heavy(power, [(2000, 2030)], measured=measured)) is is_heavy


@pytest.mark.parametrize(("size_g", "found"), [(2.55e-4, False), (2.61e-4, True)])
def test_in_a_signal_without_noise_nothing_under_a_tenth_of_a_thousandth_stands_out(size_g, found):
    # At the top of half a sine of 0.2 s: 0.900 over 0.1 s less 0.318 over 0.4 s, and half again as much as 0.1 mg.
    assert marked(humps(0.2, [30.0], size_g=size_g)).any() == found


@pytest.mark.parametrize(("rate_hz", "short", "brief", "around"), [(100.0, 10, 40, 300), (24.0, 2, 10, 72)])
def test_means_over_a_tenth_four_tenths_and_three_seconds_are_held_against_each_other(rate_hz, short, brief, around):
    # Of one sample of 5: each mean holds it over its own length.
    columns = np.zeros((2, 1000))
    columns[:, 500] = 3.0, 4.0
    beside, beyond = _left(columns, rate_hz)
    top, foot = 5 / short - 5 / brief, 5 / brief
    assert np.count_nonzero(np.isclose(beside, top)) == short
    assert np.count_nonzero(np.isclose(beside, foot)) == brief - short
    assert np.count_nonzero(np.isclose(beyond, 5 / short - 5 / around)) == short
    assert np.count_nonzero(np.isclose(beyond, 5 / around)) == around - short


def test_a_sensor_of_less_than_ten_samples_a_second_has_no_shorter_mean_than_a_sample():
    beside, _ = _left(np.array([[0.0, 0.0, 6.0, 0.0, 0.0]]), 4.0)  # 0.1 s are none, 0.4 s are two
    assert beside.tolist() == [0.0, 0.0, 3.0, 3.0, 0.0]


def test_a_recording_of_a_moment_is_answered():
    for count in (0, 1, 3, 39):
        assert not marked(np.ones(count)).any()
