"""The cautions that every page carries, in the reader's language; none is ever dropped in silence."""

from collections.abc import Iterator, Sequence

from ...metrics.conditions import GENERAL_CAUTIONS
from ...metrics.figure import as_messages
from ...words.message import Message, Quoted
from ..page import Block, Heading, Listing
from ..words import Words


def cautions_of(found: Sequence[str | Message], planned: Sequence[str], words: Words) -> Iterator[Block]:
    """Cautions of the sheet, or the general ones without a sheet, then those of the protocol, each once.

    One that is not known in the language is quoted where a person wrote it, and counted where ownmark said it.
    """
    messages = [*as_messages(found or GENERAL_CAUTIONS), *_planned(planned)]
    said = [words.told(each) for each in dict.fromkeys(messages)]
    lines = [each for each in said if each]
    if len(said) > sum(each is not None for each in said):
        lines.append(words.get("effort.cautions_untold", count=said.count(None)))
    unlike = dict.fromkeys(lines)
    kept = (one for one in unlike if not any(one != more and more.startswith(one.rstrip(".")) for more in unlike))
    yield Heading(words.get("effort.cautions"))
    yield Listing(tuple(kept))


def _planned(cautions: Sequence[str]) -> Iterator[Message]:
    """Cautions of a protocol as messages; without any, nothing of the records is loaded."""
    if cautions:
        from ...records.change.messages import remark_caution

        yield from (remark_caution(Quoted(each)) for each in cautions)
