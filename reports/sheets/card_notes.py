"""What stands at the top of a set-up card, before anything is set up, so that nobody reads it too late."""

from collections.abc import Iterator

from ...records.abilities import MOVEMENTS, NEEDS
from ...records.catalogue import CatalogueEntry
from ...records.catalogue.choosing import Asked, missing
from ...records.catalogue.loading import TRANSFER
from ...records.catalogue.messages import choose_lacks, choose_lacks_any, choose_lacks_need
from ...records.student import Student
from ...words.message import Message
from ..page import Block, Note
from ..words import Words
from .safety_sheet import ceiling_text


def card_notes(entry: CatalogueEntry | None, student: Student | None, words: Words) -> Iterator[Block]:
    """The student's ceiling, how the student leaves the chair, and why the test may not be one for this student.

    entry : the test of the catalogue that the protocol was copied from; None if it was made otherwise
    """
    if student is not None and student.ceiling is not None:
        yield Note("attention", words.get("safety.ceiling"), ceiling_text(student.ceiling, words))
    if entry is None:
        return
    if entry.transfer:
        yield Note("attention", words.get("card.transfer_first"), words.get(TRANSFER))
    unfit = tuple(_unfit(entry, student)) if student is not None else ()
    if unfit:
        yield Note("attention", words.get("card.unfit"), " ".join(words.message(each) for each in unfit))


def _unfit(entry: CatalogueEntry, student: Student) -> Iterator[Message]:
    """What the test takes and the student is not said to have, or needs and would not have there.

    Nothing is said of a student of whom nothing is kept.
    """
    kept = student.answer
    if kept is None:
        return
    lacking = missing(entry, Asked(frozenset(kept.can), frozenset(kept.needs)))
    takes = tuple(each for each in MOVEMENTS if frozenset({each}) in lacking)
    if takes:
        yield choose_lacks(takes)
    for each in lacking:
        if len(each) > 1:
            yield choose_lacks_any(tuple(one for one in MOVEMENTS if one in each))
    for need in NEEDS:
        if frozenset({need}) in lacking:
            yield choose_lacks_need(need)
