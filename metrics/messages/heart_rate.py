"""What the metrics say of heart rate, rest, maximum and ceiling: one name a message, for texts in ``words``.

Messages without values are constants; a function gives each of the others its values. Rates are in beats/min, times in
seconds, shares in percent.
"""

from ...words.message import Message, Quoted

# Cautions that every sheet carries, and those of conditions
CAUTION_DEVICE = Message("caution.device")
CAUTION_DECIDE = Message("caution.decide")
CAUTION_STOP = Message("caution.stop")
CAUTION_POWER_CHAIR = Message("caution.power_chair")
CAUTION_ARMS = Message("caution.arms")
CAUTION_DYSREFLEXIA = Message("caution.dysreflexia")
CAUTION_HEAT_BELOW = Message("caution.heat_below")
CAUTION_HEAT = Message("caution.heat")
CAUTION_SKIN = Message("caution.skin")
CAUTION_SHUNT = Message("caution.shunt")
CAUTION_NECK = Message("caution.neck")
CAUTION_LATEX = Message("caution.latex")
CAUTION_CARDIOLOGY = Message("caution.cardiology")
CAUTION_PRESSURE_DROP = Message("caution.pressure_drop")
CAUTION_NECK_INJURY_ZONES = Message("caution.neck_injury_zones")
CAUTION_SAME_MEDICINE = Message("caution.same_medicine")
CAUTION_RAISING = Message("caution.raising")
CAUTION_FAINT = Message("caution.faint")
CAUTION_LESION = Message("caution.lesion")
CAUTION_HEART_MUSCLE = Message("caution.heart_muscle")
CAUTION_MUSCLE_WORK = Message("caution.muscle_work")
CAUTION_BREATHING = Message("caution.breathing")
CAUTION_BREATHING_STOP = Message("caution.breathing_stop")
CAUTION_SEIZURE = Message("caution.seizure")
CAUTION_BONES = Message("caution.bones")

# What a condition does to a heart-rate figure
REASON_HIGH_INJURY = Message("reason.high_injury")
REASON_UNKNOWN_INJURY = Message("reason.unknown_injury")
REASON_MEDICINE = Message("reason.medicine")
REASON_RAISING = Message("reason.raising")
REASON_MUSCLE = Message("reason.muscle")
REASON_PACEMAKER = Message("reason.pacemaker")
REASON_TRANSPLANT = Message("reason.transplant")
REASON_RHYTHM = Message("reason.rhythm")
REASON_HEART_DISEASE = Message("reason.heart_disease")
REASON_AUTONOMIC = Message("reason.autonomic")
REASON_LOW_INJURY = Message("reason.low_injury")
REASON_CEREBRAL_PALSY = Message("reason.cerebral_palsy")
REASON_LOWER_MAXIMUM = Message("reason.lower_maximum")
REASON_SPINA_BIFIDA = Message("reason.spina_bifida")

# Why a figure is not given
WHY_NO_REST = Message("why.no_rest")
WHY_NO_TARGET = Message("why.no_target")
WHY_NO_DISTANCE = Message("why.no_distance")
WHY_NO_SEX = Message("why.no_sex")
WHY_NO_CEILING = Message("why.no_ceiling")
WHY_NO_HEART_RATE = Message("why.no_heart_rate")
WHY_NOT_PLACED = Message("why.not_placed")
WHY_NO_MAXIMUM = Message("why.no_maximum")
WHY_NO_MAXIMUM_SHORT = Message("why.no_maximum_short")
WHY_NO_MAXIMUM_OF_BASELINE = Message("why.no_maximum_of_baseline")
WHY_NO_PEAK = Message("why.no_peak")
WHY_MOTOR_SPEED = Message("why.motor_speed")
WHY_RECOVERY_SHORT = Message("why.recovery_short")
WHY_RECOVERY_AT_END = Message("why.recovery_at_end")
WHY_RECOVERY_AT_60 = Message("why.recovery_at_60")
WHY_NEVER_MEASURED = Message("why.never_measured")

# Remarks on a figure
NOTE_PEAK = Message("note.peak")
NOTE_PEAK_MEASURED = Message("note.peak_measured")
NOTE_CONSTANTS = Message("note.constants")
NOTE_BEATS_MEASURED = Message("note.beats_measured")
"""Of sheets made before: their beats were those of the measured time."""
NOTE_BEATS_EXTENDED = Message("note.beats_extended")
NOTE_MEASURED_TIME = Message("note.measured_time")
NOTE_ZONES_MAXIMUM = Message("note.zones_maximum")
NOTE_FOX = Message("note.fox")
NOTE_GELLISH = Message("note.gellish")
NOTE_VERSCHUREN = Message("note.verschuren")
NOTE_DOWN_MEASURED = Message("note.down_measured")
NOTE_TANAKA_YOUTH = Message("note.tanaka_youth")
NOTE_LEG_WORK = Message("note.leg_work")

