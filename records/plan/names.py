"""What the name of a file says: a student's code, a strap's label. A number or a letter alone is seldom a label.

Dates and times are taken out first, so that strap 12 is not found in ``strap-3_2026-05-12``.
"""

import re
from collections.abc import Iterable

_DATED = re.compile(
    r"(?<!\d)(?:19|20)\d\d[-_. ]?[01]\d[-_. ]?[0-3]\d(?:[T_ -]?[0-2]\d[-_.:h ]?[0-5]\d(?:[-_.: ]?[0-5]\d)?)?(?!\d)"
)
_OF_SENSOR = r"(?:strap|sensor|belt|band)"


def bare(stem: str) -> str:
    """A name without dates and times, in small letters; empty where nothing else is in it."""
    return re.sub(r"[\W_]+", "-", _DATED.sub(" ", stem)).strip("-").lower()


def names_a_device(stem: str) -> bool:
    """Whether a name can tell one strap or sensor from another: ``strap-3`` can, ``heart-rate`` or ``7`` cannot."""
    plain = bare(stem)
    return any(each.isdigit() for each in plain) and any(each.isalpha() for each in plain)


def words_in(stem: str, labels: Iterable[str]) -> tuple[str, ...]:
    """The labels that stand in a name as words of their own; one inside a longer one there does not count."""
    plain = _DATED.sub(" ", stem)
    folded = plain.casefold()
    found = {label: _spans(plain, label) for label in labels if label and label.casefold() in folded}
    alone = [label for label, spans in found.items() if any(not _covered(each, label, found) for each in spans)]
    return tuple(sorted(alone))


def says_little(label: str) -> bool:
    """Whether a label is nothing but digits, or one letter: in the middle of a name it can be anything."""
    return label.isdigit() or len(label) == 1


def clearly(stem: str, label: str) -> bool:
    """Whether such a label is all that a name says, or a name begins with it and a word for a sensor.

    ``3``, ``03``, ``strap-3``, ``band 03 monday``, ``strap_A``; not ``3 laps``, ``S3``, ``strapA``, ``strap-3-2``.
    """
    plain = _DATED.sub(" ", stem).strip(" -_.")
    own = re.escape(label.lstrip("0") or "0")
    between = "[-_ #]*" if label.isdigit() else "[-_ #]+"
    said = rf"0*{own}" if label.isdigit() else own
    begins = re.match(rf"{_OF_SENSOR}{between}{said}(?!\w|[-_. ]?\d)", plain, re.IGNORECASE)
    return begins is not None or re.fullmatch(said, plain, re.IGNORECASE) is not None


def _spans(plain: str, label: str) -> list[tuple[int, int]]:
    pattern = rf"(?<![A-Za-z0-9]){re.escape(label)}(?![A-Za-z0-9])"
    return [each.span() for each in re.finditer(pattern, plain, re.IGNORECASE)]


def _covered(span: tuple[int, int], label: str, found: dict[str, list[tuple[int, int]]]) -> bool:
    """Whether a longer label stands around this place."""
    return any(
        len(other) > len(label) and begin <= span[0] and span[1] <= until
        for other, spans in found.items()
        for begin, until in spans
    )
