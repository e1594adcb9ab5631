"""Whether texts that people typed say the same: yes, perhaps, or no, by their words and numbers.

Capitals, accents, spacing, hyphens and full stops do not change a set-up, nor does whether two words were written as
one. Where one text only leaves out words of the other, or has them in another order, nobody but the one who wrote it
knows: "load 3" and "load mark 3" may be the same lever, "left belt" and "belt left" too. Then a person is asked.
Numbers decide: where both texts hold numbers and these differ, the set-ups differ. So do texts of which only one holds
a word of negation.
"""

import itertools
import re
import unicodedata
from collections import Counter
from collections.abc import Sequence
from decimal import Decimal
from typing import Literal, TypeAlias

Likeness: TypeAlias = Literal["same", "perhaps", "different"]

_TOKEN = re.compile(r"(?:(?<![\w.,])[-\u2212])?\d+(?:[.,]\d+)?|[^\W\d_]+|[%°<>=+×]")
_NEGATIONS = frozenset({"no", "not", "non", "none", "never", "without", "off", "out", "sin", "nunca", "ninguno"})
"""Words that turn a set-up round when the other text lacks them, in the languages that the logbook is kept in."""


def likeness(texts: Sequence[str]) -> Likeness:
    """How alike texts are: the least alike pair decides."""
    split = [tokens(each) for each in dict.fromkeys(texts)]
    found: set[Likeness] = {_pair(one, other) for one, other in itertools.combinations(split, 2)}
    return "different" if "different" in found else "perhaps" if "perhaps" in found else "same"


def tokens(text: str) -> tuple[str, ...]:
    """Words, numbers and signs of a text in plain form: "Level-3." gives ("level", "3"), "2,5 kg" ("2.5", "kg")."""
    apart = unicodedata.normalize("NFKD", text.replace("º", "°"))
    plain = "".join(each for each in apart if not unicodedata.combining(each)).casefold()
    return tuple(_number(each) if _is_number(each) else each for each in _TOKEN.findall(plain))


def _pair(one: tuple[str, ...], other: tuple[str, ...]) -> Likeness:
    if one == other or (_numbers(one) == _numbers(other) and "".join(one) == "".join(other)):
        return "same"
    if _numbers(one) and _numbers(other) and sorted(_numbers(one)) != sorted(_numbers(other)):
        return "different"
    less, more = sorted((Counter(one), Counter(other)), key=_total)
    if less - more or not less:
        return "different"
    return "different" if _NEGATIONS & (more - less).keys() else "perhaps"


def _total(counts: Counter[str]) -> int:
    return counts.total()


def _numbers(found: Sequence[str]) -> list[str]:
    return [each for each in found if _is_number(each)]


def _is_number(token: str) -> bool:
    return token[-1].isdecimal()


def _number(token: str) -> str:
    """A number in one way of writing: a decimal point, a plain minus, no zeros that say nothing."""
    value = Decimal(token.replace(",", ".").replace("\u2212", "-"))
    whole, _, part = f"{value.copy_abs():f}".partition(".")
    plain = ".".join(each for each in (whole.lstrip("0") or "0", part.rstrip("0")) if each)
    return f"-{plain}" if value.is_signed() else plain