# Where rest and maximum come from
BASIS_REST_ENTERED = Message("basis.rest_entered")
BASIS_MAXIMUM_MEASURED = Message("basis.maximum_measured")
BASIS_MAXIMUM_OF_BASELINE = Message("basis.maximum_of_baseline")

FOUND_ALSO_RR = Message("found.also_rr")


WHY_HEALTH = Message("why.health")
"""In place of a reason that names a condition, where a page or table goes to people who need no such thing."""
BASIS_MAXIMUM_EQUATION = Message("basis.maximum_equation")


def caution_coverage(percent: float, needed: float) -> Message:
    """Some of the work was not measured; under ``needed`` it is said."""
    return Message.of("caution.coverage", percent=percent, needed=needed)


def caution_over_maximum(seconds: float) -> Message:
    """A heart that stood above its maximum."""
    return Message.of("caution.over_maximum", seconds=seconds)


def caution_unproven(percent: float) -> Message:
    """Beats of a pulse wave for which nothing vouches."""
    return Message.of("caution.unproven", percent=percent)


def caution_narrow(reserve: float, points: float) -> Message:
    """A reserve so narrow that its percent jumps with every beat."""
    return Message.of("caution.narrow", reserve=reserve, points=points)


def why_no_prediction(condition: str, reason: Message) -> Message:
    """A condition that forbids a predicted maximum."""
    return Message.of("why.no_prediction", condition=condition, reason=reason)


def why_no_equation(reason: Message) -> Message:
    """No equation holds for the student."""
    return Message.of("why.no_equation", reason=reason)


def why_no_reserve(condition: str, reason: Message) -> Message:
    """A condition that forbids every figure of the reserve."""
    return Message.of("why.no_reserve", condition=condition, reason=reason)


def why_no_division(maximum: float, reserve: float, rest: float, needed: float) -> Message:
    """Rest and maximum too close together."""
    return Message.of("why.no_division", maximum=maximum, reserve=reserve, rest=rest, needed=needed)


def why_no_band_of_reserve(why: Message) -> Message:
    """A target band in percent of a reserve that is not known."""
    return Message.of("why.no_band_of_reserve", why=why)


def why_too_little(percent: float, needed: float) -> Message:
    """Too little of the work was measured."""
    return Message.of("why.too_little", percent=percent, needed=needed)


def why_no_crossing(percent: float) -> Message:
    """Nothing above the ceiling was recorded."""
    return Message.of("why.no_crossing", percent=percent)


def why_ceiling_not_counted(bpm: float) -> Message:
    """The ceiling was changed, and what stands above the new one cannot be counted."""
    return Message.of("why.ceiling_not_counted", bpm=bpm)


def why_no_certain_crossing(percent: float) -> Message:
    """Only readings that were set aside stood above the ceiling."""
    return Message.of("why.no_certain_crossing", percent=percent)


def equation_people(equation: str, people: str, condition: str) -> Message:
    """An equation that was made from other people."""
    return Message.of("equation.people", equation=equation, people=people, condition=condition)


def equation_needs(equation: str, people: str) -> Message:
    """An equation for a condition that the student does not have."""
    return Message.of("equation.needs", equation=equation, people=people)


def equation_walking(equation: str) -> Message:
    """An equation for walking only."""
    return Message.of("equation.walking", equation=equation)


def equation_age(equation: str, people: str, youngest: float, oldest: float, age: float) -> Message:
    """An equation outside its ages [years]."""
    return Message.of("equation.age", equation=equation, people=people, youngest=youngest, oldest=oldest, age=age)


def note_above(bpm: float, percent: float) -> Message:
    """What the ceiling's figures count."""
    return Message.of("note.above", bpm=bpm, percent=percent)


def note_possible(count: int, begin: float, bpm: float) -> Message:
    """Readings above the ceiling that are in no figure."""
    return Message.of("note.possible", count=count, begin=begin, bpm=bpm)


def note_zone_below(high: float) -> Message:
    """The lowest class."""
    return Message.of("note.zone_below", high=high)


def note_zone_between(low: float, high: float) -> Message:
    """A class between two edges."""
    return Message.of("note.zone_between", low=low, high=high)


def note_zone_above(low: float) -> Message:
    """The highest class."""
    return Message.of("note.zone_above", low=low)


