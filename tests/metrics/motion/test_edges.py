"""Edges of movements: runs, the likeliest moment, and how far it may lie from there, against a plain likelihood."""

import numpy as np
import pytest
from ownmark.metrics.motion import edges
from ownmark.metrics.motion.edges import MOVING, STILL, UNKNOWN, _still_lines, painted, runs, sharpened
from ownmark.metrics.motion.envelope import Means

STEP_S = 0.05


def series(still_mg, loud_mg, still=60, loud=100, after=60):
    """Short means on one axis that alternate in sign: so loud at rest, so loud in movement, in thousandths of g."""
    size = np.concatenate((np.full(still, still_mg), np.full(loud, loud_mg), np.full(after, still_mg))) / 1000
    x = size * np.where(np.arange(len(size)) % 2, 1.0, -1.0)
    return Means(0.0, STEP_S, np.stack((x, np.zeros(len(x)), np.zeros(len(x)))), np.ones(len(x), bool))


def found(means, first, last, growing=1.0, threshold_mg=5.0):
    state = np.zeros(len(means.measured), np.int8)
    state[first:last] = MOVING
    onset, end = sharpened(means, state, threshold_mg, growing)
    return [int(each[0]) for each in (*onset, *end)]


def test_runs_are_found_and_painted_again():
    state = np.array([0, 0, 1, 1, 1, 2, 0], np.int8)
    each = runs(state)
    assert each.first.tolist() == [0, 2, 5, 6]
    assert each.last.tolist() == [2, 5, 6, 7]
    assert each.before().tolist() == [UNKNOWN, STILL, MOVING, UNKNOWN]
    assert each.after().tolist() == [MOVING, UNKNOWN, STILL, UNKNOWN]
    assert painted(each, each.state).tolist() == state.tolist()


@pytest.mark.parametrize("seen_early", [0, 3, 5])
def test_a_clear_edge_is_set_to_the_index(seen_early):
    # Ten times as loud as rest; the envelope, half a second long, sees it up to five means early. By hand: a rest mean
    # that is taken for movement costs ½ (ln 100 - 1 + 1/100) = 1.8, so two of them stay under 4; a movement taken for
    # rest costs ½ (100 - 1 - ln 100) = 47.
    best, early, late, end, end_early, end_late = found(series(10, 100), 60 - seen_early, 160 + seen_early)
    assert (early, best, late) == (58, 60, 60)
    assert (end_early, end, end_late) == (160, 160, 162)


def test_an_edge_may_lie_where_the_likelihood_is_less_than_e_to_the_4_below_the_best():
    # By hand. The variance of 30 rest means is 30/29 of the true one, so the movement's is 3.867 times as large. Taken
    # for rest, a movement's mean costs ½ (3.867 - 1 - ln 3.867) = 0.757: five make 3.8. Taken for movement, one of rest
    # costs ½ (ln 3.867 - 29/30 · (1 - 1/3.867)) = 0.318: twelve make 3.8, but the envelope is five early at the most.
    best, early, late, end, end_early, end_late = found(series(10, 20), 58, 162)
    assert (early, best, late) == (58 - 5, 60, 65)
    assert (end_early, end, end_late) == (155, 160, 162 + 5)


def test_a_movement_hardly_louder_than_rest_keeps_the_envelopes_edge_and_half_a_window_of_doubt():
    # Twice the variance is the least that an edge can be set by.
    assert found(series(10, 14), 58, 162) == [58, 53, 63, 162, 157, 167]
    assert found(series(10, 14.5), 58, 162)[0] == 60


def test_an_edge_at_a_gap_or_at_the_recordings_end_stays_where_it_is():
    means = series(10, 100, still=0, after=0)
    assert found(means, 0, 100) == [0, 0, 0, 100, 100, 100]
    means = series(10, 100)
    state = np.concatenate((np.full(60, UNKNOWN), np.full(100, MOVING), np.full(60, UNKNOWN))).astype(np.int8)
    onset, end = sharpened(means, state, 5.0)
    assert [int(each[0]) for each in (*onset, *end)] == [60, 60, 60, 160, 160, 160]


