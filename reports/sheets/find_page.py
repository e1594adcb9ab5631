"""The page of tests that fit a student: the least changed first, why each fits, what it gives up and what to ask."""

from collections.abc import Iterator

from ...metrics import choose_basis
from ...metrics.conditions import GENERAL_CAUTIONS
from ...records.abilities import MOVEMENTS, NEEDS, SENSES
from ...records.catalogue.choosing import Asked, Found, Opened, Suggestion
from ...records.catalogue.loading import TRANSFER
from ...records.catalogue.messages import (
    CHOOSE_ALL,
    CHOOSE_NO_MOVEMENT,
    CHOOSE_NONE,
    choose_first,
    choose_opens,
    choose_opens_without,
    choose_unfit,
)
from ...records.student import Student
from ...words.message import Message
from ..page import Block, Heading, Listing, Page, Paragraph
from ..words import Words
from .cautions import cautions_of

FIRST = 3
"""So many tests are named at the top, each the first of its family."""


def find_page(found: Found, words: Words, student: Student | None = None) -> Page:
    """The page.

    student : whose answers these are; the cautions of the conditions stand at the end, and rule nothing out
    """
    blocks: list[Block] = [Paragraph(words.message(lead(found)), "lead"), *said(found.asked, words)]
    blocks += map(Paragraph, unfit(found, words))
    family = ""
    for each in found.fits:
        if each.family.name != family:
            family = each.family.name
            blocks.append(Heading(words.get(f"family.{family}")))
        blocks += _test(each, words)
    if found.nearly:
        blocks += [Heading(words.get("ladder.find_nearly")), Listing(opened_by(found, words))]
    blocks += at_the_end(words, student)
    title = words.get("ladder.find_for", code=student.code) if student else words.get("ladder.find_title")
    return Page(
        title=title,
        language=words.language,
        subtitle="",
        blocks=tuple(blocks),
        running=words.get("ladder.running_for", code=student.code) if student else words.get("ladder.running"),
        sheet_of=words.get("form.sheet_of", number="{number}", total="{total}"),
    )


def at_the_end(words: Words, student: Student | None) -> tuple[Block, ...]:
    """The cautions, with those of the student's conditions, and that nothing is ruled out."""
    known = choose_basis(conditions=student.conditions).cautions() if student else ()
    nothing = Paragraph(words.get("ladder.find_nothing_ruled"), "small")
    return (*cautions_of((*GENERAL_CAUTIONS, *known), (), words), nothing)


def unfit(found: Found, words: Words) -> tuple[str, ...]:
    """The components of which no test fits."""
    return tuple(words.message(choose_unfit(each)) for each in found.unfit_components)


def opened_by(found: Found, words: Words) -> tuple[str, ...]:
    """What one more fact would open."""
    return tuple(words.message(_opens(each)) for each in found.nearly)


def lead(found: Found) -> Message:
    """What to begin with; or that nothing fits, nothing was said, or no movement: then no test is the first to try."""
    if not found.fits:
        return CHOOSE_NONE
    if not found.asked.can and not found.asked.needs:
        return CHOOSE_ALL
    if found.asked.movements is None:
        return CHOOSE_NO_MOVEMENT
    first = {each.family.name: each.entry.name for each in reversed(found.fits)}
    order = dict.fromkeys(each.family.name for each in found.fits)
    return choose_first(tuple(first[family] for family in order)[:FIRST])


def said(asked: Asked, words: Words) -> Iterator[Block]:
    """What was said of the student."""
    can, needs = asked.can or (), asked.needs
    parts = [words.get(f"movement.{each}") for each in MOVEMENTS if each in can]
    parts += [words.get(f"sense_said.{each}") for each in SENSES if each in can]
    if parts:
        yield Paragraph(words.get("ladder.find_said", movements=words.listed(parts)))
    if needs:
        given = [words.get(f"need.{each}") for each in NEEDS if each in needs]
        yield Paragraph(words.get("ladder.find_needs", needs=words.listed(given)))


def _test(each: Suggestion, words: Words) -> Iterator[Block]:
    """One test: its title and name, and what is told of it."""
    entry = each.entry
    yield Heading(words.get("ladder.test", title=words.get(f"title.{entry.name}"), name=entry.name, step=entry.step), 3)
    yield Listing(told_of(each, words))


def told_of(each: Suggestion, words: Words) -> tuple[str, ...]:
    """Why a test fits, what it gives up, what to find out and to ask."""
    entry = each.entry
    lines = [words.message(why) for why in each.reasons]
    lines.append(words.get("ladder.gives_up", text=words.typed(entry.gives_up)))
    lines += [words.message(what) for what in each.to_find_out]
    if entry.transfer:
        lines.append(words.get(TRANSFER))
    lines += [words.get("ladder.ask", text=words.typed(one)) for one in entry.protocol.ask]
    return tuple(lines)


def _opens(each: Opened) -> Message:
    """What one more fact would open."""
    tests = tuple(one.name for one in each.entries)
    return choose_opens_without(each.fact, tests) if each.is_need else choose_opens(each.fact, tests)
