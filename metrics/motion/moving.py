"""Moving or still, from a sensor on the chair's frame, a wrist, a crank or the trunk.

The envelope of the acceleration is held against a threshold between the floor (what the sensor shows when nothing
moves) and the level of the movement itself; stretches that stay above it long enough are movement, and each edge is
then set to the moment at which the signal changes. Whose movement it is, no sensor can tell: see ``bouts.assisted``.

What cannot be told is *doubtful* (see ``doubt``): levels near the threshold, the surroundings of each edge, movement
that the sensor's noise may hide. A short burst amid stillness, where movement usually lasts much longer, may be a
spasm: it counts as stillness and is doubtful. A pause of 2.8 s is told from a stop of 3.0 s only if both edges hold to
0.1 s; with noise of 10 to 20 mg each varies by 0.1 to 0.3 s. ``tests/bench/motion_accuracy.py`` prints what holds.
"""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from .doubt import bursts, doubtful, filled, hidden, zone
from .edges import MOVING, UNKNOWN, Edges, Indices, States, runs, sharpened
from .envelope import Means, changes, envelope, is_noise, short_means, smoothed
from .grid import Grid
from .placements import NOISE, SETTINGS
from .rhythm import rhythm
from .standing import SWAY_EDGE_S, contrast
from .states import QUIET_S, SHORTEST_S, Look, look_at, states

__all__ = ["SETTINGS", "Motion", "Spans", "moving", "parked_floor"]

Bools = NDArray[np.bool_]
Floats = NDArray[np.float64]
Spans = tuple[tuple[float, float], ...]

NEAR = 1.5
"""The floor is the middle of all that is no louder than this many times the quietest 2 s, which are quiet by luck."""
RHYTHMIC = 50.0
"""More than this share of a movement has a rhythm, or it is taken for rolling [%]. Made push chairs in noise show 79
and more, power chairs 0."""
WEAKEST_ROLL_MG = 10.0
"""A gym floor under the wheels shakes a chair's frame by no less than this (see ``placements``). Where the noise hides
only what is weaker, it hides no rolling."""
NOTHING, RESTLESS, NOISE_HIDES = "nothing", "restless", "noise"


@dataclass(frozen=True, slots=True)
class Motion:
    """Where there was movement between two moments; all of the rest was measured and still.

    from_s, until_s : the recording, or the phase  [s]
    moving, unmeasured, left_out : (from, until) of stretches in order, which do not overlap  [s]; left out are
        stretches that do not count as the student's, whatever was measured
    threshold_mg, floor_mg : of the envelope; None where it was not worked out  [mg]
    found : what the reader of a figure should know: *nothing* was measured long enough; the recording is *restless*,
        no two seconds of it are quiet enough to be stillness; the sensor's own *noise* hides weak movement; or None
    doubtful : (from, until) in order, of moving and of still time alike: could as well be the other  [s]
    """

    from_s: float
    until_s: float
    moving: Spans
    unmeasured: Spans = ()
    threshold_mg: float | None = None
    floor_mg: float | None = None
    found: str | None = None
    left_out: Spans = ()
    doubtful: Spans = ()


def moving(grid: Grid, placement: str, floor_mg: float | None = None) -> Motion:
    """Tell moving from still. Give the whole recording, so that its stillness can be found, and cut phases after it.

    Parameters
    ----------
    grid : acceleration, shape (n, 3), NaN in gaps  [g]
    placement : frame, wrist, crank or trunk
    floor_mg : level of ``parked_floor``; None: the quietest stretch of this recording  [mg]

    Raises
    ------
    KeyError
        For any other placement.
    """
    raw = short_means(grid, SETTINGS[placement].step_s)
    span = (raw.start_s, raw.start_s + len(grid.values) / grid.rate_hz)
    look = look_at(raw, SETTINGS[placement])
    if not np.isfinite(look.level).any():
        return Motion(*span, (), (span,), found=NOTHING)
    rule = _ruled(grid, raw, look, placement, floor_mg)
    found = _movements(rule)
    doubt = _doubt(grid, rule, found)
    return Motion(
        *span,
        _spans(raw, found.onset.best[~found.burst], found.end.best[~found.burst], span[1]),
        _where(raw, found.state == UNKNOWN, span[1]),
        rule.threshold,
        rule.floor,
        rule.found,
        doubtful=_where(raw, doubt, span[1]),
    )


def parked_floor(grid: Grid, placement: str) -> float | None:
    """Level of a stretch in which nothing moves: a chair parked with its power on, a hand at rest [mg].

    The middle of the envelope; None if nothing was measured.
    """
    setting = SETTINGS[placement]
    level = envelope(smoothed(short_means(grid, setting.step_s), setting.smooth_s), setting.window_s)
    level = level[np.isfinite(level)]
    return float(np.median(level)) if len(level) else None


class _Rule(NamedTuple):
    """What tells movement from stillness in this recording.

    look : level and settings
    edges : short means in which edges are set
    threshold, floor : of the level  [mg]
    sides : levels below and above which there is no doubt; None: those of ``doubt.zone``  [mg]
    noisy : the sensor's own noise is its stillness
    """

    look: Look
    edges: Means
    threshold: float
    floor: float
    sides: tuple[float, float] | None
    noisy: bool
    found: str | None


