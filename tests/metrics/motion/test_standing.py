"""Steps against the sway of a standing trunk: made trials with sway of 3 to 20 mg, and open recordings."""

from types import SimpleNamespace

import numpy as np
import pytest
from ownmark.metrics.motion import standing
from ownmark.metrics.motion.bouts import moving_time, stop_count, told_percent, within
from ownmark.metrics.motion.envelope import Means, quick_envelope, short_means
from ownmark.metrics.motion.grid import Grid, to_grid
from ownmark.metrics.motion.moving import moving
from ownmark.metrics.motion.placements import SETTINGS
from ownmark.metrics.motion.standing import _abrupt, _Levels, _levels, _steady, _stepping, _strongest, _told, contrast
from ownmark.metrics.motion.states import Look, look_at

from tests.makers.motion import Bout, Sensor, motion
from tests.makers.real_motion import table, waist

STEPS = {"cadence": 48, "size_g": 0.1, "swing_deg": 3, "alternating": 0.8, "uneven": 0.05, "impact_g": 0.15}


def walk(ends, duration_s, sway_mg, *, seed=0, rate=50.0, slope=1.0, seated=(), noise_g=0.003, **steps):
    """Steps between these moments, and a trunk that sways as the student stands."""
    sensor = Sensor(rate, noise_g=noise_g, sway_g=sway_mg / 1000, sway_slope=slope, seated=seated, drift_deg=1.0)
    bouts = [Bout(begin, until, **(STEPS | steps)) for begin, until in ends]
    return motion(duration_s, bouts, placement="trunk", sensor=sensor, seed=seed)


def see(made):
    return moving(to_grid(made.acceleration), "trunk")


def close(found, made):
    """Within 2 % and 2 s, and the bounds hold."""
    time, truth = moving_time(found), made.truth.moving_s
    assert time.value == pytest.approx(truth, abs=min(2.0, 0.02 * truth))
    assert time.low <= truth <= time.high
    assert time.high - time.low < 0.1 * (found.until_s - found.from_s)


@pytest.mark.parametrize("sway_mg", [3, 5, 10, 15, 20])
@pytest.mark.parametrize("seated", [(), ((-1.0, 55.0),)])
def test_quiet_standing_is_no_walking(sway_mg, seated):
    # 240 s of steps with two pauses of 60 s: the steps alone count, and the pauses are two stops.
    for seed, rate in ((1, 25.0), (2, 50.0), (3, 100.0)):
        made = walk([(60, 140), (200, 280), (340, 420)], 440, sway_mg, seed=seed, rate=rate, seated=seated)
        found = see(made)
        close(found, made)
        assert stop_count(found).value == 2
        assert told_percent(found) > 90


@pytest.mark.parametrize("sway_mg", [3, 8, 15])
@pytest.mark.parametrize("slope", [0.5, 1.5])
def test_stops_of_four_seconds_are_found_in_standing(sway_mg, slope):
    ends = [(10, 40), (44, 75), (79, 110), (130, 160), (162, 190)]  # the last pause, of two seconds, is no stop
    exact = []
    for seed in range(4):
        made = walk(ends, 200, sway_mg, seed=seed, slope=slope)
        found = see(made)
        time = moving_time(found)
        assert time.value == pytest.approx(150, abs=3)
        assert time.low <= 150 <= time.high
        exact.append(stop_count(found).value == 3)
        assert stop_count(found).low <= 3 <= stop_count(found).high
    assert sum(exact) >= 3


def test_steps_without_impacts_are_told_by_their_rhythm():
    for seed in range(3):
        made = walk([(60, 140), (200, 280)], 300, 10, seed=seed, seated=((-1.0, 50.0),), impact_g=0.0)
        close(see(made), made)


@pytest.mark.parametrize("sway_mg", [3, 10, 20])
def test_standing_alone_is_stillness_for_certain(sway_mg):
    for seed in range(3):
        found = see(walk([], 120, sway_mg, seed=seed))
        assert found.moving == ()
        assert moving_time(found).high < 2


def test_where_sway_is_as_loud_as_the_steps_too_little_is_told_for_a_figure():
    # Weak steps without impacts in white sway of 20 mg.
    for seed in range(4):
        weak = {"size_g": 0.04, "swing_deg": 1, "impact_g": 0.0, "cadence": 25}
        made = walk([(20, 60), (80, 120), (140, 180)], 200, 20, seed=seed, slope=0.0, **weak)
        assert told_percent(see(made)) < 70


