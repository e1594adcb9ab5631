"""What a difference of the set-up means for the comparison, in the reader's language."""

from ...records.change.differences import Difference
from ...records.rules import MUST, SHOULD
from ..words import Words


def difference_label(each: Difference, words: Words) -> str:
    """What differs."""
    return words.get(f"field.{each.word}")


def follows(each: Difference, words: Words) -> str:
    """What a difference means for the comparison."""
    if each.forbids:
        return words.get("change.must")
    if each.asked:
        return words.get("change.must_ask")
    if each.rule == MUST:
        return words.get("change.must_unknown")
    return words.get("change.should" if each.rule == SHOULD else "change.told")
