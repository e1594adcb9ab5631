"""What a comparison says: one name a message, for texts in ``words``.

Messages without values are constants; a function gives each of the others its values. Numbers are given as they are to
be shown, so that a difference is the difference of the numbers beside it; with their unit they are messages themselves.
"""

from datetime import date

from ...words.message import Message, Quoted

# Numbers with their unit
AMOUNT_ANY = Message("amount.any")


def amount_of(value: float, unit: str) -> Message:
    """A number with the unit of a figure; ``unit`` is a branch of the text."""
    return Message.of("amount.of", value=value, unit=unit)


def amount_by_hand(value: float, unit: Quoted) -> Message:
    """A number with a unit that a person wrote."""
    return Message.of("amount.by_hand", value=value, unit=unit)


# What a sentence is about
def subject_figure(figure: str) -> Message:
    """A figure of the sheet."""
    return Message.of("subject.figure", figure=figure)


def subject_zone(figure: str) -> Message:
    """The time in a class of effort."""
    return Message.of("subject.zone", figure=figure)


def subject_hand(name: Quoted) -> Message:
    """A hand measure."""
    return Message.of("subject.hand", name=name)


def subject_side(subject: Message, side: str) -> Message:
    """One side of it."""
    return Message.of("subject.side", subject=subject, side=side)


# Facts of the set-up
FACT_UNKNOWN = Message("fact.unknown")
FACT_NONE = Message("fact.none")


def fact_number(value: float) -> Message:
    """A number without a unit."""
    return Message.of("fact.number", value=value)


def fact_amount(value: float, measure: str) -> Message:
    """A number with a unit of the set-up."""
    return Message.of("fact.amount", value=value, measure=measure)


def fact_text(text: Quoted) -> Message:
    """What a person wrote, or a word of a list."""
    return Message.of("fact.text", text=text)


def fact_several(parts: tuple[Message, ...]) -> Message:
    """Several facts in one field."""
    return Message.of("fact.several", parts=parts)


def fact_conditions(conditions: tuple[str, ...]) -> Message:
    """Conditions that act on heart rate."""
    return Message.of("fact.conditions", conditions=conditions)


def fact_reserve(low: float, high: float) -> Message:
    """A target band in percent of the reserve."""
    return Message.of("fact.reserve", low=low, high=high)


def fact_beats(low: float, high: float) -> Message:
    """A target band in beats."""
    return Message.of("fact.beats", low=low, high=high)


def fact_then(first: Message, second: Message) -> Message:
    """How it was in one trial and then in the next of the same side."""
    return Message.of("fact.then", first=first, second=second)


def fact_differs(field: str, before: Message, after: Message) -> Message:
    """A fact with how it was both times."""
    return Message.of("fact.differs", field=field, before=before, after=after)


# The verdict
VERDICT_ONE_BASELINE = Message("verdict.one_baseline")
VERDICT_BETTER_HIGHER = Message("verdict.better_higher")
VERDICT_BETTER_LOWER = Message("verdict.better_lower")
VERDICT_OTHER_HIGHER = Message("verdict.other_higher")
VERDICT_OTHER_LOWER = Message("verdict.other_lower")
VERDICT_SIDES_DIFFER = Message("verdict.sides_differ")


def verdict_rose(subject: Message, before: Message, after: Message, change: Message) -> Message:
    """It rose."""
    return Message.of("verdict.rose", subject=subject, before=before, after=after, change=change)


def verdict_fell(subject: Message, before: Message, after: Message, change: Message) -> Message:
    """It fell."""
    return Message.of("verdict.fell", subject=subject, before=before, after=after, change=change)


def verdict_same(subject: Message, before: Message) -> Message:
    """As shown it was the same both times."""
    return Message.of("verdict.same", subject=subject, before=before)


def verdict_way_open(subject: Message, before: Message, after: Message) -> Message:
    """The unmeasured stretches allow that it rose, fell or stayed."""
    return Message.of("verdict.way_open", subject=subject, before=before, after=after)


def verdict_between(low: Message, high: Message) -> Message:
    """What unmeasured stretches allow the change to be."""
    return Message.of("verdict.between", low=low, high=high)


def verdict_rising(drift: Message) -> Message:
    """The baselines were rising already."""
    return Message.of("verdict.rising", drift=drift)


def verdict_falling(drift: Message) -> Message:
    """The baselines were falling already."""
    return Message.of("verdict.falling", drift=drift)


def verdict_detectable(value: Message, percent: float, repeats: Message) -> Message:
    """What day-to-day variation explains, at which level, from whose repeats; a family reads the value alone."""
    return Message.of("verdict.detectable", value=value, percent=percent, repeats=repeats)


def verdict_beyond(detectable: Message) -> Message:
    """More than variation explains."""
    return Message.of("verdict.beyond", detectable=detectable)


def verdict_beyond_unmeasured(detectable: Message) -> Message:
    """More than variation explains, whatever was not measured."""
    return Message.of("verdict.beyond_unmeasured", detectable=detectable)


