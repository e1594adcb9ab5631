"""The cautions that every page carries, in the reader's language; none is ever dropped in silence."""

from collections.abc import Iterator, Sequence

from ...metrics.conditions import GENERAL_CAUTIONS
from ...metrics.figure import as_messages
from ...words.message import Message
from ..page import Block, Heading, Listing
from ..words import Words


def cautions_of(found: Sequence[str | Message], planned: Sequence[str], words: Words) -> Iterator[Block]:
    """Cautions of the sheet, or the general ones without a sheet, then those of the protocol, each once.

    One that is not known in the language is quoted where a person wrote it, and counted where ownmark said it.
    """
    said = [words.told(each) for each in dict.fromkeys(as_messages(found or GENERAL_CAUTIONS))]
    lines = [each for each in said if each]
    lines += [words.said(each) or words.typed(each) for each in planned]
    if len(said) > sum(each is not None for each in said):
        lines.append(words.get("effort.cautions_untold", count=said.count(None)))
    unlike = dict.fromkeys(lines)
    kept = (one for one in unlike if not any(one != more and more.startswith(one.rstrip(".")) for more in unlike))
    yield Heading(words.get("effort.cautions"))
    yield Listing(tuple(kept))
