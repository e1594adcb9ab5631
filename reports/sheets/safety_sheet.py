"""The safety sheet for the therapist: what was recorded above the ceiling in a sentence, the picture, then the rest.

It tells what was recorded; nothing is concluded from it. A list of more than a few lines stands at the end.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from ...metrics.conditions import CONDITIONS
from ...records.protocol import Protocol
from ...records.safety import CEILING, DIP_S, Crossing, Possible, Safety, about_ceiling
from ...records.safety import ceiling_changed as changed
from ...records.student import Ceiling
from ...words.message import Message
from ..page import Block, Heading, Listing, Note, Page, Paragraph, Picture, Table
from ..words import Words
from .cautions import cautions_of
from .figure_text import bounds_text, capital, label, note_text, span, value_text
from .figures_not_given import reason_line
from .set_up_table import protocol_title

SHARES = (40.0, 30.0, 30.0)
MOST_ROWS = 5
"""A longer list stands at the end of the page."""
LEAST_S = 0.5
"""A shorter stretch would be shown as nothing [s]."""
RECOVERY = ("coverage_heart_rate", "heart_rate_mean", "heart_rate_peak", "heart_rate_rise", "recovery_60s")


@dataclass(frozen=True, slots=True)
class Part:
    """A part of the page: its blocks, and a list that belongs to it."""

    blocks: tuple[Block, ...] = ()
    listed: Table | None = None

    @property
    def long(self) -> bool:
        """Whether the list stands at the end of the page."""
        return self.listed is not None and len(self.listed.rows) > MOST_ROWS

    def here(self, words: Words) -> Iterator[Block]:
        """What stands at its own place."""
        yield from self.blocks
        if self.listed is not None:
            at_end = Paragraph(words.get("safety.at_end", count=len(self.listed.rows)))
            yield at_end if self.long else self.listed


def safety_sheet(found: Safety, protocol: Protocol, words: Words, *, picture: Picture | None = None) -> Page:
    """The page of one trial. ``found`` is from ``records.safety.safety_of``."""
    trial, student = found.trial, found.student
    blocks: list[Block] = [Paragraph(" ".join(map(words.message, found.answer)), "lead")]
    if found.changed is not None and found.changed not in found.answer:
        blocks.append(_attention(found.changed, words))
    if picture is not None:
        blocks += [Heading(words.get("effort.picture")), picture]
    if found.looked_at is not None:
        blocks.append(Paragraph(words.message(found.looked_at)))
    blocks.append(Paragraph(words.get("safety.lead")))
    parts = [Part(tuple(_ceiling(found, words)))]
    if found.ceiling_bpm is not None:
        parts += [_crossings(found, words), _crossings(found, words, outside=True), _possible(found, words)]
    if trial.sheet is not None:
        parts += [Part(tuple(_figures(found, words))), _gaps(found, words)]
    for part in parts:
        blocks += part.here(words)
    blocks += [
        *_not_given(found, words),
        Heading(words.get("safety.conditions")),
        *_conditions(student.conditions, words),
        *cautions_of(found.cautions, protocol.cautions, words),
        *_at_end(parts, words),
    ]
    title = protocol_title(protocol, words)
    return Page(
        title=words.get("safety.title", code=student.code),
        language=words.language,
        subtitle=words.get("safety.subtitle", protocol=title, date=words.date(trial.on), number=trial.id or "–"),
        blocks=tuple(blocks),
        footer=(words.get("effort.rounding"),),
        running=words.get("safety.running", code=student.code, date=words.date(trial.on)),
        sheet_of=words.get("form.sheet_of", number="{number}", total="{total}"),
    )


def ceiling_text(ceiling: Ceiling, words: Words) -> str:
    """The ceiling, and who set it when."""
    return words.message(about_ceiling(ceiling))


def ceiling_changed(used: float | None, now: Ceiling | None, words: Words) -> Iterator[Block]:
    """What must not be overlooked where a sheet was worked out with another ceiling than today's [/min]."""
    found = changed(used, now)
    if found is not None:
        yield _attention(found, words)


def _attention(found: Message, words: Words) -> Note:
    return Note("attention", words.get("safety.not_counted"), words.message(found))


def _ceiling(found: Safety, words: Words) -> Iterator[Block]:
    """Today's ceiling, and the figures of the one that the sheet counts with."""
    told = found.ceiling in found.answer
    figures = () if found.ceiling_bpm is None else CEILING[:3] if found.crossings else CEILING[:1]
    tables = list(_table(figures if found.crossings or found.possible else (), found, words))
    if tables or not told:
        yield Heading(words.get("safety.ceiling"))
    if not told:
        yield Paragraph(words.message(found.ceiling))
    yield from tables


def _crossings(found: Safety, words: Words, *, outside: bool = False) -> Part:
    """When heart rate stood above the ceiling, by the clock and from the start: in the phases, or outside them."""
    these = [each for each in found.crossings if each.outside is outside]
    if not these:
        return Part()
    title = words.get("safety.crossings_outside" if outside else "safety.crossings")
    head = tuple(words.get(f"safety.{key}") for key in ("by_clock", "from_start", "length", "above"))
    rows = tuple(_crossing(each, words) for each in these)
    note = Paragraph(words.get("safety.crossings_text", dip=words.decimal(f"{DIP_S:g}")), "small")
    return Part((Heading(title), note), Table(title, head, rows))