class _Found(NamedTuple):
    """Still, moving or unknown for each short mean, edges of the movements that last, and which are short bursts."""

    state: States
    onset: Edges
    end: Edges
    burst: Bools


def _ruled(grid: Grid, raw: Means, look: Look, placement: str, floor_mg: float | None) -> _Rule:
    """Find floor and threshold; on the trunk, what tells steps from standing."""
    noisy = _noise_rules(grid, look, floor_mg)
    if noisy:
        look = look_at(raw, NOISE[placement])
    found = None
    if floor_mg is None or noisy:
        floor = _floor(look)
        restless = look.quiet_mg > look.setting.floor_most_mg
        hides = noisy and floor > SETTINGS[placement].floor_most_mg
        found = NOISE_HIDES if hides else RESTLESS if restless else None
    else:
        floor = floor_mg
    threshold = _threshold(look, floor)
    smooth_s = look.setting.edge_smooth_s
    edges = look.means if smooth_s is None else smoothed(raw, smooth_s)
    alone = _Rule(look, edges, threshold, floor, None, noisy, found)
    if placement != "trunk":
        return alone
    state = states(look, threshold)
    apart = contrast(grid, raw, look, state, threshold, floor)
    if apart is None:
        return alone
    edges = changes(edges, state == MOVING) if apart.quick_edges else edges
    return _Rule(look._replace(level=apart.level), edges, apart.threshold, floor, apart.sides, noisy, found)


def _movements(rule: _Rule) -> _Found:
    """The movements under a rule."""
    look, means = rule.look, rule.edges
    state = states(look, rule.threshold)
    onset, end = sharpened(means, state, rule.threshold, look.setting.growing)
    lasting = end.best - onset.best >= means.steps(SHORTEST_S)
    for begin, until in zip(onset.best[~lasting], end.best[~lasting], strict=True):
        beside = (*state[max(begin - 1, 0) : begin], *state[until : until + 1])
        if UNKNOWN in beside:  # may be the rest of something longer
            state[begin:until] = UNKNOWN
    onset, end = onset.chosen(lasting), end.chosen(lasting)
    going = filled(onset.best, end.best, len(state))
    state = np.where(state == UNKNOWN, state, going.astype(np.int8))
    return _Found(state, onset, end, bursts(onset.best, end.best, state, means))


def _doubt(grid: Grid, rule: _Rule, found: _Found) -> Bools:
    """Which short means could as well be the other, shape (n,)."""
    going = found.state == MOVING
    if rule.sides is None:
        sides = zone(rule.look, rule.threshold, rule.floor, going, restless=rule.found == RESTLESS)
        out = doubtful(rule.look, sides, found.state, found.onset, found.end)
        if rule.noisy:
            below = np.sqrt(rule.threshold**2 - rule.floor**2)  # movement and noise add up by their squares
            sure = below < WEAKEST_ROLL_MG or _rhythmic(grid, _where(rule.edges, going, np.inf))
            out |= hidden(rule.look, going, rule.threshold, sure=sure)
    else:
        out = doubtful(rule.look, rule.sides, found.state, found.onset, found.end, SWAY_EDGE_S)
    return out | filled(found.onset.best[found.burst], found.end.best[found.burst], len(out))


def _rhythmic(grid: Grid, going: Spans) -> bool:
    """Whether movement has a rhythm for the most part, as pushes and strides have and a motor's rolling has not."""
    return (rhythm(grid, going).share_percent or 0.0) > RHYTHMIC


def _noise_rules(grid: Grid, look: Look, floor_mg: float | None) -> bool:
    """Whether the sensor's own noise is the stillness of a recording, and sets its threshold."""
    still = floor_mg is None or look.quiet_mg < NEAR * floor_mg
    loud = look.setting.noise_from_mg < look.quiet_mg < np.inf
    return still and loud and is_noise(grid.between(look.quiet_s, look.quiet_s + QUIET_S).values)


def _floor(look: Look) -> float:
    """Level of the quietest stretch of 2 s and of all that is like it [mg]."""
    if look.quiet_mg > look.setting.floor_most_mg:
        return look.setting.floor_most_mg
    near = look.sparse[look.sparse < NEAR * look.quiet_mg]
    return float(np.median(near)) if len(near) else look.quiet_mg


def _threshold(look: Look, floor: float) -> float:
    """Between floor and movement on a scale of ratios, within the settings' limits [mg]."""
    setting, level = look.setting, look.sparse
    least = max(floor * setting.factor, setting.least_mg)
    most = max(setting.most_mg, least)
    loud = level[level > most]
    between = float(np.sqrt(max(floor, 0.1 * setting.least_mg) * np.percentile(loud, 75))) if len(loud) else most
    return min(max(between, least), most)


def _where(means: Means, chosen: Bools, until_s: float) -> Spans:
    """The stretches in which something holds [s]."""
    each = runs(chosen.astype(np.int8))
    return _spans(means, each.first[each.state == 1], each.last[each.state == 1], until_s)


def _spans(means: Means, first: Indices, last: Indices, until_s: float) -> Spans:
    """Indices as seconds; what reaches the last mean reaches the end."""
    begin = means.start_s + first * means.step_s
    end = np.where(last == len(means.measured), until_s, means.start_s + last * means.step_s)
    return tuple((float(a), float(b)) for a, b in zip(begin, end, strict=True))