def test_arm_work_of_a_seated_student_is_found_as_before():
    bouts = [Bout(a, a + 25, cadence=50, size_g=0.06, swing_deg=3) for a in (10, 45, 80)]
    for seed in range(3):
        found = see(motion(120, bouts, placement="trunk", sensor=Sensor(50, noise_g=0.005), seed=seed))
        assert found.threshold_mg <= 10
        assert moving_time(found).value == pytest.approx(75, abs=1.5)
        assert stop_count(found).value == 2


def test_a_recording_without_walking_holds_none(real_dir):
    # not_walking_20hz (MIT, from scikit-digital-health 0.17.18): 60 s that its library calls no gait. Restless: bursts
    # of up to 47 mg, without a rhythm.
    found = moving(to_grid(table(real_dir, "not_walking_20hz.csv", 20.0)), "trunk")
    time = moving_time(found)
    assert time.value <= 1
    assert time.high <= 3


def test_a_recording_of_walking_is_walking(real_dir):
    # walking_20hz (the same source): 120 s, with a rest of some two seconds near 10 s.
    found = moving(to_grid(table(real_dir, "walking_20hz.csv", 20.0)), "trunk")
    assert moving_time(found).value == pytest.approx(117.7, abs=2)
    assert stop_count(found) == (0, 0, 0)


def test_the_stillness_and_the_walks_of_an_open_recording_within_2_seconds(real_dir):
    # waist_walks_50hz (MIT, from gaitpy 1.6.1): the reference lists steps in these; near-perfect stillness between.
    found = moving(to_grid(waist(real_dir)), "trunk")
    for begin, end in ((31.40, 50.24), (64.54, 88.22), (124.88, 149.84)):
        assert moving_time(within(found, begin, end)).value == pytest.approx(end - begin, abs=0.5)
    for begin, end in ((55.5, 63.0), (93.5, 99.5), (116.5, 122.5)):
        assert moving_time(within(found, begin, end)).value <= 0.5


# ---- the parts


def test_the_threshold_lies_above_stillness_and_below_steps():
    assert _Levels(steps=25.0, still=10.0).threshold(6.0) == pytest.approx(14.0)  # 1.4 times the stillness
    assert _Levels(steps=14.4, still=10.0).threshold(6.0) == pytest.approx(12.0)  # halfway, as a ratio
    assert _Levels(steps=44.0, still=10.0).threshold(6.0) == pytest.approx(20.0)  # room: as far below the steps
    assert _Levels(steps=90.0, still=10.0).threshold(6.0) == pytest.approx(22.0)  # ... 2.2 times the stillness at most
    assert _Levels(steps=90.0, still=6.0).threshold(8.4) == pytest.approx(
        8.4
    )  # 1.4 · 6 is no more: no sway to speak of
    assert _Levels(steps=90.0, still=2.0).threshold(6.0) == pytest.approx(6.0)  # what served before is enough


def test_the_strongest_stillness_is_the_95th_in_a_hundred_of_one_that_swells():
    assert _strongest(np.arange(1.0, 101.0)) == 95.0
    assert _strongest(np.full(20, 3.0)) == 3.0  # noise is as loud throughout
    assert _strongest(np.empty(0)) == 0.0


def test_what_lies_above_a_hollow_is_a_movement_without_a_rhythm_and_no_sway():
    quiet, movement = np.linspace(1.0, 3.0, 80), np.full(20, 30.0)
    assert _strongest(np.concatenate((quiet, movement))) == pytest.approx(2.9, abs=0.1)


def test_nothing_but_stillness_has_no_strongest_movement_and_a_wide_threshold():
    # 1.4 and 2.2 as they are, the geometric mean where it is less: 1.4 · 10 against √(19 · 10) = 13.8.
    assert _Levels(steps=19.0, still=10.0).threshold(6.0) == pytest.approx(np.sqrt(190))
    assert _Levels(steps=0.0, still=0.0).threshold(0.0) == 0.0
    assert _Levels(steps=44.0, still=10.0).threshold(14.0) == pytest.approx(14.0)  # no louder than what served before


def hand(slow, fast, *, level=20.0, quick=4.0):
    return _told(np.array([level]), np.array([quick]), (_Levels(*slow), _Levels(*fast)), 6.0, 10.0)


