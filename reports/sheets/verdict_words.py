"""The verdict on a change as sentences of the reader's language, out of the comparison's numbers.

In English, with the units of a sheet, they are the comparison's own sentence word for word: a test holds the two
against each other, so that a translation says what the comparison says.
"""

from collections.abc import Callable
from dataclasses import dataclass

from ...records.change.differences import Difference
from ...records.change.sentence import in_words, say
from ...records.change.shapes import Comparison
from ...records.change.shown_numbers import shown_change
from ...records.change.verdict import CANNOT_BE_TOLD, DECREASE, INCREASE, NOT_COMPARABLE, NOT_GIVEN, WITHIN
from ..words import Words
from .figure_text import capital, label, unit_words
from .set_up_words import difference_label, difference_text

TITLES = {
    INCREASE: "verdict_increase",
    DECREASE: "verdict_decrease",
    WITHIN: "verdict_within",
    CANNOT_BE_TOLD: "verdict_cannot",
    NOT_COMPARABLE: "verdict_not_comparable",
    NOT_GIVEN: "verdict_not_given",
}


@dataclass(frozen=True, slots=True)
class _Part:
    """One figure, or one side of it, as its sentence tells it."""

    subject: str
    before: float
    after: float
    change: float
    low: float | None
    high: float | None
    detectable: float | None
    verdict: str
    better: bool | None
    percent: float
    error_from: str | None
    drift: float | None
    withheld: str | None


def verdict_title(found: Comparison, words: Words) -> str:
    """The verdict in a few words."""
    if found.verdict == NOT_GIVEN and found.sides:
        return words.get("change.verdict_sides")
    return words.get(f"change.{TITLES[found.verdict]}")


def verdict_sentence(found: Comparison, words: Words, *, family: bool) -> str:
    """The comparison's sentence in this language; a school's English copy has it as it stands."""
    return found.sentence if words.language == "en" and not family else told_again(found, words, family=family)


def told_again(found: Comparison, words: Words, *, family: bool) -> str:
    """The sentence out of the numbers."""
    if found.verdict == NOT_COMPARABLE:
        return words.get("verdict.not_comparable", what=_differed(found, words, lambda each: each.forbids))
    parts = _parts(found, words)
    if not parts:
        return words.said(found.sentence) or words.get("verdict.not_given")
    sentences = [_told(part, found, words, family=family) for part in parts]
    if found.verdict == NOT_GIVEN:
        sentences.insert(0, words.get("verdict.sides_differ"))
    asked = _differed(found, words, lambda each: each.asked)
    return " ".join([*sentences, *([words.get("verdict.ask", what=asked)] if asked else [])])


def _differed(found: Comparison, words: Words, which: Callable[[Difference], bool]) -> str:
    """Differences of one kind, each with both values."""
    return ", ".join(
        words.get(
            "verdict.differed",
            label=difference_label(each, words),
            before=difference_text(each.baseline, words),
            after=difference_text(each.retest, words),
        )
        for each in found.differences
        if which(each)
    )


def _parts(found: Comparison, words: Words) -> list[_Part]:
    subject = _subject(found, words)
    if found.sides:
        return [
            _Part(
                subject=words.get("verdict.of_side", subject=subject, side=words.get(f"value.{each.side}")),
                before=each.baseline,
                after=each.retest,
                change=each.change,
                low=each.change,
                high=each.change,
                detectable=each.detectable_change,
                verdict=each.verdict,
                better=_for_the_better(found, each.verdict),
                percent=each.percent,
                error_from=each.error_from,
                drift=each.baseline_drift,
                withheld=each.withheld,
            )
            for each in found.sides
        ]
    if found.baseline_value is None or found.retest_value is None or found.change is None:
        return []
    return [
        _Part(
            subject,
            found.baseline_value,
            found.retest_value,
            found.change,
            found.change_low,
            found.change_high,
            found.detectable_change,
            found.verdict,
            found.for_the_better,
            found.percent,
            found.error_from,
            found.baseline_drift,
            found.withheld,
        )
    ]


def _subject(found: Comparison, words: Words) -> str:
    """The figure: in English as the comparison names it, so that both copies say the same."""
    return in_words(found.primary_figure) if words.language == "en" else label(found.primary_figure, words)


def _for_the_better(found: Comparison, verdict: str) -> bool | None:
    if found.better == "no direction" or verdict not in (INCREASE, DECREASE):
        return None
    return (verdict == INCREASE) == (found.better == "higher")


def _told(part: _Part, found: Comparison, words: Words, *, family: bool) -> str:
    """Moved, against variation, for the better."""
    sentences = [_moved(part, found, words, family=family), _against(part, found, words, family=family)]
    if part.better is not None:
        sentences.append(words.get(f"verdict.{'better' if part.better else 'other'}_{found.better}"))
    return " ".join(each for each in sentences if each)


def _moved(part: _Part, found: Comparison, words: Words, *, family: bool) -> str:
    shown = shown_change(part.before, part.after, part.detectable)
    before, after, change = (
        said_amount(value, found, words, family=family, places=shown.places)
        for value in (shown.before, shown.after, abs(shown.difference))
    )
    key = "same" if shown.difference == 0 else "rose" if shown.difference > 0 else "fell"
    return words.get(f"verdict.{key}", subject=capital(part.subject), before=before, after=after, change=change)


def _against(part: _Part, found: Comparison, words: Words, *, family: bool) -> str:
    ends = (part.low, part.high)
    low, high = (
        words.get("verdict.any_number") if end is None else said_amount(end, found, words, family=family)
        for end in ends
    )
    if part.detectable is None:
        between = [words.get("verdict.between", low=low, high=high)] if part.low != part.high else []
        return " ".join([*between, words.get("verdict.one_baseline")])
    if part.withheld is not None and part.drift is not None:
        key = "rising" if part.drift > 0 else "falling"
        return words.get(f"verdict.{key}", drift=said_amount(abs(part.drift), found, words, family=family))
    places = shown_change(part.before, part.after, part.detectable).places
    detectable = words.get(
        "verdict.detectable_family" if family else "verdict.detectable",
        value=said_amount(part.detectable, found, words, family=family, places=places),
        percent=words.decimal(f"{part.percent:g}"),
        error_from=words.said(part.error_from or "") or "",
    )
    if part.verdict in (INCREASE, DECREASE):
        key = "beyond" if part.low == part.high and part.low is not None else "beyond_unmeasured"
        key = "beyond_own_rhythm" if found.own_rhythm else key
        return words.get(f"verdict.{key}", detectable=detectable)
    if part.verdict == WITHIN:
        return words.get("verdict.within", detectable=detectable)
    return words.get("verdict.cannot", detectable=detectable, low=low, high=high)


def said_amount(value: float, found: Comparison, words: Words, *, family: bool, places: int | None = None) -> str:
    """A number of the comparison as its sentence writes it, with its unit."""
    unit = found.unit if words.language == "en" and not family else _unit(found, words, family=family)
    return f"{words.decimal(say(value, places=places))} {unit}".strip()


def _unit(found: Comparison, words: Words, *, family: bool) -> str:
    return unit_words(found.primary_figure, found.unit, words, family=family)