def verdict_beyond_own_rhythm(detectable: Message) -> Message:
    """More than variation explains, if the heart kept its own rhythm."""
    return Message.of("verdict.beyond_own_rhythm", detectable=detectable)


def verdict_within(detectable: Message) -> Message:
    """No change is shown."""
    return Message.of("verdict.within", detectable=detectable)


def verdict_cannot(detectable: Message, low: Message, high: Message) -> Message:
    """It cannot be told apart."""
    return Message.of("verdict.cannot", detectable=detectable, low=low, high=high)


def verdict_ask(what: tuple[Message, ...]) -> Message:
    """What somebody who was there must say before the verdict holds."""
    return Message.of("verdict.ask", what=what)


def verdict_not_comparable(what: tuple[Message, ...]) -> Message:
    """The set-up differed in what must match."""
    return Message.of("verdict.not_comparable", what=what)


# Why no change is given although the set-up matches
NOT_GIVEN_NO_SIDE = Message("not_given.no_side")


def not_given_no_baseline(subject: Message) -> Message:
    """No baseline has the figure."""
    return Message.of("not_given.no_baseline", subject=subject)


def not_given_no_retest(subject: Message) -> Message:
    """No re-test has the figure."""
    return Message.of("not_given.no_retest", subject=subject)


def not_given_other_basis(subject: Message, basis: Message) -> Message:
    """The figure rests on different bases."""
    return Message.of("not_given.other_basis", subject=subject, basis=basis)


def not_given_other_rule(subject: Message) -> Message:
    """A cadence was counted by another rule in an older sheet."""
    return Message.of("not_given.other_rule", subject=subject)


def not_given_counted_apart(subject: Message, low: float, high: float) -> Message:
    """A cadence may count both sides together in one trial and each by itself in another [/min]."""
    return Message.of("not_given.counted_apart", subject=subject, low=low, high=high)


def not_given_other_distance(subject: Message, before: float, after: float) -> Message:
    """The distance covered changed, so the figure is of another load [m]."""
    return Message.of("not_given.other_distance", subject=subject, before=before, after=after)


def not_given_other_rhythm(subject: Message, before: float, after: float) -> Message:
    """The rhythm changed, so the figure is of another load [/min]."""
    return Message.of("not_given.other_rhythm", subject=subject, before=before, after=after)


# Different bases
APART_ZONES = Message("apart.zones")
APART_NONE = Message("apart.none")


def apart_rate(bpm: float) -> Message:
    """One of several rests or maxima [/min]."""
    return Message.of("apart.rate", bpm=bpm)


def apart_rest(rates: tuple[Message, ...]) -> Message:
    """Different rests."""
    return Message.of("apart.rest", rates=rates)


def apart_maximum(rates: tuple[Message, ...]) -> Message:
    """Different maxima."""
    return Message.of("apart.maximum", rates=rates)


# Why neither way is called better
UNDIRECTED_RHYTHM = Message("undirected.rhythm")
UNDIRECTED_RECOVERY = Message("undirected.recovery")
UNDIRECTED_MOTOR = Message("undirected.motor")
UNDIRECTED_MEDICINE = Message("undirected.medicine")

# Whose repeats the day-to-day error comes from
REPEATS_OWN = Message("repeats.own")
REPEATS_OWN_BOTH = Message("repeats.own_both")


def repeats_borrowed(students: int) -> Message:
    """Those of other students."""
    return Message.of("repeats.borrowed", students=students)


def repeats_borrowed_own(students: int) -> Message:
    """Those of other students, with the student's own."""
    return Message.of("repeats.borrowed_own", students=students)


# Remarks beside a verdict
REMARK_PRACTICE = Message("remark.practice")
REMARK_NO_PRACTICE = Message("remark.no_practice")
REMARK_OWN_RHYTHM = Message("remark.own_rhythm")
REMARK_SAME_DAY = Message("remark.same_day")
REMARK_PRIMARY = Message("remark.primary")
REMARK_BORROWED = Message("remark.borrowed")
REMARK_WILDER = Message("remark.wilder")
REMARK_SHARED_UNKNOWN = Message("remark.shared_unknown")
REMARK_TWO_DAYS = Message("remark.two_days")


def remark_two_trials(share: float) -> Message:
    """The own error comes from two trials; a third baseline brings what can be shown to this share of it [%]."""
    return Message.of("remark.two_trials", share=share)


def remark_shared(others: int) -> Message:
    """Those who were tested on the same days moved the same way."""
    return Message.of("remark.shared", others=others)


def remark_apart(figures: tuple[Message, ...]) -> Message:
    """Other figures that rest on different bases."""
    return Message.of("remark.apart", figures=figures)


def remark_floored(amount: Message) -> Message:
    """The error is what reading the figure makes."""
    return Message.of("remark.floored", amount=amount)


def remark_rising(amount: Message) -> Message:
    """Baselines that were rising, and a change that is more than that."""
    return Message.of("remark.rising", amount=amount)