def _possible(found: Safety, words: Words) -> Part:
    """Readings above the ceiling that are in no figure, with the reason."""
    if not found.possible:
        return Part()
    title = words.get("safety.possible")
    blocks = [Heading(title), Paragraph(words.get("safety.possible_text", dip=words.decimal(f"{DIP_S:g}")))]
    head = tuple(words.get(f"safety.{key}") for key in ("by_clock", "from_start", "length", "highest", "aside"))
    rows = tuple(_doubtful(each, words) for each in found.possible)
    return Part(tuple(blocks), Table(title, head, rows))


def _doubtful(each: Possible, words: Words) -> tuple[str, str, str, str, str]:
    clock, since, length, _ = _crossing(each.where, words)
    why = words.listed([words.get(f"rule.{reason}") for reason in each.reasons])
    return clock, since, length, words.beats(each.highest_bpm), capital(why)


def _crossing(each: Crossing, words: Words) -> tuple[str, str, str, str]:
    by_clock = words.get("safety.no_clock")
    if each.from_clock is not None and each.until_clock is not None:
        until = f"{each.until_clock} UTC" if each.utc else each.until_clock
        by_clock = words.get("form.range", low=each.from_clock, high=until)
    since = span(each.from_s, each.until_s, words)
    return by_clock, since, _lasting(each.until_s - each.from_s, words), _lasting(each.above_s, words)


def _lasting(seconds: float, words: Words) -> str:
    """A length of time; one that would be shown as nothing is under a second."""
    return words.get("unit.under_second") if 0 < seconds < LEAST_S else words.duration(seconds)


def _table(names: Sequence[str], found: Safety, words: Words, caption: str = "") -> Iterator[Block]:
    """Figures with their bounds; those that are not given are told below."""
    rows = []
    caption = caption or words.get("effort.group_ceiling")
    for name in names:
        figure = found.figures.get(name)
        if figure is None or figure.value is None:
            continue
        bounds = bounds_text(name, figure, words)
        rows.append((capital(label(name, words)), value_text(name, figure, words), bounds))
    if not rows:
        return
    head = [words.get(f"effort.{key}") for key in ("figure", "value", "bounds")]
    if any(row[2] for row in rows):
        same = words.get("effort.bounds_none")
        yield Table(caption, tuple(head), tuple((*row[:2], row[2] or same) for row in rows), shares=SHARES)
    else:
        yield Table(caption, tuple(head[:2]), tuple(row[:2] for row in rows), shares=SHARES[:2])


def _figures(found: Safety, words: Words) -> Iterator[Block]:
    tables = list(_table(RECOVERY, found, words, words.get("safety.recovery")))
    fall = found.figures.get("recovery_60s")
    if not tables and fall is None:
        return
    yield Heading(words.get("safety.recovery"))
    yield from tables
    if fall is None:
        return
    note = "" if fall.value is None else note_text("recovery_60s", fall, words)
    if note:
        yield Paragraph(f"{capital(label('recovery_60s', words))}: {note}.", "small")
    elif fall.reason is not None and "recovery_60s" not in dict(found.invalid):
        yield Paragraph(reason_line(fall.reason, ["recovery_60s"], words, family=False))


def _gaps(found: Safety, words: Words) -> Part:
    """What of the recording has no heart rate, then the stretches of work; those too short to be shown are counted."""
    title = words.get("safety.gaps")
    blocks: list[Block] = [Heading(title)]
    if found.gaps is not None:
        blocks.append(Paragraph(words.message(found.gaps)))
    if not found.unmeasured:
        return Part((*blocks, Paragraph(words.get("safety.gaps_none"))))
    lengths = [until - begin for begin, until in found.unmeasured]
    key = "gaps_text" if found.ceiling_bpm is None else "gaps_text_ceiling"
    blocks.append(Paragraph(words.get(f"safety.{key}", length=_lasting(sum(lengths), words))))
    short = [each for each in lengths if each < LEAST_S]
    if short:
        text = words.get("safety.gaps_short", count=len(short), length=_lasting(sum(short), words))
        blocks.append(Paragraph(text))
    head = tuple(words.get(f"safety.{key}") for key in ("from_start", "length"))
    rows = tuple(
        (span(begin, until, words), words.duration(until - begin))
        for begin, until in found.unmeasured
        if until - begin >= LEAST_S
    )
    return Part(tuple(blocks), Table(title, head, rows) if rows else None)


def _not_given(found: Safety, words: Words) -> Iterator[Block]:
    """Figures that were asked for and are not given, together by the reason."""
    reasons: dict[Message, list[str]] = {}
    for name, why in found.invalid:
        reasons.setdefault(why, []).append(name)
    if reasons:
        yield Heading(words.get("safety.invalid"))
        yield Listing(tuple(reason_line(why, names, words, family=False) for why, names in reasons.items()))


def _at_end(parts: Sequence[Part], words: Words) -> Iterator[Block]:
    """The long lists."""
    tables = [part.listed for part in parts if part.long and part.listed is not None]
    if tables:
        yield Heading(words.get("safety.lists"))
    for table in tables:
        yield Heading(table.caption, 3)
        yield table


def _conditions(names: tuple[str, ...], words: Words) -> Iterator[Block]:
    if not names:
        yield Paragraph(words.get("safety.conditions_none"))
        return
    lines = []
    for name in names:
        title = capital(words.get(f"condition.{name}"))
        reason = CONDITIONS[name].reason
        key = "safety.condition" if reason else "safety.condition_plain"
        lines.append(words.get(key, title=title, reason=words.message(reason) if reason else ""))
    yield Listing(tuple(lines))
