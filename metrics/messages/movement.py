"""What the metrics say of movement, its rhythm and its sensor, and of heart rate beside it: one name a message.

Messages without values are constants; a function gives each of the others its values. Levels are in thousandths of
gravity, rates in /min, times in seconds, shares in percent.
"""

from ...words.message import Message, Quoted

FOUND_NOTHING_MEASURED = Message("found.nothing_measured")
FOUND_RESTLESS = Message("found.restless")
FOUND_RESTLESS_POWER = Message("found.restless_power")
WHY_NO_MOVEMENT_SENSOR = Message("why.no_movement_sensor")
WHY_NO_PLACEMENT = Message("why.no_placement")
WHY_NO_MOVEMENT = Message("why.no_movement")
WHY_NO_EPOCHS = Message("why.no_epochs")
WHY_NO_GYROSCOPE = Message("why.no_gyroscope")
WHY_NO_UP = Message("why.no_up")
WHY_WHEEL_TURNS = Message("why.wheel_turns")
NOTE_CHAIR = Message("note.chair")
NOTE_LEVEL = Message("note.level")
NOTE_TURNS = Message("note.turns")
WHY_CHAIR_RHYTHM = Message("why.chair_rhythm")
WHY_WHEEL_RHYTHM = Message("why.wheel_rhythm")
NOTE_NO_DIRECTION = Message("note.no_direction")
RHYTHM_NONE = Message("rhythm.none")
RHYTHM_CYCLES = Message("rhythm.cycles")
SENSOR_NO_STILLNESS = Message("sensor.no_stillness")
WHY_NO_CLOCK = Message("why.no_clock")
FOUND_SAY_CHEST = Message("found.say_chest")
FOUND_LOCK_UNSEEN = Message("found.lock_unseen")


def found_noise_hides(floor: float, threshold: float) -> Message:
    """A sensor whose noise hides weak movement."""
    return Message.of("found.noise_hides", floor=floor, threshold=threshold)


def why_because(why: Message) -> Message:
    """A figure that is not given for what another message says."""
    return Message.of("why.because", why=why)


def why_too_little_movement(percent: float, needed: float) -> Message:
    """Too little of the work was measured by the movement sensor."""
    return Message.of("why.too_little_movement", percent=percent, needed=needed)


def why_not_told(percent: float, needed: float) -> Message:
    """Too little of the work can be told to be movement or stillness."""
    return Message.of("why.not_told", percent=percent, needed=needed)


def why_not_told_restless(percent: float, needed: float) -> Message:
    """The same in a recording without stillness."""
    return Message.of("why.not_told_restless", percent=percent, needed=needed)


def why_not_told_noise(percent: float, needed: float, floor: float) -> Message:
    """The same where the sensor's noise is the reason."""
    return Message.of("why.not_told_noise", percent=percent, needed=needed, floor=floor)


def note_moving(threshold: float) -> Message:
    """What counts as movement."""
    return Message.of("note.moving", threshold=threshold)


def note_longest(seconds: float) -> Message:
    """Which pauses a stay of movement may hold."""
    return Message.of("note.longest", seconds=seconds)


def note_stops(seconds: float) -> Message:
    """What counts as a stop."""
    return Message.of("note.stops", seconds=seconds)


def note_assisted(seconds: float) -> Message:
    """Time with physical assistance."""
    return Message.of("note.assisted", seconds=seconds)


def note_doubtful(seconds: float) -> Message:
    """Time that may be movement or stillness."""
    return Message.of("note.doubtful", seconds=seconds)


def why_knocks(percent: float) -> Message:
    """A frame that is knocked more than it is pushed."""
    return Message.of("why.knocks", percent=percent)


def note_cycles_over(seconds: float) -> Message:
    """What a cadence counts, and over how much time."""
    return Message.of("note.cycles_over", seconds=seconds)


def note_cycles_in(seconds: float) -> Message:
    """What a number of cycles counts, and in how much time."""
    return Message.of("note.cycles_in", seconds=seconds)


def note_strides_over(steps: float, seconds: float) -> Message:
    """A cadence of strides on the trunk."""
    return Message.of("note.strides_over", steps=steps, seconds=seconds)


def note_strides_in(steps: float, seconds: float) -> Message:
    """A number of strides on the trunk."""
    return Message.of("note.strides_in", steps=steps, seconds=seconds)


def note_cycle_or_step_over(seconds: float) -> Message:
    """A cadence on the trunk where a cycle may be a step."""
    return Message.of("note.cycle_or_step_over", seconds=seconds)


def note_cycle_or_step_in(seconds: float) -> Message:
    """A number of cycles on the trunk where a cycle may be a step."""
    return Message.of("note.cycle_or_step_in", seconds=seconds)


def rhythm_too_short(seconds: float) -> Message:
    """Less movement than a rhythm takes to show."""
    return Message.of("rhythm.too_short", seconds=seconds)