def test_far_louder_steps_lift_the_threshold_and_what_is_quick_counts_beside_it():
    found = hand((60.0, 10.0), (30.0, 3.0), quick=12.0)
    assert found.threshold == pytest.approx(22.0)
    assert found.sides == (pytest.approx(14.0), pytest.approx(33.0))  # 1.4 · 10 and 1.5 · 22
    assert found.level == pytest.approx([26.4])  # 12 of 10 by impacts, on the scale of 22
    assert found.quick_edges


def test_where_sway_is_as_loud_as_steps_what_is_quick_tells():
    found = hand((14.0, 10.0), (30.0, 3.0), quick=12.0)
    assert found.threshold == pytest.approx(14.0)
    assert found.sides == (pytest.approx(10.0), pytest.approx(17.5))  # 1.25 · 14
    assert found.level == pytest.approx([40.0])  # 12 of 4.2
    assert hand((15.0, 10.0), (30.0, 3.0), quick=12.0).level == pytest.approx([20.0])  # 1.5 times: 12 of 10


def test_where_nothing_quick_is_in_stillness_impacts_alone_tell():
    found = hand((14.0, 10.0), (30.0, 0.0), quick=12.0, level=1.0)
    assert found.level == pytest.approx([1.2 * 14])
    assert not found.quick_edges


@pytest.mark.parametrize(("steps", "quick_edges"), [(4.5, False), (4.6, True)])
def test_edges_show_in_changes_where_quick_steps_are_half_again_as_loud(steps, quick_edges):
    assert hand((60.0, 10.0), (steps, 3.0)).quick_edges is quick_edges


def test_a_threshold_that_served_before_stays_and_nothing_quick_adds_to_it():
    found = hand((60.0, 2.0), (30.0, 3.0), quick=500.0)
    assert (found.threshold, found.level.tolist()) == (6.0, [20.0])
    assert found.sides == (3.0, 9.0)


def test_doubt_begins_above_stillness_and_ends_halfway_to_the_steps():
    assert hand((24.0, 10.0), (30.0, 3.0)).sides == (pytest.approx(12.0), pytest.approx(np.sqrt(14 * 24)))
    assert hand((60.0, 5.0), (30.0, 3.0)).sides[0] == pytest.approx(7.0)


STEP_S = 0.1


def tenths(values):
    values = np.asarray(values, dtype=float)
    return Means(0.0, STEP_S, np.zeros((3, len(values))), np.isfinite(values))


def test_a_level_is_steadied_over_seven_tenths_of_what_is_known():
    level = np.array([1.0, 2, 3, 4, 5, 6, 7, 8, np.nan, 10])
    found = _steady(level, tenths(level))
    assert found[3] == pytest.approx(4.0)
    assert found[0] == pytest.approx(2.5)
    assert found[6] == pytest.approx((4 + 5 + 6 + 7 + 8 + 10) / 6)
    assert _steady(np.full(9, np.nan), tenths(np.full(9, np.nan))).tolist() == [0.0] * 9


def abrupt(level, before, behind, *, rhythm_at=None):
    """Whether a movement of a second with these levels before and behind it is abrupt."""
    mean = np.concatenate(
        (np.full(35, before), np.full(5, level), np.full(10, level), np.full(5, level), np.full(35, behind))
    )
    state = np.zeros(90, np.int8)
    state[40:50] = 1
    near = np.zeros(90, bool)
    if rhythm_at is not None:
        near[rhythm_at] = True
    found = _abrupt(mean.astype(float), state, near, tenths(mean))
    assert set(np.flatnonzero(found)) in (set(), set(range(40, 50)))
    return bool(found.any())


def test_a_movement_three_times_as_loud_as_before_and_behind_is_no_sway():
    assert abrupt(31.0, 10.0, 1.0)
    assert abrupt(31.0, 1.0, 10.0)
    assert not abrupt(30.0, 10.0, 1.0)
    assert not abrupt(30.0, 1.0, 10.0)


def test_a_movement_with_a_rhythm_is_not_judged_so():
    assert not abrupt(31.0, 1.0, 1.0, rhythm_at=40)
    assert not abrupt(31.0, 1.0, 1.0, rhythm_at=49)
    assert abrupt(31.0, 1.0, 1.0, rhythm_at=39)
    assert abrupt(31.0, 1.0, 1.0, rhythm_at=50)


