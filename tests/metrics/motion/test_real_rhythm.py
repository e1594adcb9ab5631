"""Rhythm of real recordings from end to end: from the file to the moving time and to the steps of a whole trial."""

import csv
import json

import numpy as np
import pytest
from ownmark.cli.main import main
from ownmark.metrics.motion.grid import Grid, to_grid
from ownmark.metrics.motion.moving import moving
from ownmark.metrics.motion.rhythm import rhythm

from tests.makers import real_motion

CLOCK_S = 1565087150.0  # 2019-08-06 10:25:50, the waist recording's first stamp, as its reference writes it


def walks(real_dir):
    """Foot contacts of each walk by the reference [s], on the recording's clock."""
    with (real_dir / "waist_walks_reference.csv").open() as lines:
        rows = list(csv.DictReader(lines))
    return [
        np.array([float(row["IC"]) / 1000 - CLOCK_S for row in rows if row["bout_number"] == walk]) for walk in "123"
    ]


def waist(real_dir):
    grid = to_grid(real_motion.waist(real_dir))
    return grid, moving(grid, "trunk").moving


def test_the_whole_recording_of_three_walks_reads_the_references_96_steps_a_minute(real_dir):
    # gaitpy 1.6.1 (MIT): between the contacts of the two unbroken walks 96.3 and 96.2 /min, by the middle of all 96.8.
    reference = [60 * (len(contacts) - 1) / (contacts[-1] - contacts[0]) for contacts in walks(real_dir)[1:]]
    found = rhythm(*waist(real_dir))
    assert found.halves > 0.8  # right and left step, mirror images of each other: steps are counted
    assert 2 * found.cadence_mean.value == pytest.approx(np.mean(reference), rel=0.02)
    assert 95 < 2 * found.cadence_mean.value < 98
    assert found.cadence_variation_percent < 3  # of the reference's strides: 2.7 and 2.9, each for itself
    assert "Whole cycles are counted" in found.note


def test_movement_of_another_rhythm_between_the_walks_is_left_out_and_told(real_dir):
    # Something repeats five times at 20 a minute from 100 to 116 s: no walk of the reference.
    found = rhythm(*waist(real_dir))
    (other,) = found.others
    assert (other.from_s, other.until_s) == (pytest.approx(100, abs=2), pytest.approx(116, abs=2))
    assert other.per_minute == pytest.approx(20, abs=2)
    assert "different rhythm is left out: from 100 s to 116 s" in found.note
    alone = rhythm(waist(real_dir)[0], [(other.from_s, other.until_s)])
    assert alone.cadence_mean.value == pytest.approx(20, abs=2)  # by itself it is a rhythm
    assert alone.halves < 0


def test_rhythm_is_found_in_the_walks_and_in_little_else(real_dir):
    found = rhythm(*waist(real_dir))
    at = found.time_s[np.isfinite(found.per_minute)]
    at = at[(at < 99) | (at > 117)]
    assert all(any(contacts[0] - 3 < moment < contacts[-1] + 5 for contacts in walks(real_dir)) for moment in at)
    covered = sum(contacts[-1] - contacts[0] for contacts in walks(real_dir))
    assert found.rhythmic_s == pytest.approx(covered, rel=0.3)
    assert found.share_percent == pytest.approx(100 * found.rhythmic_s / found.moving_s)
    assert f"A rhythm was found in {found.share_percent:.0f} % of the {found.moving_s:.0f} s of movement" in found.note


@pytest.mark.parametrize("turn", [(0.3, 1.1), (2.0, 0.4)])
def test_steps_are_told_however_the_sensor_is_turned(real_dir, turn):
    grid, spans = waist(real_dir)
    cos, sin = np.cos(turn), np.sin(turn)
    first = np.array([[cos[0], -sin[0], 0], [sin[0], cos[0], 0], [0, 0, 1]])
    second = np.array([[1, 0, 0], [0, cos[1], -sin[1]], [0, sin[1], cos[1]]])
    turned = Grid(grid.start_s, grid.rate_hz, grid.values @ (first @ second).T)
    assert rhythm(turned, spans).halves == pytest.approx(rhythm(grid, spans).halves, abs=0.02)


def test_the_command_line_counts_the_walks_strides_and_tells_95_to_98_steps_a_minute(real_dir, capsys):
    columns = ("time=1", "acceleration_x=2", "acceleration_y=3", "acceleration_z=4")
    asked = [part for column in columns for part in ("--column", column)]
    file = str(real_dir / "waist_walks_50hz.csv.gz")
    assert main(["effort", file, "--placement", "trunk", *asked, "--json"]) == 0
    page = json.loads(capsys.readouterr().out)
    figures = page["figures"]
    assert 95 < 2 * figures["cadence_mean"]["value"] < 98
    assert figures["cadence_variation"]["value"] < 3
    assert page["provenance"]["movement"]["counted"] == "pair"
    assert "strides, each of two similar steps: 97 steps a minute" in figures["cadence_mean"]["note"]


def test_a_shank_has_47_cycles_a_minute_after_two_still_seconds_and_they_are_no_steps(real_dir):
    # scikit-kinematics 0.10.4 (BSD): 94 steps a minute, of which one leg makes every second.
    grid = to_grid(real_motion.at_rate(real_motion.in_g(real_motion.shank(real_dir)), 120.0))
    found = rhythm(grid, moving(grid, "wrist").moving)
    assert found.cadence_mean.value == pytest.approx(47, rel=0.02)
    assert found.halves < 0.3
    assert not (found.per_minute[found.time_s < 1] > 0).any()


def test_arms_of_walkers_and_runners_are_not_read_as_steps(real_dir):
    # sktime 1.2 (BSD): ten seconds each, worn at the wrist: the arm swings once in two steps.
    pieces = [piece for part in ("TRAIN", "TEST") for piece in real_motion.pieces(real_dir, part)]
    arms = [values for label, values in pieces if label in {"walking", "running"}]
    found = [rhythm(Grid(0.0, 10.0, real_motion.in_g(values)), [(0.0, 10.0)]) for values in arms]
    given = [each for each in found if each.halves is not None]
    assert len(given) >= 34  # of 40
    assert all(each.halves < 0 and 35 < each.cadence_mean.value < 80 for each in given)
