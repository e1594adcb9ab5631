"""How long a text that people type may be, and which characters cannot be kept.

    255 letters in one line   what stands in a table or beside a box: a label, a time, a device, a file's name
    500 letters in one line   an entry of a protocol's list, the reason of a stop
  4,000 letters               notes and descriptions, with as many lines as one likes
    100 entries               a list

More than two pages of a note is a document that belongs elsewhere, and a hundred such notes make a class's page of
hundreds of sheets.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from ..words.shapes import is_list, is_object

LINE, ENTRY, TEXT = 255, 500, 4000
MOST = 100


@dataclass(frozen=True, slots=True)
class Fault:
    """What is wrong with a text, and how to mend it."""

    what: str
    mend: str


def fault_in(values: Mapping[str, object], longer: Mapping[str, int], most: Mapping[str, int]) -> Fault | None:
    """The first text or list among the fields of a value that cannot be kept; None if all can.

    longer : fields whose texts may be longer than a label [letters]; those of ``TEXT`` may have several lines
    most : fields whose lists may have more entries than usual
    """
    for name, value in values.items():
        count = len(value) if is_list(value) or is_object(value) else 0
        limit = most.get(name, MOST)
        if count > limit:
            return Fault(
                f"“{name}” has {count:,} entries; at most {limit:,} are kept.", "Write the others into the notes."
            )
        for text in _texts(value):
            found = _fault_of(name, text, longer.get(name, LINE))
            if found is not None:
                return found
    return None


def _texts(value: object) -> Iterator[str]:
    """Every text in a field: the field itself, entries of a list, both sides of a mapping."""
    if isinstance(value, str):
        yield value
    elif is_list(value):
        yield from (each for each in value if isinstance(each, str))
    elif is_object(value):
        yield from (each for pair in value.items() for each in pair if isinstance(each, str))


def _fault_of(name: str, text: str, limit: int) -> Fault | None:
    if len(text) > limit:
        return Fault(
            f"“{name}” has {len(text):,} letters; at most {limit:,} are kept.",
            "Shorten it, and keep the whole elsewhere.",
        )
    if any("\ud800" <= letter <= "\udfff" for letter in text):
        return Fault(f"“{name}” holds bytes that are no text.", "Write it again, in UTF-8.")
    if limit < TEXT and any(letter < " " or letter == "\x7f" for letter in text):
        return Fault(f"“{name}” is more than one line, or holds a control character.", "Write it in one line.")
    return None
