"""What is written down of a student's health in what a plan tells of a comparison: only where it was asked for."""

from ...records.change.differences import HEART_FIELD, Difference
from ..sheets.set_up_words import difference_label
from ..words import Words
from .plan_words import plan_texts

OF_HEALTH = frozenset({HEART_FIELD, "medicines", "hours_since_medicine", "health"})
"""Facts of the set-up that tell of a student's health."""


def told_difference(each: Difference, words: Words, *, with_health: bool) -> str:
    """What differed, with how it was both times; of health that it did, and no more."""
    texts = plan_texts(words.language)
    if each.field in OF_HEALTH and not with_health:
        return texts["health"]
    return texts["differed"].format(
        label=difference_label(each, words), before=words.message(each.before), after=words.message(each.after)
    )
