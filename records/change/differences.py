"""Set-up differences between trials, field by field, and which of them forbid a comparison.

What must match forbids a comparison only where two different values are written down. A value that is written down
for one trial and missing for another is listed as unknown and leaves a note: it cannot be shown that the set-up
differed, nor that it did not. A fact that no trial has cannot be checked; where much hangs on it, a note says so.

Between the same and different stands *asked*: typed words that may say the same thing, a medicine that is known for
one trial only, a condition that holds heart rate and stands on one sheet only. Such a difference forbids nothing; the
verdict is given under the condition that somebody who was there says that it was the same.
"""

from collections.abc import Sequence
from datetime import time
from typing import ClassVar

from pydantic import BaseModel, ConfigDict, computed_field, model_validator

from ...metrics.conditions import CONDITIONS
from ...metrics.settings import Band
from ...words.message import Message, Quoted
from ...words.render import Words, english
from ...words.shapes import is_list
from ...words.vocabulary import MOTION_FIGURES
from ..protocol import FIELDS, Protocol
from ..rules import MUST, SHOULD, TOLD, Rule, Strictness
from ..trial import IN_TRIAL, TRIAL_FIELDS
from ..value import without
from . import messages as say
from .near_duplicates import Likeness, likeness
from .observation import TrialSeen
from .work_length import FIELD, length_rule

NONE = "none"
HEART_FIELD = "heart_conditions"
_HEART = Rule(MUST, "conditions that act on heart rate")
_MEDICINE = "-medicine"
"""How the name of a condition ends that is a medicine."""


class Difference(BaseModel):
    """One fact that is not the same in all trials.

    word : key of its label in the vocabulary
    before, after : how it was at the baseline and at the re-test

    asked : perhaps the same; somebody who was there must say
    half : written down for some of the trials only, and the same in all of these
    """

    model_config: ClassVar[ConfigDict] = ConfigDict(frozen=True, extra="forbid")

    field: str
    word: str
    before: Message
    after: Message
    rule: Strictness
    forbids: bool
    asked: bool
    half: bool

    @computed_field
    @property
    def label(self) -> str:
        """What differs, in English."""
        return Words("en").get(f"field.{self.word}")

    @computed_field
    @property
    def baseline(self) -> str:
        """How it was at the baseline, in English."""
        return english(self.before)

    @computed_field
    @property
    def retest(self) -> str:
        """How it was at the re-test, in English."""
        return english(self.after)

    @model_validator(mode="before")
    @classmethod
    def _of_messages(cls, found: object) -> object:
        """English beside the messages is not read back."""
        return without(found, "label", "baseline", "retest")

    def message(self) -> Message:
        """The fact with how it was both times."""
        return say.fact_differs(self.word, self.before, self.after)


def differences(
    baselines: Sequence[TrialSeen], retests: Sequence[TrialSeen]
) -> tuple[tuple[Difference, ...], tuple[Message, ...]]:
    """Every difference, those that forbid a comparison first, and notes on what could not be checked.

    Baselines are compared among themselves too: repeats with different set-ups do not show day-to-day variation.
    """
    trials = (*baselines, *retests)
    protocol = trials[0].protocol
    aerobic = any(each.protocol.component == "aerobic" for each in trials)
    of_heart = rests_on_heart(protocol)
    unchecked = [
        word_of(name, rule) for name, rule in FIELDS.items() if _never_planned(name, rule, trials, aerobic=aerobic)
    ]
    facts: list[tuple[str, Rule, Sequence[object]]] = []
    if not _same_protocol(trials):
        facts += [(name, rule, [getattr(each.protocol, name) for each in trials]) for name, rule in FIELDS.items()]
    for name, rule in TRIAL_FIELDS.items():
        values = [_known(getattr(each.trial, name)) for each in trials]
        facts.append((name, rule, values))
        if rule.asked and (aerobic or not rule.aerobic) and all(value is None for value in values):
            unchecked.append(word_of(name, rule))
    lengths = [each.work_s for each in trials]
    rule = length_rule(protocol, lengths)
    facts += [] if rule is None else [(FIELD, rule, lengths)]
    facts += [(HEART_FIELD, _HEART, _conditions(trials))] if of_heart else []
    made = (_difference(name, rule, values, len(baselines), of_heart=of_heart) for name, rule, values in facts)
    found = [each for each in made if each is not None]
    found.sort(key=lambda each: (not each.forbids, (MUST, SHOULD, TOLD).index(each.rule)))
    return tuple(found), _notes(found, unchecked, of_heart=of_heart)


