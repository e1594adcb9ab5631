"""A trial as people write it down: named texts, of a command or of a row in a class's table, to a ``Trial``.

Names of columns are the trial's own fields and the short words below. A column named like a hand measure of the
protocol is a result: ``grip_force left 2`` is the second attempt of the left side. Several attempts may stand in one,
with ``;`` between them.
"""

import re
from collections.abc import Mapping, Sequence
from datetime import date
from typing import Literal

from ..errors import NotATrial
from ..ingest.clock_times import parse_moment
from ..words.render import english_date
from .field_hints import hint_of_trial
from .protocol import Protocol
from .result_numbers import measured, number_of
from .trial import BY_FILE, HandResult, Stop, Trial

SHORT = {
    "student": "code",
    "date": "on",
    "day": "on",
    "time": "time_of_day",
    "rest": "rest_phase",
    "note": "notes",
    "margin": "margin_s",
    "confirm": "confirmed",
    "distance": "distance_m",
    "scale": "exertion_scale",
    "battery_start": "battery_start_percent",
    "battery_end": "battery_end_percent",
    "assistance": "assistance_given",
    "prompts": "prompts_per_min",
    "temperature": "temperature_c",
    "humidity": "humidity_percent",
    "footwear": "footwear_orthoses",
    "device": "device_used",
    "sensor": "sensor_used",
}
"""Short words for a trial's fields."""
NOT_TYPED = frozenset({"id", "files", "columns", *BY_FILE, "hand_results", "sheet", "computed_by", "protocol_version"})
_LISTS = frozenset({"assisted", "confirmed"})
"""Fields of a trial that nobody types as one text."""
TYPED = tuple(name for name in Trial.model_fields if name not in NOT_TYPED)
_YES, _NO = frozenset({"yes", "y", "true", "1", "x"}), frozenset({"no", "n", "false", "0"})


def field_named(header: str) -> str | None:
    """The trial's field that a header means; None if it means none."""
    name = re.sub(r"[\s\-]+", "_", header.strip().lower())
    name = SHORT.get(name, name)
    return name if name in TYPED else None


def trial_of(
    texts: Mapping[str, str],
    protocol: Protocol,
    *,
    today: date,
    hand_results: Sequence[HandResult] = (),
    **more: object,
) -> Trial:
    """A trial out of named texts; empty ones are not written down.

    Parameters
    ----------
    texts : header to text, the code among them
    protocol : the version it was done by
    today : no trial lies behind it
    hand_results : entered otherwise, before those in the texts
    more : fields that are no text (columns, offsets, rate_hz)

    Raises
    ------
    NotATrial
        If a header means nothing (with the nearest), a value does not fit, or the date lies in the future.
    """
    fields: dict[str, object] = {"protocol": protocol.name, "protocol_version": protocol.version, "on": today, **more}
    results: list[HandResult] = []
    for header, written in texts.items():
        text = written.strip()
        if not text:
            continue
        name = field_named(header)
        if name == "protocol":
            continue
        if name is None:
            results += _results(header, text, protocol)
        else:
            fields[name] = _value(name, text)
    if "exertion" in fields and "exertion_scale" not in fields and protocol.exertion_scale:
        fields["exertion_scale"] = protocol.exertion_scale
    trial = Trial.model_validate({**fields, "hand_results": (*hand_results, *results)})
    if trial.on > today:
        raise NotATrial(f"the date {english_date(trial.on)} lies in the future.", mend="Look at the year and the day.")
    return trial


def edited(
    trial: Trial,
    protocol: Protocol,
    texts: Mapping[str, str],
    results: Sequence[str] = (),
    *,
    today: date,
    **more: object,
) -> Trial:
    """A kept trial with other texts; what is not named stays as it is.

    Parameters
    ----------
    protocol : from now on
    texts : header to text. An empty one empties the field, and so does ``none``, but where that is an answer: no
        medicines, no orthoses
    results : hand results as ``NAME=VALUE``; each takes the place of the one of that name, side and attempt
    more : fields that are no text

    Raises
    ------
    NotATrial
        As ``trial_of``; if a result is none that the protocol measures.
    """
    headers = {header: text.strip() for header, text in (*texts.items(), *map(_pair, results))}
    emptied = {header for header, text in headers.items() if _empties(header, text)}
    said = {header: text for header, text in headers.items() if header not in emptied}
    if any(field_named(each) == "exertion" for each in said) and trial.exertion_scale:
        said = {"scale": trial.exertion_scale, **said}
    new = trial_of({**said, "code": trial.code}, protocol, today=today)
    names = {name for name in map(field_named, said) if name} - {"code", "protocol"}
    fields = {name: getattr(new, name) for name in names}
    if "exertion" in fields:
        fields["exertion_scale"] = new.exertion_scale
    gone = set[tuple[str, str | None, int]]()
    for header in emptied:
        name = field_named(header)
        if name in ("on", "code", "protocol"):
            raise NotATrial(f"a trial cannot be without its {header}.", mend="Write the right one.")
        if name is None:
            gone |= {_key(each) for each in _results(header, "0", protocol)}
        else:
            fields[name] = Trial.model_fields[name].get_default(call_default_factory=True)
    kept = {_key(each): each for each in trial.hand_results if _key(each) not in gone}
    by_key = {**kept, **{_key(each): each for each in new.hand_results}}
    strange = next((each.name for each in by_key.values() if protocol.hand_measure(each.name) is None), None)
    if strange is not None:
        raise NotATrial(f"{protocol.name} has no measure {strange}.", mend=f"Take it out: --result {strange}=none.")
    fields |= {"hand_results": tuple(by_key.values()), "protocol": protocol.name, **more}
    fields["protocol_version"] = protocol.version
    before = {name: getattr(trial, name) for name in Trial.model_fields}
    return Trial.model_validate({**before, **fields})


