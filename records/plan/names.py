"""What the name of a file says: a student's code, a strap's label. A number alone is seldom a label.

Dates and times are taken out first, so that strap 12 is not found in ``strap-3_2026-05-12``.
"""

import re
from collections.abc import Iterable

_DATED = re.compile(
    r"(?<!\d)(?:19|20)\d\d[-_. ]?[01]\d[-_. ]?[0-3]\d(?:[T_ -]?[0-2]\d[-_.:h ]?[0-5]\d(?:[-_.: ]?[0-5]\d)?)?(?!\d)"
)
_OF_SENSOR = r"(?:strap|sensor|belt|band|hr|s)"


def bare(stem: str) -> str:
    """A name without dates and times, in small letters; empty where nothing else is in it."""
    return re.sub(r"[\W_]+", "-", _DATED.sub(" ", stem)).strip("-").lower()


def words_in(stem: str, labels: Iterable[str]) -> tuple[str, ...]:
    """The labels that stand in a name as words of their own; one inside a longer one there does not count."""
    plain = _DATED.sub(" ", stem)
    found = {label: _spans(plain, label) for label in labels if label}
    alone = [label for label, spans in found.items() if any(not _covered(each, label, found) for each in spans)]
    return tuple(sorted(alone))


def is_number(label: str) -> bool:
    """Whether a label is nothing but digits."""
    return label.isdigit()


def clearly_numbered(stem: str, label: str) -> bool:
    """Whether a name begins with a strap's number: ``3``, ``strap-3``, ``S03 monday``. Elsewhere it can be anything."""
    number = re.escape(label.lstrip("0") or "0")
    whole = rf"(?:{_OF_SENSOR}[-_ #]*)?0*{number}(?!\w|[-_ ]?\d)"
    return re.match(whole, _DATED.sub(" ", stem).strip(), re.IGNORECASE) is not None


def _spans(plain: str, label: str) -> list[tuple[int, int]]:
    pattern = rf"(?<![A-Za-z0-9]){re.escape(label)}(?![A-Za-z0-9])"
    return [each.span() for each in re.finditer(pattern, plain, re.IGNORECASE)]


def _covered(span: tuple[int, int], label: str, found: dict[str, list[tuple[int, int]]]) -> bool:
    """Whether a longer label stands around this place."""
    return any(
        other != label and begin <= span[0] and span[1] <= until and until - begin > span[1] - span[0]
        for other, spans in found.items()
        for begin, until in spans
    )