def note_one_error(lower: float, higher: float) -> Message:
    """Time in a class with the maximum one standard error lower, and higher."""
    return Message.of("note.one_error", lower=lower, higher=higher)


def note_metres(metres: float) -> Message:
    """The distance behind a figure [m]."""
    return Message.of("note.metres", metres=metres)


def note_metres_minutes(metres: float, minutes: float) -> Message:
    """The distance [m] and the time [min] behind a figure."""
    return Message.of("note.metres_minutes", metres=metres, minutes=minutes)


def note_recovery(begin: float, end: float) -> Message:
    """From which rate to which it fell."""
    return Message.of("note.recovery", begin=begin, end=end)


def note_recovery_means(begin: float, end: float, seconds: float) -> Message:
    """The same from means, of single beats."""
    return Message.of("note.recovery_means", begin=begin, end=end, seconds=seconds)


def note_band(low: float, high: float) -> Message:
    """A target band in beats."""
    return Message.of("note.band", low=low, high=high)


def note_band_reserve(low: float, high: float, begin: float, end: float) -> Message:
    """A target band in percent of the reserve, and in beats."""
    return Message.of("note.band_reserve", low=low, high=high, begin=begin, end=end)


def note_dips(seconds: float) -> Message:
    """Which dips do not end a stay."""
    return Message.of("note.dips", seconds=seconds)


def note_predicted(formula: str) -> Message:
    """The maximum is predicted, by this formula."""
    return Message.of("note.predicted", formula=Quoted(formula))


def note_spread(far: float) -> Message:
    """How far a student can be from the prediction: twice the standard error, which holds 95 in 100."""
    return Message.of("note.spread", far=far)


MAXIMUM_PREDICTED = frozenset({"basis.maximum_taken", "basis.maximum_predicted"})
"""Codes of a maximum that was not measured."""
NOT_ASKED = frozenset(
    {
        *("why.no_movement_sensor", "why.no_gyroscope", "why.no_target", "why.no_ceiling", "why.no_distance"),
        *("why.no_sex", "why.no_crossing"),
    }
)
"""Codes of reasons that tell that nobody asked for a figure, or that there was nothing to find."""
NOT_PERFORMED = NOT_ASKED - {"why.no_crossing"}
"""Codes of reasons that tell that a figure was not asked for, or its sensor not worn."""


def basis_rest(bpm: float, how: Message) -> Message:
    """The rest that a figure rests on."""
    return Message.of("basis.rest", bpm=bpm, how=how)


def basis_maximum(bpm: float, how: Message) -> Message:
    """The maximum that a figure rests on, without a published error."""
    return Message.of("basis.maximum", bpm=bpm, how=how)


def basis_maximum_see(bpm: float, how: Message, see: float) -> Message:
    """The maximum that a figure rests on, and its standard error."""
    return Message.of("basis.maximum_see", bpm=bpm, how=how, see=see)


def basis_rest_mean(begin: float, end: float) -> Message:
    """The stretch that rest was taken from."""
    return Message.of("basis.rest_mean", begin=begin, end=end)


def basis_maximum_taken(equation: str) -> Message:
    """A maximum that does not depend on age."""
    return Message.of("basis.maximum_taken", equation=equation)


def basis_maximum_predicted(age: float, equation: str) -> Message:
    """A maximum predicted from age [years]."""
    return Message.of("basis.maximum_predicted", age=age, equation=equation)


def found_short_rest(seconds: float) -> Message:
    """A rest phase of under a minute."""
    return Message.of("found.short_rest", seconds=seconds)


def found_rest_gaps(percent: float, needed: float) -> Message:
    """A rest with gaps; under ``needed`` it is said."""
    return Message.of("found.rest_gaps", percent=percent, needed=needed)


def found_rest_falling(slope: float) -> Message:
    """A rest in which the rate still fell [/min per min]."""
    return Message.of("found.rest_falling", slope=slope)


def found_rest_high(bpm: float) -> Message:
    """A high rest."""
    return Message.of("found.rest_high", bpm=bpm)


def found_hold_asked(seconds: float) -> Message:
    """For how long a value was asked to stand."""
    return Message.of("found.hold_asked", seconds=seconds)


def found_on_change(hold: float, vouches: float) -> Message:
    """A recorder that wrote now and then."""
    return Message.of("found.on_change", hold=hold, vouches=vouches)


def found_unclear_step(step: float) -> Message:
    """Too little is left to tell the recorder's step."""
    return Message.of("found.unclear_step", step=step)


def found_lost_seconds(step: float, percent: float, hold: float) -> Message:
    """A regular recorder that lost values."""
    return Message.of("found.lost_seconds", step=step, percent=percent, hold=hold)