def test_the_level_beside_a_movement_is_that_of_the_two_seconds_but_half_a_one():
    mean, state = np.full(90, 1.0), np.zeros(90, np.int8)
    state[40:50], mean[40:50] = 1, 31.0
    mean[:20], mean[70:] = 999.0, 999.0  # further away than two seconds
    mean[35:40], mean[50:55] = 999.0, 999.0  # nearer than half a second
    assert _abrupt(mean, state, np.zeros(90, bool), tenths(mean))[40:50].all()
    for place in (20, 34, 55, 69):
        other = mean.copy()
        other[place] = 999.0
        assert not _abrupt(other, state, np.zeros(90, bool), tenths(other)).any(), place


def test_weakest_steps_and_strongest_stillness_between_them():
    stepping = np.zeros(400, bool)
    stepping[100:200] = stepping[300:400] = True
    mean = np.full(400, 5.0)
    mean[stepping] = np.arange(1.0, 201.0)  # the 5th percentile is 10.95, the 20th 40.8
    mean[:100] = np.linspace(5.0, 30.0, 100)
    found = _levels(mean, stepping, ~stepping, 30)
    assert found.steps == pytest.approx(10.95)
    assert found.still == 5.0  # before the first steps and behind the last is elsewhere
    assert _levels(mean, stepping, ~stepping, 100).still == 5.0
    assert _levels(mean, stepping, ~stepping, 101).still == pytest.approx(27.47, abs=0.01)  # too little between them
    mean[200:300] = 40.7
    assert _levels(mean, stepping, ~stepping, 30).still == pytest.approx(40.7)
    mean[200:300] = 40.9  # as loud as usual steps
    assert _levels(mean, stepping, ~stepping, 30).still == pytest.approx(28.74, abs=0.01)


def test_a_hollow_is_where_fewer_lie_than_above_and_than_below():
    # 20 of 1, then nothing up to 10 of 9: the top is 9, between 4.5 and 7.2 there is nothing.
    assert _strongest(np.array([1.0] * 20 + [9.0] * 10)) == 1.0
    assert _strongest(np.array([1.0] * 20 + [5.0] * 10 + [9.0] * 10)) == 9.0  # as many between as above
    assert _strongest(np.array([1.0] * 20 + [5.0] * 9 + [9.0] * 10)) == 1.0  # and again below


def still_look(seconds, mg=0.0):
    grid = Grid(0.0, 20.0, np.random.default_rng(0).normal(0, mg / 1000, (round(20 * seconds), 3)))
    raw = short_means(grid, 0.05)
    return grid, raw, look_at(raw, SETTINGS["trunk"])


def test_without_steps_all_but_what_is_louder_than_any_sway_is_stillness():
    grid, raw, look = still_look(30, 5.0)
    found = contrast(grid, raw, look, np.zeros(len(raw.measured), np.int8), 6.0, 2.0)
    assert (found.threshold, found.quick_edges) == (40.0, True)
    assert found.sides == (pytest.approx(28.0), 60.0)
    assert found.level == pytest.approx(np.maximum(look.level, quick_envelope(raw, 0.6)))


def test_above_the_loudest_sway_and_in_too_short_a_recording_the_threshold_serves():
    grid, raw, look = still_look(30, 5.0)
    state = np.zeros(len(raw.measured), np.int8)
    assert contrast(grid, raw, look, state, 40.0, 2.0) is None
    assert contrast(grid, raw, look, state, 39.9, 2.0) is not None
    grid, raw, look = still_look(0.5)
    assert contrast(grid, raw, look, np.zeros(len(raw.measured), np.int8), 6.0, 2.0) is None


@pytest.mark.parametrize("count", [2, 3, 4, 5, 6])
def test_a_trunk_recording_of_a_few_samples_is_answered_and_never_a_crash(tmp_path, count):
    from ownmark.errors import BasisError
    from ownmark.ingest import read
    from ownmark.metrics import Asked, effort
    from ownmark.metrics.motion_figures import prepared

    rows = [f"{0.04 * row:.2f},{0.993 + 0.001 * (row % 2):.3f},0.001,0.004" for row in range(count)]
    path = tmp_path / "short.csv"
    path.write_text("\n".join(["time_s,Accelerometer X (g),Accelerometer Y (g),Accelerometer Z (g)", *rows, ""]))
    recording = read(path)
    with pytest.raises(BasisError):  # under a second nothing is judged
        effort(recording, asked=Asked(placement="trunk"))
    grid, _ = prepared(recording["acceleration"])
    assert grid is None or moving_time(moving(grid, "trunk")).value in (None, 0.0)


