"""One threshold on a level: still, moving or unknown, worked out by hand. More cases stand with the doubt."""

import numpy as np
import pytest
from ownmark.metrics.motion.envelope import Means, envelope, quietest, smoothed
from ownmark.metrics.motion.placements import SETTINGS
from ownmark.metrics.motion.states import Look, look_at, states

from tests.metrics.motion.test_doubt import PLAIN, look, parts, told

NAN = np.nan


def test_the_level_is_looked_at_every_tenth_of_a_second():
    level = np.arange(20.0)

    def sparse(step_s):
        return Look(PLAIN, Means(0.0, step_s, np.zeros((3, 20)), np.ones(20, bool)), level, 1.0, 0.0).sparse.tolist()

    assert sparse(0.1) == level.tolist()
    assert sparse(0.2) == level.tolist()
    assert sparse(0.05) == level[::2].tolist()
    assert sparse(0.055) == level.tolist()
    assert sparse(0.04) == level[::2].tolist()
    assert sparse(0.03) == level[::3].tolist()


def test_a_look_smooths_takes_the_envelope_and_finds_its_quietest_two_seconds():
    rng = np.random.default_rng(1)
    size = np.repeat([0.1, 0.02, 0.1], 100)
    raw = Means(3.0, 0.05, rng.standard_normal((3, 300)) * size, np.ones(300, bool))
    found = look_at(raw, SETTINGS["wrist"])
    expected = envelope(smoothed(raw, 0.15), 0.5)
    assert found.level == pytest.approx(expected)
    assert found.means.values == pytest.approx(smoothed(raw, 0.15).values)
    assert (found.quiet_mg, found.quiet_s) == quietest(expected, found.means, 2.0, 0.1)
    assert 8.0 <= found.quiet_s <= 11.0  # the third hundred of twentieths of a second is loud again


def test_at_four_fifths_of_the_threshold_a_level_is_no_movement_and_at_the_threshold_on_average_it_is():
    assert told(parts((2, 1), (1, 8.0), (2, 1))) == ".........."
    assert told(parts((2, 1), (0.5, 8.5), (0.5, 11.5), (2, 1))) == "....##...."
    assert told(parts((2, 1), (0.5, 8.5), (0.5, 11.4), (2, 1))) == ".........."


def test_a_lull_beside_a_gap_is_stillness():
    assert told(parts((2, 30), (0.5, 1), (1, NAN))) == "####.??"
    assert told(parts((1, NAN), (0.5, 1), (2, 30))) == "??.####"


def test_a_lull_at_the_recordings_ends_is_stillness():
    assert told(parts((0.5, 1), (2, 30), (0.5, 1))) == ".####."


def test_two_short_movements_over_a_lull_are_one():
    assert told(parts((2, 1), (0.5, 30), (0.5, 1), (0.5, 30), (2, 1))) == "....###...."


def test_short_movements_at_the_recordings_ends_may_be_the_rest_of_longer_ones():
    assert told(parts((0.5, 30), (2, 1), (0.5, 30))) == "?....?"


def test_a_gap_is_unknown_and_movement_to_both_sides_of_it_is_not_joined():
    assert told(parts((2, 30), (0.5, NAN), (2, 30))) == "####?####"
    assert states(look(np.full(5, NAN)), 10.0).tolist() == [2] * 5
