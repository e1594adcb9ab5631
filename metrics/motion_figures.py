"""The movement figures of a sheet: which are given, what they mean for this placement, and why others are not.

A sensor on the chair's frame shows floor, speed and motor: its figures are worded as the chair moving, never as effort.
"""

from dataclasses import dataclass, replace

from ..ingest.recording import ACCELERATION, ANGULAR_RATE, Recording, Stream
from ..words.numbers import nearest
from .bounds import Bounded
from .figure import Counting
from .glossary import CHAIR, MOTION_FIGURES, ON_CHAIR
from .motion import moving_notes as words
from .motion.amplitude import measured_percent, motion_level
from .motion.bouts import assisted, coverage, length, longest_moving, moving_time, stop_count, told_percent, within
from .motion.calibration import calibrate
from .motion.gravity import still_stretches, unit_check
from .motion.grid import Grid, to_grid
from .motion.moving import Motion, moving, parked_floor
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
NO_SENSOR = "Not given: there is no movement sensor in the recording."
_NO_PLACE = "Not given: say where the movement sensor sat (--placement frame, wrist, crank, trunk or wheel)."


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
    findings: tuple[str, ...]
    counted: Counting | None


def add_motion_figures(
    drafts: Drafts, recording: Recording, asked: Asked, work: tuple[float, float]
) -> Movement | None:
    """Add every movement figure but the heart rate with movement, given or withheld."""
    sensor = next(iter(recording.all(ACCELERATION)), None)
    grid, findings = prepared(sensor) if sensor is not None and len(sensor) else (None, ())
    if sensor is None or grid is None:
        for name in MOTION_FIGURES:
            drafts.withhold(name, NO_SENSOR)
        return None
    if asked.placement is None:
        for name in MOTION_FIGURES:
            drafts.withhold(name, _NO_PLACE, refused=True)
        return None
    found = _movement(grid, findings, sensor, recording, asked, work, power_chair=drafts.basis.power_chair)
    _add_moving(drafts, found, asked)
    add_rhythm(drafts, found.rhythm, str(asked.placement), coverage(found.motion).value)
    _add_level(drafts, grid, work)
    _add_turns(drafts, found, recording, work, str(asked.placement))
    return found


def prepared(sensor: Stream) -> tuple[Grid | None, tuple[str, ...]]:
    """The grid of an acceleration with its unit and gravity set right, and what was found and done.

    A unit that gravity shows to be wrong is set right and said; gain and offset are set by the still stretches where
    their postures allow it, and said with the error before and after.
    """
    grid = to_grid(sensor)
    if grid is None:
        return None, ()
    still = still_stretches(grid)
    findings = unit_check(sensor, grid, still)
    told = [each.sentence for each in findings]
    factor = next((each.factor for each in findings if each.code == "wrong_unit" and each.factor), None)
    if factor:
        grid = replace(grid, values=grid.values / factor)
        still = still_stretches(grid)
        told.append(f"All movement figures use the values divided by {factor:.4g}.")
    if any(each.code == "no_gravity" for each in findings):
        return grid, tuple(told)
    found = calibrate(still)
    if found.method != "none" and found.error_before_mg is not None and found.error_after_mg is not None:
        told.append(
            f"Calibrated by the still stretches ({found.postures} postures, by {found.method}): gravity was off by "
            f"{nearest(found.error_before_mg)} mg and is off by {nearest(found.error_after_mg)} mg now."
        )
        grid = replace(grid, values=found.apply(grid.values))
    return grid, tuple(told)


def _movement(
    grid: Grid,
    findings: tuple[str, ...],
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
    said = words.note(whole, place)
    told = findings + ((said,) if said else ())
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
    chair = CHAIR if place in ON_CHAIR else ""
    covered = coverage(cut)
    drafts.give("coverage_motion", covered, coverage=covered.value)
    if covered.value is None or cut.threshold_mg is None:
        for name in ("moving_time", "longest_moving", "stop_count"):
            drafts.withhold(name, words.no_movement(cut, place), refused=True)
        return
    why = _refused(cut)
    if why:
        for name in ("moving_time", "longest_moving", "stop_count"):
            drafts.withhold(name, why, refused=True)
        return
    helped = length(cut.left_out)
    aside = f"{nearest(helped)} s with physical assistance left out" if helped else ""
    rules = {
        "moving_time": (moving_time(cut), f"movement above {nearest(cut.threshold_mg)} thousandths of gravity"),
        "longest_moving": (longest_moving(cut, asked.pause_s), f"pauses of up to {asked.pause_s:g} s do not end it"),
        "stop_count": (stop_count(cut, asked.stop_s), f"still for at least {asked.stop_s:g} s between two movements"),
    }
    unsure = length(cut.doubtful)
    doubt = words.doubtful(unsure) if unsure >= WORTH_TELLING * (cut.until_s - cut.from_s) else ""
    for name, (bounded, rule) in rules.items():
        note = "; ".join(part for part in (chair, rule, aside, doubt) if part)
        drafts.give(name, bounded, note=note, coverage=covered.value)


def _refused(cut: Motion) -> str:
    """Why times and counts of movement are not given; empty if they are."""
    measured, told = coverage(cut).value, told_percent(cut)
    if measured is None or told is None or measured < LEAST_TOLD:
        return words.too_little(measured or 0.0, LEAST_TOLD)
    return words.not_told(cut, told, LEAST_TOLD) if told < LEAST_TOLD else ""


def _add_level(drafts: Drafts, grid: Grid, work: tuple[float, float]) -> None:
    """Mean amplitude deviation."""
    bounded, share = motion_level(grid, *work), measured_percent(grid, *work)
    if bounded.value is not None and share < LEAST_TOLD:
        drafts.withhold("motion_level", words.too_little(share, LEAST_TOLD), refused=True)
    elif bounded.value is None:
        drafts.withhold("motion_level", "Not given: no 5 s of work were measured without a gap.", refused=True)
    else:
        drafts.give("motion_level", bounded, note="never compared with levels of walking adults", coverage=share)


def _add_turns(
    drafts: Drafts, found: Movement, recording: Recording, work: tuple[float, float], placement: str
) -> None:
    """Turns to the left and right, from a gyroscope."""
    names = {"left": "turns_left", "right": "turns_right"}
    inside = [turn for turn in found.turns if work[0] <= turn.from_s < work[1]]
    why = ""
    if ANGULAR_RATE not in recording:
        why = "Not given: there is no gyroscope in the recording."
    elif placement == "wheel":
        why = "Not given: a sensor on a wheel turns with it, so turns of the chair cannot be told."
    elif any(turn.side is None for turn in inside):
        why = "Not given: nothing says which way is up, so left cannot be told from right."
    for side, name in names.items():
        if why:
            drafts.withhold(name, why)
            continue
        count = float(sum(turn.side == side for turn in inside))
        drafts.give(name, Bounded(count, count, count), note="of at least 45 degrees")


def moved_as(placement: str) -> str:
    """The placement whose signs of movement hold: a wheel turns gravity round in its sensor, as a crank does."""
    return "crank" if placement == "wheel" else placement


def level_of(recording: Recording, placement: str) -> float | None:
    """Level of a recording in which the chair stood with its power on [mg]; None without movement samples."""
    sensor = next(iter(recording.all(ACCELERATION)), None)
    grid = prepared(sensor)[0] if sensor is not None and len(sensor) else None
    return None if grid is None else parked_floor(grid, moved_as(placement))
