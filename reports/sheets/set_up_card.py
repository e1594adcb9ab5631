"""The set-up card: how to give a test again, a box before each line, and in words what must match."""

from collections.abc import Iterator, Sequence
from datetime import date

from ...metrics import choose_basis
from ...metrics.conditions import GENERAL_CAUTIONS
from ...records.catalogue import entry_of
from ...records.catalogue.loading import TRANSFER
from ...records.checklist import Item, Section
from ...records.protocol import HandMeasure, Protocol
from ...records.student import Student
from ...words.render import texts
from ..page import Blank, Block, Checklist, Heading, Page, Paragraph, Table, Tick
from ..words import Words
from .card_notes import card_notes
from .cautions import cautions_of
from .figure_text import capital, label
from .hand_results import row_label
from .set_up_table import BAND, protocol_title, written

PASSED = frozenset({"title", "cautions"})
"""Facts that stand elsewhere on the card: the title above, the cautions at the end."""
TOLD = frozenset(
    (
        *("component", "notes", "equation", "pause_s", "stop_s", "dip_s", "primary_figure", "better", "why"),
        *("smallest_worthwhile_change", "comparable", "cannot_say"),
    )
)
"""Facts that nobody sets up, so that there is nothing to tick."""
WRITE = ("write_date", "write_start", "write_who", "write_differed")


def set_up_card(
    code: str | None,
    sections: Sequence[Section],
    protocol: Protocol,
    words: Words,
    *,
    last_on: date | None = None,
    newest: int | None = None,
    student: Student | None = None,
) -> Page:
    """The card of one student and protocol.

    Parameters
    ----------
    code : None: the card of the protocol alone, before it is known whose it will be
    sections : from ``records.repeat.checklist``
    last_on : day of the last trial; None if there is none yet
    newest : the protocol's newest version, where it may be another than this one
    student : for the ceiling and for the cautions of the conditions
    """
    blocks: list[Block] = [Paragraph(words.get("card.lead"), "lead")]
    if newest is not None and newest != protocol.version:
        blocks.append(Paragraph(words.get("card.edited", version=newest)))
    blocks += card_notes(entry_of(protocol), student, words)
    told: list[tuple[str, str]] = []
    for section in sections:
        told += [(_label(item, words), _value(item, words)) for item in section.items if item.name in TOLD]
        ticks = tuple(
            Tick(_label(item, words), _value(item, words), words.get("card.must") if item.must else "")
            for item in section.items
            if item.name not in TOLD | PASSED
        )
        if ticks:
            title = section.titled(words)
            blocks += [Heading(title), Checklist(title, ticks)]
    told += _ladder(protocol, words)
    lines = (*(words.get(f"card.{key}") for key in WRITE), *_help_to_write(protocol, words))
    lines += tuple(_results_to_write(protocol, words))
    blocks += [Heading(words.get("card.write")), Blank(lines)]
    if told:
        head = (words.get("effort.fact"), words.get("effort.as_written"))
        blocks += [Heading(words.get("card.know")), Table(words.get("card.know"), head, tuple(told), shares=(32, 68))]
    known = choose_basis(conditions=student.conditions).cautions() if student else ()
    blocks += cautions_of((*GENERAL_CAUTIONS, *known), _planned(protocol), words)
    named = {"protocol": protocol_title(protocol, words), "name": protocol.name, "version": protocol.version}
    return Page(
        title=words.get("card.title", code=code) if code else words.get("card.title_any"),
        language=words.language,
        subtitle=words.get("card.subtitle", **named, date=words.date(last_on))
        if last_on
        else words.get("card.subtitle_new" if code else "card.subtitle_any", **named),
        blocks=tuple(blocks),
        running=words.get("card.running", code=code) if code else words.get("card.title_any"),
        sheet_of=words.get("form.sheet_of", number="{number}", total="{total}"),
    )


def _help_to_write(protocol: Protocol, words: Words) -> Iterator[str]:
    """A line for what each trial must say: the help that was given, and what was used where that is not planned."""
    if protocol.device is None:
        yield capital(words.get("field.device_used"))
    yield capital(words.get("field.assistance_given"))


def _results_to_write(protocol: Protocol, words: Words) -> Iterator[str]:
    """A line for each hand measure, and for each side of it, with its unit and how often it is done."""
    for each in protocol.hand_measures:
        tries = words.get("checklist.attempts", count=each.attempts) if each.attempts > 1 else ""
        for side in ("left", "right") if each.sides else (None,):
            yield f"{row_label(each.name, side, 1, words)} ({_unit(each, words)}{tries})"


def _ladder(protocol: Protocol, words: Words) -> Iterator[tuple[str, str]]:
    """Where the test stands among its family's, and what that step gives up."""
    entry = entry_of(protocol)
    if entry is not None:
        family = words.get(f"family.{entry.family}")
        lost = words.typed(entry.gives_up)
        yield words.get("ladder.title"), words.get("ladder.step", step=entry.step, family=family, gives_up=lost)


def _planned(protocol: Protocol) -> tuple[str, ...]:
    """The cautions of the protocol, without that of a transfer where it stands at the top of the card."""
    entry, transfer = entry_of(protocol), texts("en")[TRANSFER]
    at_the_top = entry is not None and entry.transfer
    return tuple(each for each in protocol.cautions if not (at_the_top and each == transfer))


def _label(item: Item, words: Words) -> str:
    """The line's field."""
    return capital(words.get(f"field.{item.name}"))


def _value(item: Item, words: Words) -> str:
    """What is written down: numbers with their unit, names of figures in words, what people wrote as it stands."""
    fact = item.fact
    if fact is None:
        return words.get("card.settle")
    if item.name == "notes":
        return words.typed(str(fact))
    if item.name == "primary_figure":
        return capital(label(str(fact), words))
    if isinstance(fact, tuple):
        if any(isinstance(each, HandMeasure) for each in fact):
            return capital("; ".join(_measure(each, words) for each in fact if isinstance(each, HandMeasure)))
        fact = "; ".join(map(str, fact)).replace(".; ", ". ").replace("?; ", "? ")
    return capital(written(fact, BAND if item.name == "target" else item.rule.unit, words))


def _unit(each: HandMeasure, words: Words) -> str:
    """The unit of a hand measure in words, or as it was typed."""
    return words.get(f"hand_unit.{each.unit}") if words.known(f"hand_unit.{each.unit}") else words.typed(each.unit)


def _measure(each: HandMeasure, words: Words) -> str:
    """A hand measure: what, in which unit, of which kind, and how."""
    unit = _unit(each, words)
    sides = words.get("checklist.sides") if each.sides else ""
    tries = words.get("checklist.attempts", count=each.attempts) if each.attempts > 1 else ""
    kind = words.get(f"measure_kind.{each.kind.replace(' ', '_')}")
    text = words.get("checklist.measure", name=label(each.name, words), unit=unit, kind=f"{kind}{sides}{tries}")
    return f"{text} {words.typed(each.how)}"