def rhythm_too_slow_a_sensor(rate: float, fastest: float, needed: float) -> Message:
    """A sensor's rate [Hz] that shows no cadence, and the one that would."""
    return Message.of("rhythm.too_slow_a_sensor", rate=rate, fastest=fastest, needed=needed)


def rhythm_too_fast(fastest: float, rate: float, needed: float) -> Message:
    """Movement that is too fast for a sensor's rate [Hz], and the rate that would do."""
    return Message.of("rhythm.too_fast", fastest=fastest, rate=rate, needed=needed)


def rhythm_halves(cycles: float, halves: float) -> Message:
    """Cycles of two halves that are alike."""
    return Message.of("rhythm.halves", cycles=cycles, halves=halves)


def rhythm_resolution(step: float, seconds: float) -> Message:
    """Which change of cadence is too small to show."""
    return Message.of("rhythm.resolution", step=step, seconds=seconds)


def rhythm_share(percent: float, seconds: float) -> Message:
    """How much of the movement had the rhythm."""
    return Message.of("rhythm.share", percent=percent, seconds=seconds)


def rhythm_apart(count: int, begin: float, until: float, cadence: float) -> Message:
    """Bouts of another rhythm, and the longest of them."""
    return Message.of("rhythm.apart", count=count, begin=begin, until=until, cadence=cadence)


def rhythm_in_turn(cycles: float, pairs: float) -> Message:
    """Cycles of which two may be one."""
    return Message.of("rhythm.in_turn", cycles=cycles, pairs=pairs)


def sensor_wrong_unit(gravity: float, mistake: str) -> Message:
    """Gravity at rest [g] that shows a wrong unit."""
    return Message.of("sensor.wrong_unit", gravity=gravity, mistake=mistake)


def sensor_wrong_unit_moving(acceleration: float, mistake: str) -> Message:
    """The same by the usual acceleration [g], without stillness."""
    return Message.of("sensor.wrong_unit_moving", acceleration=acceleration, mistake=mistake)


def sensor_no_gravity(acceleration: float) -> Message:
    """An acceleration [g] that gravity was taken out of."""
    return Message.of("sensor.no_gravity", acceleration=acceleration)


def sensor_off_scale(gravity: float, off: float) -> Message:
    """Gravity at rest [g] and by how much it is off."""
    return Message.of("sensor.off_scale", gravity=gravity, off=off)


def sensor_constant_axis(axis: str, value: float) -> Message:
    """An axis that never changes [g]."""
    return Message.of("sensor.constant_axis", axis=Quoted(axis), value=value)


def sensor_same_axes(first: str, second: str) -> Message:
    """Two axes that are copies."""
    return Message.of("sensor.same_axes", first=Quoted(first), second=Quoted(second))


def sensor_clipped(axis: str, limit: float, longest: int, samples: int) -> Message:
    """An axis at its limit [g]: the longest run, and all of them."""
    return Message.of("sensor.clipped", axis=Quoted(axis), limit=limit, longest=longest, samples=samples)


def sensor_divided(factor: float) -> Message:
    """What a wrong unit was set right by."""
    return Message.of("sensor.divided", factor=factor)


def sensor_calibrated(postures: int, method: str, before: float, after: float) -> Message:
    """A calibration, with the error before and after."""
    return Message.of("sensor.calibrated", postures=postures, method=method, before=before, after=after)


def why_too_short_moving(seconds: float, needed: float) -> Message:
    """Too little heart rate while moving."""
    return Message.of("why.too_short_moving", seconds=seconds, needed=needed)


def why_too_short_still(seconds: float, needed: float) -> Message:
    """Too little heart rate while still."""
    return Message.of("why.too_short_still", seconds=seconds, needed=needed)


def note_moving_and_still(moving: float, still: float) -> Message:
    """The two means [/min] behind a rise while moving."""
    return Message.of("note.moving_and_still", moving=moving, still=still)


def note_settling_left_out(seconds: float) -> Message:
    """What was left out because the heart lags."""
    return Message.of("note.settling_left_out", seconds=seconds)


def note_settling_kept(seconds: float) -> Message:
    """Stretches that are too short to leave that out."""
    return Message.of("note.settling_kept", seconds=seconds)


def found_rise_without_movement(count: int, begin: float, until: float, rise: float) -> Message:
    """Rises of heart rate [/min] that no movement explains, and the highest."""
    return Message.of("found.rise_without_movement", count=count, begin=begin, until=until, rise=rise)


def found_locked(locked: float, compared: float) -> Message:
    """A heart rate that most likely counts movements."""
    return Message.of("found.locked", locked=locked, compared=compared)


def found_perhaps_locked(unsure: float, compared: float) -> Message:
    """A heart rate that may count movements, and is used."""
    return Message.of("found.perhaps_locked", unsure=unsure, compared=compared)
