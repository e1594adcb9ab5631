"""The page that leads to every student's page of one call, by code; what could not be made stands below with why."""

from collections.abc import Sequence
from dataclasses import dataclass

from ..page import Block, Heading, Listing, Page, Paragraph, Table
from ..words import Words
from .cautions import cautions_of


@dataclass(frozen=True, slots=True)
class Entry:
    """One student's page: its files beside the index, or why there is none."""

    code: str
    about: str
    files: tuple[str, ...]
    why: str = ""


def index_page(entries: Sequence[Entry], words: Words, kind: str) -> Page:
    """The index. ``kind``: sheets, changes or cards. A student's entries stay in the order in which they are given."""
    made = sorted((each for each in entries if each.files), key=lambda each: each.code)
    failed = sorted((each for each in entries if not each.files), key=lambda each: each.code)
    blocks: list[Block] = [Paragraph(words.get("index.lead"))]
    if made:
        links = [
            (f"{each.code} · {each.about} · {name.rpartition('.')[2].upper()}", name)
            for each in made
            for name in each.files
        ]
        blocks += [Heading(words.get(f"index.{kind}")), Listing(*(tuple(part) for part in zip(*links, strict=True)))]
    if failed:
        head = tuple(words.get(f"index.{key}") for key in ("code", "about", "why"))
        rows = tuple((each.code, each.about, each.why) for each in failed)
        title = words.get("index.failed")
        blocks += [Heading(title), Table(title, head, rows)]
    return Page(
        title=words.get(f"index.{kind}"),
        language=words.language,
        subtitle=words.get("index.count", made=len(made), of=len(entries)),
        blocks=(*blocks, *cautions_of((), (), words)),
    )