def medicine_unknown(trials: Sequence[TrialSeen]) -> bool:
    """Tell whether a medicine holds or drives the rate that is compared, and no trial says what was taken.

    A changed dose and a changed fitness look alike then. Where some of the trials say it, the others are asked about
    as a difference.
    """
    return (
        rests_on_heart(trials[0].protocol)
        and any(name.endswith(_MEDICINE) for each in trials for name in each.conditions)
        and all(_known(each.trial.medicines) is None for each in trials)
    )


def rests_on_heart(protocol: Protocol) -> bool:
    """Tell whether the primary figure is one of heart rate: neither entered by hand nor of movement alone."""
    name = protocol.primary_figure
    of_movement = name in MOTION_FIGURES and not name.startswith("heart_rate")
    return protocol.hand_measure(name) is None and not of_movement


def alike(one: object, other: object, rule: Rule) -> bool:
    """Tell whether two values of a fact are the same, or unknown in both."""
    one, other = _known(one), _known(other)
    if one is None or other is None:
        return one is other
    return _likeness([one, other], rule) == "same"


def _same_protocol(trials: Sequence[TrialSeen]) -> bool:
    first = trials[0].protocol
    return all(each.protocol is first or each.protocol == first for each in trials[1:])


def _never_planned(name: str, rule: Rule, trials: Sequence[TrialSeen], *, aerobic: bool) -> bool:
    """Tell whether nobody says what much hangs on: no version of the protocol, and no trial in its place.

    What only some of the trials say is told as written down for one side.
    """
    if not rule.asked or (rule.aerobic and not aerobic):
        return False
    if name == "surface" and trials[0].protocol.place == "stationary":
        return False
    used = IN_TRIAL.get(name)
    if used is not None and any(_known(getattr(each.trial, used)) is not None for each in trials):
        return False
    return all(_known(getattr(each.protocol, name)) is None for each in trials)


def _known(value: object) -> object:
    """A value, or None where nothing is written down."""
    return None if value is None or value in ("", ()) else value


def _conditions(trials: Sequence[TrialSeen]) -> list[str | tuple[str, ...] | None]:
    """What each sheet names that holds or drives heart rate; unknown without a sheet.

    A medicine counts only where the trials do not all say themselves what was taken: that is compared by itself.
    """
    told = all(_known(each.trial.medicines) is not None for each in trials)
    return [None if each.basis is None else _acting(each, medicines=not told) for each in trials]


def _acting(each: TrialSeen, *, medicines: bool) -> str | tuple[str, ...]:
    acting = [
        name
        for name in each.conditions
        if name in CONDITIONS and CONDITIONS[name].blocks_prediction and (medicines or not name.endswith(_MEDICINE))
    ]
    return tuple(sorted(acting, key=lambda name: CONDITIONS[name].title)) or NONE


