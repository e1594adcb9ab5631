"""A protocol is changed: the next version of it, and what of it earlier trials are given."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from . import text_guards
from .catalogue import edited
from .earlier_trials import Earlier, edit_for_all, offered
from .field_hints import plain
from .protocol import Protocol

if TYPE_CHECKING:
    from .store.logbook import Logbook


@dataclass(frozen=True, slots=True)
class ProtocolEdited:
    """What became of an edit.

    protocol : in its newest version
    before : as it was
    earlier : what earlier trials were given, and what was left of them; of an edit that is of later trials alone, what
        they could be given
    """

    protocol: Protocol
    before: Protocol
    earlier: Earlier

    @property
    def changed(self) -> bool:
        """Whether there is a new version."""
        return self.protocol.version != self.before.version


def edit_protocol(
    logbook: "Logbook",
    name: str,
    changes: Mapping[str, str],
    *,
    why: str = "",
    answers: Sequence[str] = (),
    also_earlier: bool = False,
) -> ProtocolEdited:
    """Set fields of a protocol from typed text; trials keep the version by which they were done.

    changes : field to text, as ``catalogue.edited`` takes them
    answers : to what is asked of its texts (``text_guards``)
    also_earlier : earlier trials are given it too, where nothing else was written down

    Raises
    ------
    NotConfirmed
        If a text may hold something of a person.
    OwnmarkError
        If there is no such protocol, or a value does not fit.
    """
    names = [plain(each) for each in changes]
    before = logbook.protocol(name)
    after = edited(before, changes)
    text_guards.ask([*text_guards.of_protocol(before, after), *text_guards.of_texts({"history_why": why})], answers)
    if also_earlier:
        with logbook.within() as inside:  # edited anew there: another writer may have made a version since
            before = inside.protocol(name)
            newest, earlier = edit_for_all(inside, before, edited(before, changes), names, why=why)
        return ProtocolEdited(newest, before, earlier)
    found = offered(logbook, after, names)
    if after == before:
        return ProtocolEdited(before, before, found)
    with logbook.within() as inside:
        before = inside.protocol(name)
        after = inside.new_version(edited(before, changes))
    return ProtocolEdited(after, before, found)