NONE = "none"
NONE_SAYS = frozenset({"medicines", "health", "footwear_orthoses", "device_used", "device_settings", "sensor_used"})
"""Fields in which “none” is what was found out, and not that nothing is written down."""


def _empties(header: str, text: str) -> bool:
    """Whether a text takes away what is written down."""
    return not text or (text.lower() == NONE and field_named(header) not in NONE_SAYS)


def _key(result: HandResult) -> tuple[str, str | None, int]:
    return result.name, result.side, result.attempt


def _pair(text: str) -> tuple[str, str]:
    """Header and text of a hand result."""
    header, equals, value = text.rpartition("=")
    if not equals:
        raise NotATrial(f"“{text}” is not a result.", mend="Write NAME=VALUE, or “NAME left 2=VALUE”.")
    return header, value


def results_of(text: str, protocol: Protocol) -> tuple[HandResult, ...]:
    """Hand results typed as ``NAME=VALUE``, ``NAME left 2=VALUE``, or ``NAME left=VALUE; VALUE`` of several attempts.

    Raises
    ------
    NotATrial
        If it is not written so, or the protocol has no such measure.
    """
    header, equals, value = text.rpartition("=")
    if not equals:
        raise NotATrial(f"“{text}” is not a result.", mend="Write NAME=VALUE, or “NAME left 2=VALUE”.")
    return _results(header, value.strip(), protocol)


def _measure_named(header: str, protocol: Protocol) -> tuple[str, Literal["left", "right"] | None, int]:
    """Name, side and attempt of a column, however they are parted: ``arm_height_left_2``, ``arm height, left 2``.

    What is a measure of the protocol as it stands is not taken apart further.
    """
    words = re.split(r"[\s\-_,]+", header.strip().lower())
    side: Literal["left", "right"] | None = None
    attempt = 1

    def open_end() -> bool:
        return len(words) > 1 and protocol.hand_measure("_".join(words)) is None

    if open_end() and re.fullmatch(r"\d{1,3}", words[-1]):
        attempt = int(words.pop())
    if open_end() and words[-1] == "attempt":
        words.pop()
    if open_end() and words[-1] in ("left", "right"):
        side = "left" if words.pop() == "left" else "right"
    return "_".join(words), side, attempt


def _results(header: str, text: str, protocol: Protocol) -> tuple[HandResult, ...]:
    """Results of a hand measure from its column, an attempt after the other; one that was left out keeps its place."""
    name, side, attempt = _measure_named(header, protocol)
    measure = protocol.hand_measure(name)
    if measure is None:
        known = [each.name for each in protocol.hand_measures]
        sided = [f"{each.name} left, {each.name} right" if each.sides else each.name for each in protocol.hand_measures]
        has = f"It has {', '.join(sided)}." if known else "That protocol has no hand measures."
        raise NotATrial(
            f"“{header.strip()}” is neither something of a trial nor a hand measure of {protocol.name}.",
            mend=hint_of_trial(header, [*known, *TYPED], SHORT) + has,
        )
    if measure.sides and side is None:
        raise NotATrial(
            f"{name.replace('_', ' ')} is taken on each side.", mend=f"Write “{name} left” and “{name} right”."
        )
    if not measure.sides and side is not None:
        raise NotATrial(f"{name.replace('_', ' ')} has no sides.", mend=f"Write “{name}” alone.")
    made = [(number, one.strip()) for number, one in enumerate(text.split(";"), attempt) if one.strip()]
    if not made:
        raise NotATrial(f"“{text}” holds no result for {name.replace('_', ' ')}.", mend="Write a number.")
    return tuple(HandResult(name=name, value=measured(measure, one), side=side, attempt=number) for number, one in made)


def _value(name: str, text: str) -> object:
    """Text of a field as the model takes it."""
    if name == "stops":
        return tuple(_stop(part) for part in text.split(";") if part.strip())
    if name in _LISTS:
        return tuple(part.strip() for part in text.split(";") if part.strip())
    if name == "practice":
        return _yes(text)
    if name == "on":
        return _day(text)
    if name == "time_of_day" and text[-1:] in "Mm.":
        moment = parse_moment(text)
        return f"{int(moment.seconds // 3600):02d}:{int(moment.seconds // 60 % 60):02d}"
    kind = str(Trial.model_fields[name].annotation)
    if "float" in kind or "int" in kind:
        return number_of(name, text)
    return text


def _day(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise NotATrial(
            f"“{text}” is not a date.", mend="Write YYYY-MM-DD; a spreadsheet program keeps it so in a column of texts."
        ) from None


def _yes(text: str) -> bool:
    if text.lower() in _YES:
        return True
    if text.lower() in _NO:
        return False
    raise NotATrial(f"“{text}” does not say whether it was a practice trial.", mend="Write yes or no.")


def _stop(text: str) -> Stop:
    """``09:14 tired``: when, and why."""
    at, _, why = text.strip().partition(" ")
    if not re.fullmatch(r"@?\d{1,2}:\d\d(:\d\d)?", at) or not why.strip():
        raise NotATrial(f"“{text.strip()}” is not a stop.", mend="Write when and why, as in “09:14 wheel loose”.")
    return Stop(at=at, why=why.strip())
