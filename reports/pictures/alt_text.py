"""The text equivalents: what a picture shows, in two to five sentences with its main numbers."""

from collections.abc import Sequence

from ...words.message import Message
from ...words.numbers import clock
from ...words.vocabulary import FIGURES, ON_CHAIR
from ..words import Words, rounded
from .series import Series, Span, length_within, merged
from .ticks import length

MEAN_DIGITS = FIGURES["heart_rate_mean"].digits


def said_of_trial(series: Series, words: Words) -> str:
    """The picture of one trial in sentences."""
    parts = [_heart_rate(series, words), _unmeasured(series, words)]
    parts += [_ceiling(series, words), _movement(series, words)]
    if series.zones is None and series.lowest is not None:
        parts.append(why_no_zones(series, words))
    return " ".join(part for part in parts if part)


def why_no_zones(series: Series, words: Words) -> str:
    """Why no classes of effort stand behind the line, in a few words; those of an older sheet are told by the page."""
    why = series.no_zones
    if why is None:
        return words.get("picture.no_zones")
    key = f"no_zones.{why.code.partition('.')[2]}"
    if not words.known(key):
        return words.get("picture.no_zones_older")
    return words.get("picture.no_zones_why", why=words.message(Message(key, why.values)))


def _heart_rate(series: Series, words: Words) -> str:
    """Range, and the mean at work."""
    whole = length(series.end_s - series.begin_s, words)
    if not series.has_pulse:
        return words.get("picture.alt_no_heart_rate", length=whole)
    if series.lowest is None or series.highest is None:
        return words.get("picture.alt_nothing_measured", length=whole)
    text = words.get(
        "picture.alt_range", length=whole, low=words.number(series.lowest), high=words.number(series.highest)
    )
    work = series.phases.get("work")
    if work is None or series.mean_bpm is None:
        return f"{text}."
    key = "picture.alt_mean_whole" if series.whole else "picture.alt_mean_work"
    return text + words.get(key, mean=_mean(series.mean_bpm, words), begin=clock(work[0]), end=clock(work[1]))


def _unmeasured(series: Series, words: Words) -> str:
    """How much was not measured, and the longest stretch of it."""
    if not series.has_pulse or series.lowest is None:
        return ""
    gaps = series.unmeasured
    if not gaps:
        return words.get("picture.alt_all_measured")
    begin, end = max(gaps, key=lambda span: span[1] - span[0])
    if len(gaps) == 1:
        return words.get("picture.alt_one_gap", length=length(end - begin, words), begin=clock(begin))
    return words.get(
        "picture.alt_gaps",
        count=len(gaps),
        whole=length(sum(b - a for a, b in gaps), words),
        length=length(end - begin, words),
        begin=clock(begin),
    )


def _ceiling(series: Series, words: Words) -> str:
    """How often the ceiling was passed; never that it was kept, only what was recorded."""
    if series.ceiling_bpm is None or (series.lowest is None and not series.possible):
        return ""
    bpm = words.number(series.ceiling_bpm)
    told = {}
    if series.possible:
        whole = sum(end - begin for begin, end in merged(series.possible))
        told = {"whole": length(whole, words), "first": clock(series.possible[0][0])}
    if not series.crossings:
        return words.get("picture.alt_none_certain" if told else "picture.alt_no_crossing", bpm=bpm, **told)
    certain = _crossings(series, bpm, words)
    return f"{certain} {words.get('picture.alt_possible', **told)}" if told else certain


def _crossings(series: Series, bpm: str, words: Words) -> str:
    """What is certain, with how much more it may have been."""
    begin, end = max(series.crossings, key=lambda span: span[1] - span[0])
    first = clock(series.crossings[0][0])
    longest = length(end - begin, words)
    whole = length(sum(end - begin for begin, end in series.crossings), words)
    low, high = (length(each, words) for each in series.above_s or (0.0, 0.0))
    if low != high:
        whole = words.get("picture.alt_between", value=whole, low=low, high=high)
    if len(series.crossings) == 1:
        return words.get("picture.alt_one_crossing", bpm=bpm, first=first, longest=whole)
    return words.get("picture.alt_crossings", bpm=bpm, whole=whole, first=first, longest=longest)


def _movement(series: Series, words: Words) -> str:
    """Time moving in the work phase, and the range of cadence."""
    if series.moving is None:
        return ""
    work: Span = series.phases.get("work", (series.begin_s, series.end_s))
    key = "picture.alt_chair" if series.placement in ON_CHAIR else "picture.alt_moving"
    text = words.get(
        key,
        time=length(length_within(series.moving, work), words),
        whole=length(work[1] - work[0], words),
        of=words.get("picture.of_recording" if series.whole or "work" not in series.phases else "picture.of_work"),
    )
    unseen = length_within(series.movement_unmeasured, work)
    if unseen >= 0.5:  # less is no second when it is rounded
        text += words.get("picture.alt_movement_gap", time=length(unseen, words))
    helped = length_within(series.assisted, work)
    if helped >= 0.5:
        text += words.get("picture.alt_assisted", time=length(helped, words))
    if series.cadence:
        rates = [rate for _, rate in series.cadence]
        text += words.get("picture.alt_cadence", low=words.number(min(rates)), high=words.number(max(rates)))
    return f"{text}."


def said_of_pair(both: tuple[Series, Series], names: Sequence[str], words: Words) -> str:
    """Two trials over each other, each counted from the start of its work."""
    parts = [words.get("picture.alt_pair")]
    for series, name in zip(both, names, strict=True):
        work = series.phases["work"]
        inside = series.measured & (series.until_s > work[0]) & (series.time_s < work[1])
        if not inside.any():
            parts.append(words.get("picture.alt_pair_none", which=_capital(name)))
            continue
        low, high = float(series.bpm[inside].min()), float(series.bpm[inside].max())
        parts.append(
            words.get(
                "picture.alt_pair_one" if series.mean_bpm is not None else "picture.alt_pair_no_mean",
                which=_capital(name),
                low=words.number(low),
                high=words.number(high),
                length=length(work[1] - work[0], words),
                mean="" if series.mean_bpm is None else _mean(series.mean_bpm, words),
                unmeasured=length(length_within(series.unmeasured, work), words),
            )
        )
    before, after = (each.mean_bpm for each in both)
    if before is not None and after is not None:
        parts.append(_difference(before, after, words))
    return " ".join(parts)


def _difference(before: float, after: float, words: Words) -> str:
    """From the rounded means, so that a reader who subtracts finds the same."""
    amount = float(rounded(after, MEAN_DIGITS)) - float(rounded(before, MEAN_DIGITS))
    if not amount:
        return words.get("picture.alt_pair_same")
    direction = words.get("picture.higher" if amount > 0 else "picture.lower")
    return words.get("picture.alt_pair_difference", amount=words.number(abs(amount), MEAN_DIGITS), direction=direction)


def _mean(bpm: float, words: Words) -> str:
    """The sheet's mean, rounded as on the sheet."""
    return words.number(bpm, MEAN_DIGITS)


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