def test_rest_that_shows_nothing_is_taken_to_vary_by_two_fifths_of_the_threshold():
    # 0.4 · 50 mg = 20 mg: 28.28 mg are twice the variance of that.
    assert found(series(0, 28.2), 57, 163, threshold_mg=50)[0] == 57
    assert found(series(0, 28.4), 57, 163, threshold_mg=50)[0] == 60


def test_rest_that_drifts_like_a_leaning_trunk_moves_no_edge():
    means = series(3, 60)
    lean = 0.02 * STEP_S * np.arange(220)  # one degree a second
    drifting = Means(0.0, STEP_S, means.values + np.stack((np.zeros(220), lean, np.zeros(220))), means.measured)
    best, early, _late, end, _end_early, end_late = found(drifting, 56, 164)
    assert (best, end) == (60, 160)
    assert best - early <= 1
    assert end_late - end <= 1


def test_the_first_moments_may_be_weaker_than_what_follows():
    # By hand. The movement has 256 times the variance of rest, so what is over ln 256 / (1 - 1/256) = 5.6 times it is
    # movement; its first four means have 4 times. With a share of 0.02 for them 2.2 times are enough.
    means = series(10, 160)
    means.values[:, 60:64] /= 8
    assert found(means, 60, 162, growing=1.0)[0] == 64
    assert found(means, 60, 162, growing=0.02)[0] == 60


