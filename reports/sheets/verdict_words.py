"""The verdict on a change in the reader's language."""

from ...records.change.messages import VERDICT_SIDES_DIFFER
from ...records.change.quantities import amount_with_unit
from ...records.change.shapes import Comparison
from ...records.change.verdict import BEYOND, CANNOT_BE_TOLD, DECREASE, INCREASE, NOT_COMPARABLE, NOT_GIVEN, WITHIN
from ..words import Words

TITLES = {
    INCREASE: "verdict_increase",
    DECREASE: "verdict_decrease",
    WITHIN: "verdict_within",
    CANNOT_BE_TOLD: "verdict_cannot",
    NOT_COMPARABLE: "verdict_not_comparable",
    NOT_GIVEN: "verdict_not_given",
}


def verdict_name(found: Comparison, words: Words) -> str:
    """The verdict in a few words, as for a table."""
    if VERDICT_SIDES_DIFFER in found.sentences:
        return words.get("change.verdict_sides")
    return words.get(f"change.{TITLES[found.verdict]}")


def verdict_title(found: Comparison, words: Words) -> str:
    """The verdict, and beyond day-to-day variation whether that is the way which the protocol calls better."""
    if found.verdict not in BEYOND or found.for_the_better is None:
        return verdict_name(found, words)
    return words.get(f"change.{TITLES[found.verdict]}_{'better' if found.for_the_better else 'other'}")


def verdict_sentence(found: Comparison, words: Words) -> str:
    """The verdict in sentences."""
    return " ".join(map(words.message, found.sentences))


def amount_text(value: float, found: Comparison, words: Words, *, places: int | None = None) -> str:
    """A number of the comparison as its sentence writes it, with its unit."""
    return words.message(amount_with_unit(value, found.unit, found.primary_figure, places=places))
