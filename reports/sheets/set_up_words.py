"""Differences of set-up in the reader's language: labels by field, numbers with their unit, words that are known.

What people wrote in their own words stays as it was written, as a quotation.
"""

import re

from ...records.change.differences import Difference
from ...records.rules import MUST, SHOULD
from ..words import Words
from .set_up_table import written

_AMOUNT = re.compile(r"(-?\d+(?:\.\d+)?) ([a-zA-Z/%°]+)")


def difference_label(each: Difference, words: Words) -> str:
    """What differs."""
    if words.language == "en" or not words.known(f"field.{each.field}"):
        return each.label
    return words.get(f"field.{each.field}")


def difference_text(text: str, words: Words) -> str:
    """How it was at the baseline or the re-test; several trials have ", then" between them."""
    if words.language == "en":
        return text
    first, *others = [_one(part, words) for part in text.split(", then ")]
    for other in others:
        first = words.get("form.then", first=first, second=other)
    return first


def follows(each: Difference, words: Words) -> str:
    """What a difference means for the comparison."""
    if each.forbids:
        return words.get("change.must")
    if each.asked:
        return words.get("change.must_ask")
    if each.rule == MUST:
        return words.get("change.must_unknown")
    return words.get("change.should" if each.rule == SHOULD else "change.told")


def _one(text: str, words: Words) -> str:
    found = _AMOUNT.fullmatch(text)
    if found is None:
        return words.decimal(text) if re.fullmatch(r"[\d.:-]+", text) else written(text, "", words)
    number, unit = float(found[1]), found[2]
    if unit == "s":
        return f"{words.decimal(found[1])} s"
    return written(number, unit, words)