def test_a_movement_whose_edges_cross_is_none():
    means = series(10, 10)
    means.values[0, 100] = 0.5  # one wild mean
    onset, end = sharpened(means, np.where(np.arange(220) // 5 == 20, 1, 0).astype(np.int8), 5.0)
    assert (end.best > onset.best).all()


@pytest.mark.parametrize(("drift", "slope"), [(1.0, 0.5), (2.0, 0.8), (1e6, 1.0)])
def test_stillness_goes_on_in_a_line_whose_slope_is_shrunk_by_its_noise(drift, slope):
    # Quiet means 0, 1, 2 at -3, -2, -1: Σ lever · away = 2 and Σ lever² = 2, their variance is 2 / 3, and three alike
    # means count as one: 2 / (2 + 3 · (2 / 3) / drift²).
    near = np.zeros((3, 1, 5))
    near[0, 0] = (0.0, 1.0, 2.0, 9.0, 9.0)
    near[1, 0] = 7.0
    quiet = np.array([[True, True, True, False, False]])
    lines = _still_lines(near, np.arange(-3, 2), quiet, np.array([3]), drift)
    assert lines[0, 0] == pytest.approx(1.0 + slope * np.array([-1.0, 0, 1, 2, 3]), abs=1e-6)
    assert lines[1, 0] == pytest.approx(np.full(5, 7.0))


def test_each_run_has_a_line_of_its_own():
    near = np.zeros((3, 2, 4))
    near[2, 0], near[2, 1] = (5.0, 5.0, 5.0, 9.0), (0.0, 2.0, 4.0, 9.0)
    quiet = np.array([[True, True, True, False], [False, True, True, False]])
    lines = _still_lines(near, np.arange(-3, 1), quiet, np.array([3, 2]), 1e6)
    assert lines[2, 0] == pytest.approx([5.0] * 4)
    assert lines[2, 1] == pytest.approx([0.0, 2.0, 4.0, 6.0], abs=1e-6)


def test_a_movement_near_the_recordings_ends_is_set_by_what_there_is():
    assert found(series(10, 100, 60, 20, 0), 58, 80)[:3] == [60, 58, 60]
    assert found(series(10, 100, 0, 20, 60), 0, 22)[3:] == [20, 20, 22]
    assert found(series(10, 100, 20, 100, 20), 18, 122) == [20, 18, 20, 120, 120, 122]


def test_the_stillness_between_two_movements_is_what_lies_half_a_window_behind_the_first():
    # Ten quiet means between two movements: five of them, and five more before the edge that may be movement.
    size = np.concatenate((np.full(60, 10), np.full(60, 100), np.full(20, 10), np.full(60, 100), np.full(60, 10)))
    x = size / 1000 * np.where(np.arange(260) % 2, 1.0, -1.0)
    means = Means(0.0, STEP_S, np.stack((x, np.zeros(260), np.zeros(260))), np.ones(260, bool))
    state = np.zeros(260, np.int8)
    state[58:122] = state[138:202] = MOVING
    onset, end = sharpened(means, state, 5.0)
    assert (onset.best.tolist(), end.best.tolist()) == ([60, 140], [120, 200])
    # With fewer than three quiet means to go by, an edge stays where the envelope saw it.
    state[58:132] = MOVING
    onset, end = sharpened(means, state, 5.0)
    assert (int(onset.best[1]), int(end.best[0])) == (138, 132)


# ---- which means count as quiet and as loud


def spiked(index, loud_mg, *, spike_mg=100.0, first=58, **words):
    """First edge, and the first and last possible one, of a series in which one mean or more are louder."""
    means = series(10, loud_mg, **words)
    sign = np.sign(means.values[0, index])
    means.values[0, index] = sign * spike_mg / 1000
    return found(means, first, 162)[:3]


KEPT = [58, 53, 63]  # the envelope's edge, where nothing else is believed


@pytest.mark.parametrize(("index", "believed"), [(22, True), (23, False), (52, False), (53, True)])
def test_the_reference_is_the_thirty_quiet_means_up_to_half_a_window_before(index, believed):
    # 58 - 5 - 30 = 23 up to 58 - 6 = 52. A spike among them makes stillness as loud as the movement.
    assert (spiked(index, 20) != KEPT) is believed


@pytest.mark.parametrize(("index", "believed"), [(67, False), (68, True), (88, True), (89, False)])
def test_the_loud_part_is_what_lies_one_to_three_windows_behind(index, believed):
    # 58 + 10 up to 58 + 30. Without the spike the movement has less than twice the variance of rest.
    assert (spiked(index, 12) != KEPT) is believed


def test_the_first_and_the_last_mean_of_a_recording_count():
    assert spiked(79, 12, after=0, loud=20) != KEPT
    assert spiked(78, 12, after=0, loud=20) != KEPT
    short = series(10, 20, still=20)
    assert found(short, 18, 122)[0] == 20
    short.values[0, 0] = -0.1
    assert found(short, 18, 122)[0] == 18


@pytest.mark.parametrize(("loud_mg", "late"), [(26.4, 62), (27.2, 61)])
def test_two_means_of_under_2_each_are_possible_and_of_more_only_one(loud_mg, late):
    # By hand: ½ (r - 1 - ln r) with r = 29/30 · 2.64² = 6.74 is 1.91, with 29/30 · 2.72² = 7.15 it is 2.09.
    assert found(series(10, loud_mg), 58, 162)[:3] == [60, found(series(10, loud_mg), 58, 162)[1], late]


@pytest.mark.parametrize(
    ("before", "since", "believed"), [(UNKNOWN, 50, 1), (UNKNOWN, 51, 0), (MOVING, 45, 1), (MOVING, 46, 0)]
)
def test_three_quiet_means_are_a_reference(before, since, believed):
    # Up to 52, half a window before the edge; from the beginning of what was measured, or half a window behind a
    # movement.
    state = np.full(220, before, np.int8)
    state[since:58], state[58:162], state[162:] = STILL, MOVING, STILL
    onset, _ = sharpened(series(10, 100), state, 5.0)
    assert onset.best[-1] == (60 if believed else 58)


def test_an_edge_lies_no_more_than_two_windows_behind_the_envelopes():
    means = series(10, 100)
    means.values[:, 60:85] /= 10
    assert found(means, 58, 162)[0] == 78
    means.values[:, 135:160] /= 10
    assert found(means, 58, 162)[3] == 142


def test_the_end_of_a_short_movement_is_judged_by_that_movement_alone():
    assert found(series(10, 15, 60, 20, 60), 58, 82)[3] != 82
    assert found(series(10, 15, 60, 20, 60), 58, 82)[0] != 58


def test_a_usual_drift_is_20_mg_a_second(monkeypatch):
    asked = []

    def lines(near, offset, quiet, number, drift):
        asked.append(drift)
        return _still_lines(near, offset, quiet, number, drift)

    monkeypatch.setattr(edges, "_still_lines", lines)
    found(series(10, 100), 58, 162)
    assert asked == [pytest.approx(0.02 * STEP_S)] * 2
