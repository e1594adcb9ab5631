"""The movement figures of a sheet: which are given, what they mean for this placement, and why others are not.

A sensor on the chair's frame shows floor, speed and motor: its figures are worded as the chair moving, never as effort.
"""

from dataclasses import dataclass, replace

import numpy as np

from ..ingest.recording import ACCELERATION, ANGULAR_RATE, Recording, Stream
from ..words.message import Message
from ..words.vocabulary import MOTION_FIGURES, ON_CHAIR
from .bounds import Bounded
from .figure import Counting
from .messages import movement as say
from .motion.amplitude import measured_percent, motion_level
from .motion.bouts import assisted, coverage, length, longest_moving, moving_time, stop_count, told_percent, within
from .motion.calibration import calibrate
from .motion.gravity import still_stretches, unit_check
from .motion.grid import Grid, to_grid
from .motion.moving import Motion, moving, parked_floor
from .motion.moving_notes import no_movement, not_told, remark
from .motion.rhythm import Rhythm, rhythm
from .motion.turns import Turn, turns
from .rhythm_figures import add_rhythm, what_is_counted
from .settings import Asked
from .sheet_builder import Drafts

LEAST_TOLD = 80.0
"""Under this share of the work phase (in %) that was measured, and told to be moving or still, times and counts say
nothing of the trial. Common practice, as for heart rate."""
WORTH_TELLING = 0.05
"""So much doubtful time, as a share of the phase, is told beside the figures. Common practice, no source."""


@dataclass(frozen=True, eq=False)
class Movement:
    """What the movement figures were made from; kept for the sheet's provenance and for heart rate with movement.

    ``motion`` is that of the work phase, ``whole`` that of the whole recording.
    """

    source: str
    rate_hz: float
    motion: Motion
    whole: Motion
    rhythm: Rhythm
    turns: tuple[Turn, ...]
    findings: tuple[Message, ...]
    counted: Counting | None


def add_motion_figures(
    drafts: Drafts, recording: Recording, asked: Asked, work: tuple[float, float]
) -> Movement | None:
    """Add every movement figure but the heart rate with movement, given or withheld."""
    sensor = next(iter(recording.all(ACCELERATION)), None)
    grid, findings = prepared(sensor) if sensor is not None and len(sensor) else (None, ())
    if sensor is None or grid is None:
        for name in MOTION_FIGURES:
            drafts.withhold(name, say.WHY_NO_MOVEMENT_SENSOR)
        return None
    if asked.placement is None:
        for name in MOTION_FIGURES:
            drafts.withhold(name, say.WHY_NO_PLACEMENT, refused=True)
        return None
    found = _movement(grid, findings, sensor, recording, asked, work, power_chair=drafts.basis.power_chair)
    _add_moving(drafts, found, asked)
    add_rhythm(drafts, found.rhythm, str(asked.placement), coverage(found.motion).value)
    _add_level(drafts, grid, work)
    _add_turns(drafts, found, recording, work, str(asked.placement))
    return found


def prepared(sensor: Stream) -> tuple[Grid | None, tuple[Message, ...]]:
    """The grid of an acceleration with its unit and gravity set right, and what was found and done.

    A unit that gravity shows to be wrong is set right and said; gain and offset are set by the still stretches where
    their postures allow it, and said with the error before and after.
    """
    grid = to_grid(sensor)
    if grid is None:
        return None, ()
    still = still_stretches(grid)
    findings = unit_check(sensor, grid, still)
    told = [each.message for each in findings]
    factor = next((each.factor for each in findings if each.code == "wrong_unit" and each.factor), None)
    if factor:
        grid = replace(grid, values=grid.values / factor)
        still = still_stretches(grid)
        told.append(say.sensor_divided(factor))
    if not any(each.code == "no_gravity" for each in findings):
        found = calibrate(still)
        if found.method != "none" and found.error_before_mg is not None and found.error_after_mg is not None:
            said = found.postures, found.method, found.error_before_mg, found.error_after_mg
            told.append(say.sensor_calibrated(*said))
            grid = replace(grid, values=found.apply(grid.values))
    return replace(grid, values=np.asfortranarray(grid.values)), tuple(told)  # each axis in one piece of memory


