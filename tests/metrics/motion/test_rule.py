"""The rule that tells movement from stillness: floor, threshold, movements and their doubt, by hand."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from ownmark.metrics.motion import moving as rules
from ownmark.metrics.motion.edges import MOVING, UNKNOWN
from ownmark.metrics.motion.envelope import Means, changes, short_means
from ownmark.metrics.motion.grid import Grid
from ownmark.metrics.motion.moving import (
    NOISE_HIDES,
    NOTHING,
    RESTLESS,
    _doubt,
    _floor,
    _movements,
    _noise_rules,
    _rhythmic,
    _Rule,
    _ruled,
    _spans,
    _threshold,
    _where,
    moving,
    parked_floor,
)
from ownmark.metrics.motion.placements import NOISE, SETTINGS
from ownmark.metrics.motion.standing import SWAY_EDGE_S, Contrast
from ownmark.metrics.motion.states import Look, look_at, states

from tests.metrics.motion.test_doubt import PLAIN, STEP_S, look, parts, stretches

NAN = np.nan


# ---- floor and threshold


def test_the_floor_is_the_middle_of_all_that_is_no_louder_than_half_again_the_quietest():
    level = np.array([2.0, 2.2, 2.4, 2.9, 3.0, 50.0, NAN])
    assert _floor(look(level, quiet_mg=2.0)) == pytest.approx(2.3)  # of 2.0 2.2 2.4 2.9
    assert _floor(look(level, quiet_mg=1.0)) == 1.0  # nothing is like it
    assert _floor(look(level, quiet_mg=8.0)) == pytest.approx(2.4)
    assert _floor(look(level, quiet_mg=8.1)) == 8.0  # louder than any stillness here


def threshold(floor, *levels, **words):
    setting = replace(PLAIN, **({"most_mg": 40.0} | words))
    return _threshold(look(np.array(levels), setting), floor)


def test_the_threshold_lies_halfway_as_a_ratio_between_floor_and_what_is_loud():
    assert threshold(2.0, 3.0, 200.0, 200.0) == pytest.approx(20.0)
    assert threshold(2.0, 3.0, 100.0, 200.0, 300.0, 400.0, 500.0) == pytest.approx(np.sqrt(2 * 400))  # upper quarter
    assert threshold(0.0, 3.0, 1000.0, least_mg=4.0) == pytest.approx(20.0)
    assert threshold(0.0, 3.0, 1000.0) == pytest.approx(10.0)  # a tenth of the least threshold stands for no floor


def test_the_threshold_has_limits():
    assert threshold(2.0, 3.0, 5000.0) == 40.0
    assert threshold(10.0, 3.0, 41.0) == pytest.approx(20.25, abs=0.01)
    assert threshold(12.0, 3.0, 41.0) == 24.0  # two floors
    assert threshold(30.0, 3.0, 5000.0) == 60.0
    assert threshold(0.1, 3.0, 45.0, least_mg=5.0) == pytest.approx(5.0)
    assert threshold(2.0, 3.0, 40.0) == 40.0  # nothing is louder than the most
    assert threshold(2.0, 3.0, 40.1) == pytest.approx(np.sqrt(80.2))


# ---- indices as seconds


def test_stretches_reach_the_recordings_end_where_they_reach_the_last_mean():
    means = Means(5.0, 0.5, np.zeros((3, 8)), np.ones(8, bool))
    assert _spans(means, np.array([0, 6]), np.array([3, 8]), 9.2) == ((5.0, 6.5), (8.0, 9.2))
    assert _where(means, np.array([0, 1, 1, 0, 0, 0, 0, 1], bool), 9.2) == ((5.5, 6.5), (8.5, 9.2))
    assert _where(means, np.zeros(8, bool), 9.2) == ()


# ---- movements


def rule(*pieces, threshold_mg=20.0, sides=(10.0, 30.0), **words):
    """A rule for a level from (seconds, mg) pieces; the means alternate by as much, so that edges can be set."""
    level = parts(*pieces)
    sign = np.where(np.arange(len(level)) % 2, 1.0, -1.0)
    values = np.stack((np.nan_to_num(level) / 1000 * sign, np.zeros(len(level)), np.zeros(len(level))))
    means = Means(0.0, STEP_S, values, np.isfinite(level))
    made = Look(PLAIN, means, level, 2.0, 0.0)
    return _Rule(made, means, threshold_mg, 2.0, sides, **({"noisy": False, "found": None} | words))


def text(found):
    return "".join(".#?"[state] for state in found.state[::5])


def test_movements_by_their_edges_and_bursts():
    found = _movements(rule((4, 1), (20, 100), (6, 1), (1.2, 100), (6, 1)))
    assert found.onset.best.tolist() == [40, 300]
    assert found.end.best.tolist() == [240, 312]
    assert found.burst.tolist() == [False, True]
    assert np.flatnonzero(found.state == MOVING).tolist() == [*range(40, 240), *range(300, 312)]


def test_a_movement_of_less_than_a_second_is_none_and_beside_a_gap_it_is_unknown():
    # The envelope sees a movement of 0.8 s for 1.2 s; its edges are set nearer.
    short = rule((4, 1), (1.2, 100), (4, 1))
    values = short.edges.values.copy()
    values[0, [40, 41, 50, 51]] *= 0.01
    quick = replace(short.edges, values=values)
    assert (_movements(short._replace(edges=quick)).state == 0).all()
    beside = rule((4, 1), (1.2, 100), (1, NAN), (4, 1))
    values = beside.edges.values.copy()
    values[0, 40:44] *= 0.01
    found = _movements(beside._replace(edges=replace(beside.edges, values=values)))
    assert not (found.state == MOVING).any()
    assert found.state[45:62].tolist() == [UNKNOWN] * 17


def test_doubt_is_that_of_the_sides_and_of_bursts():
    made = rule((4, 1), (20, 100), (6, 1), (1.2, 100), (6, 1))
    grid = Grid(0.0, 10.0, np.zeros((372, 3)))
    found = stretches(_doubt(grid, made, _movements(made)))
    # A stillness beside an edge may be taken for a step over a quarter of a second where sides are given: two means.
    assert (30.0, 31.2) in [(max(a, 30.0), min(b, 31.2)) for a, b in found]
    assert len(found) == 3


def test_without_sides_the_zone_is_taken_and_noise_may_hide_what_is_weak():
    made = rule((40, 1), (20, 100), (40, 1), sides=None)
    grid = Grid(0.0, 10.0, np.zeros((1000, 3)))
    quiet = stretches(_doubt(grid, made, _movements(made)))
    assert sum(b - a for a, b in quiet) < 2
    weak = rule((40, 10), (20, 35), (40, 10), sides=None, noisy=True)
    told = stretches(_doubt(grid, weak, _movements(weak)))
    assert sum(b - a for a, b in told) > 70  # 35 is not twice 20, and has no rhythm


@pytest.mark.parametrize(("threshold_mg", "all_of_it"), [(10.19, False), (10.21, True)])
def test_noise_that_hides_less_than_a_gym_floors_10_mg_hides_no_rolling(threshold_mg, all_of_it):
    # √(10.198² - 2²) = 10. The movement is 1.6 times the threshold: enough for what is sure, too little for rolling.
    made = rule((40, 2), (20, 16.4), (40, 2), sides=None, noisy=True, threshold_mg=threshold_mg)
    told = stretches(_doubt(Grid(0.0, 10.0, np.zeros((1000, 3))), made, _movements(made)))
    assert bool(sum(b - a for a, b in told) > 70) is all_of_it


# ---- noise and rhythm


def noisy(quiet_mg, floor_mg, *, values=None, from_mg=5.0):
    values = np.random.default_rng(0).normal(0, 0.01, (1000, 3)) if values is None else values
    grid = Grid(0.0, 50.0, values)
    setting = replace(PLAIN, noise_from_mg=from_mg)
    return _noise_rules(grid, look(np.ones(200), setting, quiet_mg)._replace(quiet_s=4.0), floor_mg)


def test_noise_sets_the_threshold_where_stillness_is_noise_and_no_louder_than_a_floor_that_was_given():
    assert noisy(10.0, None)
    assert not noisy(5.0, None)  # at the limit it is not looked at
    assert noisy(5.01, None)
    assert not noisy(np.inf, None)
    assert noisy(10.0, 6.7)
    assert not noisy(10.0, 10 / 1.5)  # louder by half than the chair parked: it moves
    wave = np.sin(np.arange(1000) * 0.8)[:, None] * np.ones(3) * 0.01
    assert not noisy(10.0, None, values=wave)
    half = np.random.default_rng(0).normal(0, 0.01, (1000, 3))
    half[:190] = half[310:] = wave[:1][0]
    assert noisy(10.0, None, values=half)  # from 4 to 6 s it is judged


def test_pushes_have_a_rhythm_and_rolling_has_none():
    at = np.arange(3000) / 50
    push = np.column_stack((0.1 * np.sin(2 * np.pi * 0.8 * at), np.zeros(3000), np.ones(3000)))
    assert _rhythmic(Grid(0.0, 50.0, push), ((0.0, 60.0),))
    rolling = np.random.default_rng(0).normal(0, 0.05, (3000, 3))
    assert not _rhythmic(Grid(0.0, 50.0, rolling), ((0.0, 60.0),))
    assert not _rhythmic(Grid(0.0, 50.0, rolling), ())
    both = np.concatenate((push[:1200], rolling[:1800]))
    assert not _rhythmic(Grid(0.0, 50.0, both), ((0.0, 60.0),))
    both = np.concatenate((push[:2000], rolling[:1000]))
    assert _rhythmic(Grid(0.0, 50.0, both), ((0.0, 60.0),))


# ---- what is said


def shaken(*pieces, rate_hz=50.0, seed=0):
    """Noise on three axes from (seconds, mg on each) pieces."""
    size = np.concatenate([np.full(round(rate_hz * seconds), mg / 1000) for seconds, mg in pieces])
    return Grid(2.0, rate_hz, np.random.default_rng(seed).normal(0, 1, (len(size), 3)) * size[:, None])


def test_what_the_reader_should_know_of_a_recording():
    nothing = moving(Grid(2.0, 50.0, np.full((100, 3), NAN)), "wrist")
    assert (nothing.found, nothing.unmeasured, nothing.moving) == (NOTHING, ((1.99, 3.99),), ())
    assert nothing.threshold_mg is None
    assert (NOTHING, RESTLESS, NOISE_HIDES) == ("nothing", "restless", "noise")
    assert moving(shaken((10, 1), (10, 100)), "frame").found is None
    assert moving(shaken((30, 20)), "frame").found == NOISE_HIDES
    assert moving(shaken((30, 6)), "frame").found is None  # noise that hides no more than a floor may show
    wave = np.sin(np.arange(1500) * 0.8)[:, None] * np.ones(3) * 0.02
    assert moving(Grid(2.0, 50.0, wave), "frame").found == RESTLESS
    assert moving(Grid(2.0, 50.0, wave), "frame", 10.0).found is None
    assert moving(Grid(2.0, 50.0, wave), "frame", 10.0).floor_mg == 10.0


def test_a_recording_begins_half_a_sample_before_the_first_and_its_bursts_do_not_count():
    found = moving(shaken((10, 1), (20, 100), (10, 1), (1.5, 100), (10, 1)), "frame")
    assert (found.from_s, found.until_s) == (pytest.approx(1.99), pytest.approx(53.49))
    ((begin, until),) = found.moving
    assert (begin, until) == (pytest.approx(12, abs=0.1), pytest.approx(32, abs=0.1))
    assert any(begin < 42.7 < until for begin, until in found.doubtful)


def test_a_parked_floor_is_the_middle_of_the_level():
    quiet, loud = parked_floor(shaken((20, 2)), "frame"), parked_floor(shaken((20, 4)), "frame")
    assert quiet == pytest.approx(2 * np.sqrt(3 / 2 * 12 / 13), rel=0.05)
    assert loud == pytest.approx(2 * quiet)
    assert parked_floor(Grid(2.0, 50.0, np.full((100, 3), NAN)), "frame") is None
    assert parked_floor(shaken((20, 2), (15, 40)), "frame") < 5


# ---- what the parts are handed


@pytest.mark.parametrize(("share", "has_one"), [(None, False), (50.0, False), (50.1, True)])
def test_a_rhythm_in_more_than_half_of_a_movement_is_one(monkeypatch, share, has_one):
    monkeypatch.setattr(rules, "rhythm", lambda *_: SimpleNamespace(share_percent=share))
    assert _rhythmic(Grid(0.0, 50.0, np.zeros((10, 3))), ((0.0, 0.2),)) is has_one


def ruled(grid, placement, floor_mg=None):
    raw = short_means(grid, SETTINGS[placement].step_s)
    return raw, _ruled(grid, raw, look_at(raw, SETTINGS[placement]), placement, floor_mg)


def test_edges_in_noise_are_set_in_means_that_are_not_smoothed(monkeypatch):
    monkeypatch.setattr(rules, "contrast", lambda *_: None)
    raw, rule = ruled(shaken((30, 20)), "trunk")
    assert rule.noisy
    assert np.array_equal(rule.edges.values, raw.values)
    assert rule.look.setting == NOISE["trunk"]
    assert not np.array_equal(rule.look.means.values, raw.values)


def test_edges_elsewhere_are_set_in_the_means_of_the_level():
    _, rule = ruled(shaken((10, 1), (20, 100)), "wrist")
    assert not rule.noisy
    assert rule.edges is rule.look.means
    assert rule.look.setting == SETTINGS["wrist"]
    assert rule.sides is None


@pytest.mark.parametrize("quick", [True, False])
def test_what_tells_steps_from_standing_takes_the_place_of_level_threshold_and_edges(monkeypatch, quick):
    handed = []

    def apart(*words):
        handed.extend(words)
        return Contrast(np.full(len(words[2].level), 7.0), 33.0, (11.0, 44.0), quick)

    monkeypatch.setattr(rules, "contrast", apart)
    _, rule = ruled(shaken((10, 1), (20, 100)), "trunk", 2.0)
    assert (rule.threshold, rule.sides, rule.floor, rule.found) == (33.0, (11.0, 44.0), 2.0, None)
    assert set(rule.look.level.tolist()) == {7.0}
    _, _, look, state, threshold, floor = handed
    expected = changes(look.means, state == MOVING).values if quick else look.means.values
    assert np.array_equal(rule.edges.values, expected)
    assert np.array_equal(state, states(look, threshold))
    assert floor == 2.0


def test_only_the_trunk_is_asked_for_standing(monkeypatch):
    monkeypatch.setattr(rules, "contrast", lambda *_: pytest.fail("asked"))
    for placement in ("frame", "wrist", "crank"):
        assert ruled(shaken((10, 1), (20, 100)), placement)[1].sides is None


def test_the_floor_that_was_given_is_taken_unless_noise_rules():
    _, rule = ruled(shaken((10, 1), (20, 100)), "frame", 4.0)
    assert (rule.floor, rule.noisy) == (4.0, False)
    _, own = ruled(shaken((30, 20)), "frame")
    _, rule = ruled(shaken((30, 20)), "frame", 40.0)
    assert rule.noisy
    assert rule.floor == own.floor != 40.0


@pytest.mark.parametrize("found", [None, RESTLESS])
def test_the_zone_is_told_whether_the_recording_is_restless(monkeypatch, found):
    asked = []

    def zone(look, threshold, floor, going, *, restless):
        asked.append((threshold, floor, restless))
        return 10.0, 30.0

    monkeypatch.setattr(rules, "zone", zone)
    made = rule((40, 1), (20, 100), (40, 1), sides=None, found=found)
    _doubt(Grid(0.0, 10.0, np.zeros((1000, 3))), made, _movements(made))
    assert asked == [(20.0, 2.0, found == RESTLESS)]


@pytest.mark.parametrize(("sides", "restless_s"), [((10.0, 30.0), SWAY_EDGE_S), (None, 0.0)])
def test_sway_may_be_taken_for_a_step_only_where_sway_was_told_apart(monkeypatch, sides, restless_s):
    asked = []

    def doubtful(look, sides, state, onset, end, restless_s=0.0):
        asked.append(restless_s)
        return np.zeros(len(state), bool)

    monkeypatch.setattr(rules, "doubtful", doubtful)
    made = rule((40, 1), (20, 100), (40, 1), sides=sides)
    assert not _doubt(Grid(0.0, 10.0, np.zeros((1000, 3))), made, _movements(made)).any()
    assert asked == [restless_s]


@pytest.mark.parametrize("lost", [0, 1])
def test_a_short_movement_beside_a_gap_on_either_side_is_unknown(lost):
    # Its edges are set nearer than the envelope sees it: 0.8 s, between stillness and what is lost.
    pieces = [(4, 1), (1.2, 100), (4, 1)]
    pieces.insert(1 + lost, (1, NAN))
    made = rule(*pieces)
    begin = 40 + (0 if lost else 10)
    values = made.edges.values.copy()
    values[0, begin : begin + 12] *= (
        np.where((np.arange(12) < 4) == bool(lost), 0.01, 1.0) if lost else np.where(np.arange(12) < 8, 1.0, 0.01)
    )
    found = _movements(made._replace(edges=replace(made.edges, values=values)))
    assert not (found.state == MOVING).any()
    assert np.count_nonzero(found.state == UNKNOWN) in range(17, 20)