def _difference(name: str, rule: Rule, values: Sequence[object], split: int, *, of_heart: bool) -> Difference | None:
    """The difference between ``values``, the first ``split`` of which are baselines, if there is one."""
    values = [_known(value) for value in values]
    known = [value for value in values if value is not None]
    if not known:
        return None
    found = _likeness(known, rule)
    if found == "same" and len(known) == len(values):
        return None
    before, after = (_in_turn(name, part, rule.unit) for part in (values[:split], values[split:]))
    if found == "same" and before == after:
        return None  # unknown in the same way on both sides
    must = rule.rule == MUST
    may_forbid = name != HEART_FIELD  # what a record learned later may have held all the time
    unsure = found == "perhaps" or (found == "different" and not may_forbid)
    return Difference(
        field=name,
        word=word_of(name, rule),
        before=before,
        after=after,
        rule=rule.rule,
        forbids=must and found == "different" and may_forbid,
        asked=must and (unsure or (found == "same" and of_heart and rule.heart)),
        half=found == "same",
    )


def _likeness(known: Sequence[object], rule: Rule) -> Likeness:
    """How alike values are: numbers to within the rule's width, times of day in hours, typed texts by their words."""
    first = known[0]
    if all(value is first or value == first for value in known[1:]):
        return "same"
    texts = [each for each in known if isinstance(each, str)]
    if texts and rule.within:
        times = map(time.fromisoformat, texts)
        return _near([60 * each.hour + each.minute for each in times], 60 * rule.within)
    numbers = [each for each in known if isinstance(each, int | float)]
    if numbers:
        return _near(numbers, rule.within)
    return likeness(texts) if rule.typed else "different"


def _near(values: Sequence[float], within: float) -> Likeness:
    return "same" if max(values) - min(values) <= within + 1e-9 else "different"


def _in_turn(name: str, values: Sequence[object], unit: str) -> Message:
    """How a fact was in these trials, each value once."""
    first, *others = dict.fromkeys(_fact(name, value, unit) for value in values)
    for other in others:
        first = say.fact_then(first, other)
    return first


def _fact(name: str, value: object, unit: str) -> Message:
    if value is None:
        return say.FACT_UNKNOWN
    if name == HEART_FIELD:
        return say.fact_conditions(tuple(map(str, value))) if is_list(value) else say.FACT_NONE
    if name == "target":
        band = Band.of(str(value))
        return (say.fact_reserve if band.unit == "%" else say.fact_beats)(band.low, band.high)
    if isinstance(value, int | float):
        shown = float(f"{value:g}")
        return say.fact_amount(shown, unit) if unit else say.fact_number(shown)
    if is_list(value):
        return say.fact_several(tuple(_fact("", each, "") for each in value))
    fields = value.model_dump(exclude_none=True).values() if isinstance(value, BaseModel) else (value,)
    return say.fact_text(Quoted(", ".join(map(str, fields))))


def _notes(found: Sequence[Difference], unchecked: Sequence[str], *, of_heart: bool) -> tuple[Message, ...]:
    """What must be said of the differences that forbid nothing."""
    half = tuple(each.word for each in found if each.rule == MUST and each.half and not each.asked)
    notes = [say.remark_half(half)] if half else []
    should = [each for each in found if each.rule == SHOULD]
    on_one_side = [each for each in should if each.half and not _rule(each).noted]
    apart = [each for each in should if each not in on_one_side]
    on_heart = [each for each in apart if of_heart and _rule(each).heart]
    others = [each for each in apart if each not in on_heart]
    for message, some in (
        (say.remark_changes_heart, on_heart),
        (say.remark_should, others),
        (say.remark_one_side, on_one_side),
    ):
        notes += [message(tuple(each.message() for each in some))] if some else []
    return (*notes, say.remark_unchecked(tuple(unchecked))) if unchecked else tuple(notes)


def _rule(each: Difference) -> Rule:
    return TRIAL_FIELDS.get(each.field) or FIELDS.get(each.field) or Rule(each.rule, each.field)


def word_of(name: str, rule: Rule) -> str:
    """The key of a field's label: what was planned and what was used are told apart where both have the same name."""
    if name == "exertion_scale":
        return "exertion_scale_used"
    return f"{name}_planned" if rule is FIELDS.get(name) and name in TRIAL_FIELDS else name
