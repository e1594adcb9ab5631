"""The set-up card: how to give a test again, a box before each line, and in words what must match."""

import re
from collections.abc import Sequence
from datetime import date

from ...metrics import choose_basis
from ...metrics.conditions import GENERAL_CAUTIONS
from ...records.checklist import Item, Section
from ...records.protocol import FIELDS, Protocol
from ...records.student import Student
from ...records.trial import TRIAL_FIELDS
from ..page import Blank, Block, Checklist, Heading, Note, Page, Paragraph, Table, Tick
from ..words import Words
from .cautions import cautions_of
from .figure_text import capital, label
from .safety_sheet import ceiling_text
from .set_up_table import BAND, protocol_title, written

PASSED = frozenset({FIELDS["title"].label, FIELDS["cautions"].label})
"""Facts that stand elsewhere on the card: the title above, the cautions at the end."""
TOLD = frozenset(
    FIELDS[name].label
    for name in (
        *("component", "equation", "pause_s", "stop_s", "dip_s", "primary_figure", "better", "why"),
        "smallest_worthwhile_change",
    )
)
"""Facts that nobody sets up, so that there is nothing to tick."""
_KEYS = {rule.label: f"field.{name}" for name, rule in (*FIELDS.items(), *TRIAL_FIELDS.items())}
WRITE = ("write_date", "write_start", "write_who", "write_differed")


def set_up_card(
    code: str,
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
    sections : from ``records.repeat.checklist``
    last_on : day of the last trial; None if there is none yet
    newest : the protocol's newest version, where it may be another than this one
    student : for the ceiling and for the cautions of the conditions
    """
    blocks: list[Block] = [Paragraph(words.get("card.lead"), "lead")]
    if newest is not None and newest != protocol.version:
        blocks.append(Paragraph(words.get("card.edited", version=newest)))
    if student is not None and student.ceiling is not None:
        blocks.append(Note("attention", words.get("safety.ceiling"), ceiling_text(student.ceiling, words)))
    told: list[tuple[str, str]] = []
    for section in sections:
        told += [(capital(_label(item, words)), _value(item, words)) for item in section.items if item.label in TOLD]
        ticks = tuple(
            Tick(capital(_label(item, words)), _value(item, words), words.get("card.must") if item.must else "")
            for item in section.items
            if item.label not in TOLD | PASSED
        )
        if ticks:
            blocks += [Heading(_with_day(section.title, words)), Checklist(section.title, ticks)]
    blocks += [Heading(words.get("card.write")), Blank(tuple(words.get(f"card.{key}") for key in WRITE))]
    if told:
        head = (words.get("effort.fact"), words.get("effort.as_written"))
        blocks += [Heading(words.get("card.know")), Table(words.get("card.know"), head, tuple(told), shares=(32, 68))]
    known = choose_basis(conditions=student.conditions).cautions() if student else ()
    blocks += cautions_of((*GENERAL_CAUTIONS, *known), protocol.cautions, words)
    named = {"protocol": protocol_title(protocol, words), "name": protocol.name, "version": protocol.version}
    return Page(
        title=words.get("card.title", code=code),
        language=words.language,
        subtitle=words.get("card.subtitle", **named, date=words.date(last_on))
        if last_on
        else words.get("card.subtitle_new", **named),
        blocks=tuple(blocks),
        running=words.get("card.running", code=code),
        sheet_of=words.get("form.sheet_of", number="{number}", total="{total}"),
    )


def _label(item: Item, words: Words) -> str:
    """The line's label in the reader's language."""
    key = _KEYS.get(item.label)
    return words.get(key) if words.language != "en" and key and words.known(key) else item.label


def _value(item: Item, words: Words) -> str:
    """The line's value: times in minutes, names of figures in words, what people wrote as it stands."""
    if not item.known:
        return words.get("card.settle")
    seconds = re.fullmatch(r"(\d+(?:\.\d+)?) s", item.value)
    if seconds:
        return words.duration(float(seconds[1]))
    if words.known(f"figure.{item.value}") or words.known(f"hand.{item.value}"):
        return capital(label(item.value, words))
    unit = BAND if item.label == FIELDS["target"].label else ""
    return capital(written(item.value.replace(".; ", ". "), unit, words))


def _with_day(title: str, words: Words) -> str:
    """A section's title, a day at its end written out."""
    before, comma, day = title.rpartition(", ")
    return f"{before}{comma}{words.date_of(day)}" if comma else title
