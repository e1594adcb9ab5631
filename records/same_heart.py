"""One heart in two files: readings that are, one for one, another student's are not kept for this one.

A strap's FIT and its TCX are two files and one heart. Nobody can say here which of the two students wore it when, so
nothing is cut: the trial is refused, and says what mends it.
"""

import typing
from collections.abc import Collection, Iterable, Sequence

from ..errors import NotATrial
from ..ingest.heart_keys import heart_keys
from ..ingest.recording import Recording
from .refusal_messages import refusal_mend_same_heart, refusal_same_heart
from .shared_files import names_given

ENOUGH = 2
"""Keys that two recordings share where they are of one heart. Of 40 readings that change six times by one step there
are some 2^28, so a single key could be chance in a large logbook; two are not. Our own choice."""


class Kept(typing.Protocol):
    """What is asked of a logbook here."""

    def holders(self, recording: str) -> tuple[tuple[int, str], ...]:
        """Number and student's code of every trial of a recording."""
        ...

    def same_heart(self, keys: Collection[str], code: str, least: int) -> tuple[int, ...]:
        """The numbers of other students' trials that share so many of these keys of a heart."""
        ...


def refuse_same_heart(logbook: Kept, code: str, recordings: Iterable[Recording]) -> None:
    """Refuse recordings whose heart another student's trial holds out of another file.

    Trials that hold the same recording are left to the rules of shared straps.

    Raises
    ------
    NotATrial
    """
    for each in recordings:
        found = logbook.same_heart(heart_keys(each), code, ENOUGH)
        known = {number for name in names_given(each) for number, _ in logbook.holders(name)} if found else set[int]()
        other = next((number for number in found if number not in known), None)
        if other is not None:
            raise NotATrial(refusal_same_heart(other), where=code, mend=refusal_mend_same_heart(other))


def keys_of(recordings: Sequence[Recording]) -> frozenset[str]:
    """The keys of all of these recordings."""
    return frozenset(key for each in recordings for key in heart_keys(each))