# ---- what counts as stillness and as steps


class _Told(Exception):
    """Carries what was handed on."""


def handed(monkeypatch, still=10.0, quick=3.0, *, threshold=6.0, floor=2.0, much=None, state=None, near=None):
    """Levels of steps and stillness, and of impacts, that a recording by hand hands on: 10 s of each, twice.

    still, quick : of the stillness between the steps, or of its two halves
    """
    slow = np.repeat([5.0, 100.0, 5.0, 100.0], 100)
    fast = np.repeat([1.0, 50.0, 1.0, 50.0], 100)
    slow[200:300], fast[200:300] = np.repeat(still, 100 // np.size(still)), np.repeat(quick, 100 // np.size(quick))
    stepping = np.repeat([False, True, False, True], 100)
    state = stepping.astype(np.int8) if state is None else state
    if much is not None:
        slow[200:300] = 5.0
        slow[240 : 240 + much] = 9.0
    near = np.zeros(400, bool) if near is None else near

    def told(_level, _quick, found, _threshold, impact):
        raise _Told(*found, impact)

    monkeypatch.setattr(standing, "quick_envelope", lambda *_: fast)
    monkeypatch.setattr(standing, "_stepping", lambda *_: (stepping.copy(), near))
    monkeypatch.setattr(standing, "_told", told)
    monkeypatch.setattr(standing, "_steady", lambda level, _: level)
    look = Look(SETTINGS["trunk"], tenths(slow), slow, 2.0, 0.0)
    try:
        return contrast(None, tenths(slow), look, state, threshold, floor)
    except _Told as caught:
        return caught.args


def test_levels_of_steps_and_of_the_stillness_between_them(monkeypatch):
    slow, fast, impact = handed(monkeypatch)
    assert (slow, fast, impact) == (_Levels(100.0, 10.0), _Levels(50.0, 3.0), 10.0)


@pytest.mark.parametrize(("still", "strongest"), [(39.9, 39.9), (40.0, 25.0)])
def test_what_is_as_loud_as_40_is_no_sway(monkeypatch, still, strongest):
    assert handed(monkeypatch, [25.0, 25.0, 25.0, still])[0].still == strongest


@pytest.mark.parametrize(("quick", "strongest"), [(9.9, 9.9), (10.0, 6.0)])
def test_what_is_as_quick_as_an_impact_is_no_sway(monkeypatch, quick, strongest):
    assert handed(monkeypatch, quick=[6.0, 6.0, 6.0, quick])[1].still == strongest


@pytest.mark.parametrize(("quick", "impact"), [(3.9, 10.0), (4.1, 10.25), (8.0, 20.0)])
def test_impacts_stand_out_by_10_and_by_two_and_a_half_floors(monkeypatch, quick, impact):
    fast = np.repeat([quick, 90.0], [80, 320])  # the tenth quietest in a hundred

    def told(*words):
        raise _Told(words[-1])

    monkeypatch.setattr(standing, "quick_envelope", lambda *_: fast)
    monkeypatch.setattr(standing, "_told", told)
    stepping = np.repeat([False, True], [200, 200])
    monkeypatch.setattr(standing, "_stepping", lambda *_: (stepping.copy(), stepping))
    level = np.repeat([10.0, 100.0], [200, 200])
    look = Look(SETTINGS["trunk"], tenths(level), level, 2.0, 0.0)
    with pytest.raises(_Told) as caught:
        contrast(None, tenths(level), look, stepping.astype(np.int8), 6.0, 0.0)
    assert caught.value.args == (pytest.approx(impact),)


def test_what_is_near_steps_or_not_measured_is_no_sway(monkeypatch):
    still = [10.0, 10.0, 10.0, 15.0]
    assert handed(monkeypatch, still)[0].still == 15.0
    near = np.zeros(400, bool)
    near[275:300] = True
    assert handed(monkeypatch, still, near=near)[0].still == 10.0
    state = np.repeat(np.array([0, 1, 0, 2, 1], np.int8), [100, 100, 75, 25, 100])
    assert handed(monkeypatch, still, state=state)[0].still == 10.0
    state[275:295], state[295:300] = (
        1,
        0,
    )  # a movement without a rhythm, but not three times as loud as what is beside it
    assert handed(monkeypatch, still, state=state)[0].still == 15.0


@pytest.mark.parametrize(("much", "strongest"), [(59, 6.0), (60, 9.0)])
def test_under_6_s_above_the_threshold_are_no_reason_to_raise_it(monkeypatch, much, strongest):
    assert handed(monkeypatch, much=much)[0].still == strongest


@pytest.mark.parametrize(("floor", "raised"), [(6.66, True), (6.67, False)])
def test_stillness_of_under_one_and_a_half_floors_does_not_sway(monkeypatch, floor, raised):
    assert (handed(monkeypatch, floor=floor) is not None) is raised


def test_only_what_was_taken_for_movement_is_steps(monkeypatch):
    state = np.zeros(400, np.int8)
    assert handed(monkeypatch, state=state).threshold == 40.0  # no movement, no steps
    state[350:400] = 1
    assert handed(monkeypatch, state=state)[0].still == 10.0
    state[350:400] = 2
    assert handed(monkeypatch, state=state).threshold == 40.0
    state[210:240] = 1  # a movement where no steps are
    assert handed(monkeypatch, state=state).threshold == 40.0


def test_stillness_between_steps_is_enough_from_3_s_on_and_a_parabola_lasts_6_tenths(monkeypatch):
    asked = []

    def levels(mean, stepping, sway, least):
        asked.append(least)
        return _levels(mean, stepping, sway, least)

    monkeypatch.setattr(standing, "_levels", levels)
    assert handed(monkeypatch)[0] == _Levels(100.0, 10.0)
    assert asked == [30, 30]
    monkeypatch.setattr(standing, "quick_envelope", lambda _, seconds: asked.append(seconds) or np.full(400, np.nan))
    state = np.zeros(400, np.int8)
    level = np.full(400, 5.0)
    assert (
        contrast(None, tenths(level), Look(SETTINGS["trunk"], tenths(level), level, 2.0, 0.0), state, 6.0, 2.0) is None
    )
    assert asked[2:] == [0.6]


def stepping(monkeypatch, *per_minute):
    """Which of twelve seconds are steps, and near steps, by a rhythm in windows around 1, 3, 5 … s."""
    asked = []

    def found(_grid, spans):
        asked.extend(spans)
        beat = np.array(per_minute, dtype=float)
        return SimpleNamespace(per_minute=beat, time_s=5.0 + 1.0 + 2.0 * np.arange(len(beat)))

    monkeypatch.setattr(standing, "rhythm", found)
    state = np.repeat(np.array([0, 1, 2, 1], np.int8), [30, 40, 20, 30])
    means = Means(5.0, STEP_S, np.zeros((3, 120)), np.ones(120, bool))
    inside, near = _stepping(None, means, state)
    assert np.array(asked) == pytest.approx(np.array([(8.0, 12.0), (14.0, 17.0)]))
    return stretched(inside), stretched(near)


def stretched(mask):
    edges = np.flatnonzero(np.diff(mask.astype(np.int8), prepend=0, append=0))
    return edges.reshape(-1, 2).tolist()


def test_steps_are_where_a_rhythm_has_rhythms_beside_it(monkeypatch):
    nan = np.nan
    # A window speaks for 1.2 s before and behind its middle, and 2 s around it are near steps.
    assert stepping(monkeypatch, nan, nan, 60, 60, 60, nan) == ([[58, 82]], [[30, 110]])
    assert stepping(monkeypatch, nan, nan, 60, 60, nan, nan) == ([], [[30, 90]])
    assert stepping(monkeypatch, 60, 60, nan, nan, 60, 60) == ([[0, 22], [98, 120]], [[0, 50], [70, 120]])
    assert stepping(monkeypatch, nan, nan, nan, 60, nan, nan) == ([], [[50, 90]])


def test_the_trial_lasts_from_the_first_step_to_the_last():
    steps = np.zeros(400, bool)
    steps[100:200] = steps[390] = steps[50] = True
    mean = np.where(steps, 100.0, 5.0)
    mean[51:60], mean[380:390] = 9.0, 9.0
    mean[:50], mean[391:] = 14.0, 14.0
    sway = ~steps
    sway[60:100] = sway[200:380] = False
    assert _levels(mean, steps, sway, 19).still == 9.0
    assert _levels(mean, steps, sway, 20).still == 14.0