def remark_falling(amount: Message) -> Message:
    """Baselines that were falling, and a change that is more than that."""
    return Message.of("remark.falling", amount=amount)


def remark_between(days: tuple[date, ...]) -> Message:
    """Days that are neither baseline nor re-test."""
    return Message.of("remark.between", days=days)


def remark_left_out(on: date, why: Message) -> Message:
    """A trial that has no value."""
    return Message.of(LEFT_OUT, on=on, why=why)


def remark_not_entered(subject: Message) -> Message:
    """A hand measure that was not entered."""
    return Message.of("remark.not_entered", subject=subject)


def remark_not_entered_side(subject: Message, side: str) -> Message:
    """One side of a hand measure that was not entered."""
    return Message.of("remark.not_entered_side", subject=subject, side=side)


REMARK_NOT_ON_SHEET = Message("remark.not_on_sheet")


def remark_count_as_one(trials: int, on: date) -> Message:
    """Several trials of one day."""
    return Message.of("remark.count_as_one", trials=trials, on=on)


def limit_reached(subject: Message, value: Message, most: Message) -> Message:
    """A result at the most that its test can show."""
    return Message.of("limit.reached", subject=subject, value=value, most=most)


def remark_limit_baseline(subject: Message, most: Message) -> Message:
    """The baseline is at the most that the test can show."""
    return Message.of("remark.limit_baseline", subject=subject, most=most)


def remark_limit_retest(subject: Message, most: Message) -> Message:
    """The re-test is at the most that the test can show."""
    return Message.of("remark.limit_retest", subject=subject, most=most)


REMARK_CHOSEN_AFTER = Message("remark.chosen_after")


def remark_damaged(on: date) -> Message:
    """A kept recording that has changed on the disk."""
    return Message.of("remark.damaged", on=on)


def remark_on_basis(on: date) -> Message:
    """A trial that is measured with the baseline's rest and maximum."""
    return Message.of(ON_BASIS, on=on)


LEFT_OUT = "remark.left_out"
ON_BASIS = "remark.on_basis"


def remark_not_on_basis(on: date, refusal: str, why: Quoted) -> Message:
    """A trial that could not be measured so: the refusal's code, which decides, and its sentence, which is shown."""
    return Message.of("remark.not_on_basis", on=on, refusal=refusal, why=why)


def remark_half(fields: tuple[str, ...]) -> Message:
    """What must match and is known of one trial only."""
    return Message.of("remark.half", fields=fields)


def remark_changes_heart(what: tuple[Message, ...]) -> Message:
    """Differences that change heart rate by themselves."""
    return Message.of("remark.changes_heart", what=what)


def remark_should(what: tuple[Message, ...]) -> Message:
    """Differences in what should match."""
    return Message.of("remark.should", what=what)


def remark_one_side(what: tuple[Message, ...]) -> Message:
    """What should match and is known of one trial only."""
    return Message.of("remark.one_side", what=what)


def remark_unchecked(fields: tuple[str, ...]) -> Message:
    """What no trial has written down."""
    return Message.of("remark.unchecked", fields=fields)


def remark_caution(text: Quoted) -> Message:
    """A caution of the protocol, as a person wrote it."""
    return Message.of("remark.caution", text=text)


# Why there are not two occasions
NO_PAIR_ONE_DAY = Message("no_pair.one_day")
NO_PAIR_NO_TRIAL = Message("no_pair.no_trial")
NO_PAIR_REPEAT = Message("no_pair.repeat")
NO_PAIR_FROM = Message("no_pair.from")
NO_PAIR_NO_BASELINE = Message("no_pair.no_baseline")
NO_PAIR_NO_RETEST = Message("no_pair.no_retest")
NO_PAIR_ADD = Message("no_pair.add")
NO_PAIR_SAME_STUDENT = Message("no_pair.same_student")
NO_PAIR_CHOOSE = Message("no_pair.choose")
NO_PAIR_DATES = Message("no_pair.dates")
NO_PAIR_DAY_BETWEEN = Message("no_pair.day_between")


def no_pair_students(codes: tuple[Quoted, ...]) -> Message:
    """The trials are of several students."""
    return Message.of("no_pair.students", codes=codes)


def no_pair_both(trial: int) -> Message:
    """One trial stands on both sides."""
    return Message.of("no_pair.both", trial=trial)


def no_pair_reversed(retest: date, baseline: date) -> Message:
    """The re-test was done before its baseline."""
    return Message.of("no_pair.reversed", retest=retest, baseline=baseline)


def no_pair_none_before(day: date) -> Message:
    """No trial that counts lies before the day that was given."""
    return Message.of("no_pair.none_before", day=day)


def no_pair_none_from(day: date) -> Message:
    """No trial that counts lies on the day that was given or after it."""
    return Message.of("no_pair.none_from", day=day)


def no_pair_repeats(first: date, last: date) -> Message:
    """All trials are repeats of one baseline."""
    return Message.of("no_pair.repeats", first=first, last=last)