def _movement(
    grid: Grid,
    findings: tuple[Message, ...],
    sensor: Stream,
    recording: Recording,
    asked: Asked,
    work: tuple[float, float],
    *,
    power_chair: bool,
) -> Movement:
    """Moving and rhythm over the whole recording, cut to the phase."""
    place = str(asked.placement)
    floor = asked.floor_mg
    if floor is None and asked.floor_span is not None:
        floor = parked_floor(grid.between(*asked.floor_span), moved_as(place))
    whole = assisted(moving(grid, moved_as(place), floor), asked.assisted)
    cut = within(whole, *work)
    beat = rhythm(grid, whole.moving, within=work)
    gyro = next(iter(recording.all(ANGULAR_RATE)), None)
    turned = to_grid(gyro) if gyro is not None and len(gyro) else None
    found = turns(turned, grid) if turned is not None and place != "wheel" else ()
    said = remark(whole, place)
    told = findings if said is None else (*findings, said)
    return Movement(
        sensor.source,
        grid.rate_hz,
        cut,
        whole,
        beat,
        found,
        told,
        what_is_counted(beat, place, power_chair=power_chair),
    )


def _add_moving(drafts: Drafts, found: Movement, asked: Asked) -> None:
    """Moving time, the longest stay, stops."""
    cut, place = found.motion, str(asked.placement)
    covered = coverage(cut)
    drafts.give("coverage_motion", covered, coverage=covered.value)
    if covered.value is None or cut.threshold_mg is None:
        for name in ("moving_time", "longest_moving", "stop_count"):
            drafts.withhold(name, no_movement(cut, place), refused=True)
        return
    why = _refused(cut)
    if why:
        for name in ("moving_time", "longest_moving", "stop_count"):
            drafts.withhold(name, why, refused=True)
        return
    helped = length(cut.left_out)
    rules = {
        "moving_time": (moving_time(cut), say.note_moving(cut.threshold_mg)),
        "longest_moving": (longest_moving(cut, asked.pause_s), say.note_longest(asked.pause_s)),
        "stop_count": (stop_count(cut, asked.stop_s), say.note_stops(asked.stop_s)),
    }
    unsure = length(cut.doubtful)
    chair = (say.NOTE_CHAIR,) if place in ON_CHAIR else ()
    aside = (say.note_assisted(helped),) if helped else ()
    doubt = (say.note_doubtful(unsure),) if unsure >= WORTH_TELLING * (cut.until_s - cut.from_s) else ()
    for name, (bounded, rule) in rules.items():
        drafts.give(name, bounded, note=(*chair, rule, *aside, *doubt), coverage=covered.value)


def _refused(cut: Motion) -> Message | None:
    """Why times and counts of movement are not given; None if they are."""
    measured, told = coverage(cut).value, told_percent(cut)
    if measured is None or told is None or measured < LEAST_TOLD:
        return say.why_too_little_movement(measured or 0.0, LEAST_TOLD)
    return not_told(cut, told, LEAST_TOLD) if told < LEAST_TOLD else None


def _add_level(drafts: Drafts, grid: Grid, work: tuple[float, float]) -> None:
    """Mean amplitude deviation."""
    bounded, share = motion_level(grid, *work), measured_percent(grid, *work)
    if bounded.value is not None and share < LEAST_TOLD:
        drafts.withhold("motion_level", say.why_too_little_movement(share, LEAST_TOLD), refused=True)
    elif bounded.value is None:
        drafts.withhold("motion_level", say.WHY_NO_EPOCHS, refused=True)
    else:
        drafts.give("motion_level", bounded, note=say.NOTE_LEVEL, coverage=share)


def _add_turns(
    drafts: Drafts, found: Movement, recording: Recording, work: tuple[float, float], placement: str
) -> None:
    """Turns to the left and right, from a gyroscope."""
    names = {"left": "turns_left", "right": "turns_right"}
    inside = [turn for turn in found.turns if work[0] <= turn.from_s < work[1]]
    why = None
    if ANGULAR_RATE not in recording:
        why = say.WHY_NO_GYROSCOPE
    elif placement == "wheel":
        why = say.WHY_WHEEL_TURNS
    elif any(turn.side is None for turn in inside):
        why = say.WHY_NO_UP
    for side, name in names.items():
        if why:
            drafts.withhold(name, why)
            continue
        count = float(sum(turn.side == side for turn in inside))
        drafts.give(name, Bounded(count, count, count), note=say.NOTE_TURNS)


def moved_as(placement: str) -> str:
    """The placement whose signs of movement hold: a wheel turns gravity round in its sensor, as a crank does."""
    return "crank" if placement == "wheel" else placement


def level_of(recording: Recording, placement: str) -> float | None:
    """Level of a recording in which the chair stood with its power on [mg]; None without movement samples."""
    sensor = next(iter(recording.all(ACCELERATION)), None)
    grid = prepared(sensor)[0] if sensor is not None and len(sensor) else None
    return None if grid is None else parked_floor(grid, moved_as(placement))
