"""The safety sheet for the therapist: ceiling, crossings with clock times, recovery, gaps, conditions, cautions.

It tells what was recorded; nothing is concluded from it.
"""

from collections.abc import Iterator

from ...metrics.conditions import CONDITIONS
from ...records.protocol import Protocol
from ...records.safety import CEILING, DIP_S, Crossing, Possible, Safety, unmeasured_words
from ...records.student import Ceiling
from ...words.message import Message
from ..page import Block, Heading, Listing, Note, Page, Paragraph, Picture, Table
from ..words import Words
from .cautions import cautions_of
from .figure_text import bounds_text, capital, label, note_text, span, value_of, value_text
from .figures_not_given import reason_line
from .set_up_table import protocol_title

SHARES = (40.0, 30.0, 30.0)
MOST_POSSIBLE = 12
"""So many possible crossings are shown in a table; a loose strap can give a hundred."""
RECOVERY = ("coverage_heart_rate", "heart_rate_mean", "heart_rate_peak", "heart_rate_rise", "recovery_60s")


def safety_sheet(found: Safety, protocol: Protocol, words: Words, *, picture: Picture | None = None) -> Page:
    """The page of one trial. ``found`` is from ``records.safety.safety_of``."""
    trial, student = found.trial, found.student
    blocks: list[Block] = [Paragraph(words.get("safety.lead"), "lead"), Heading(words.get("safety.ceiling"))]
    blocks += _ceiling(found, words)
    blocks += _crossings(found, words)
    if picture is not None:
        blocks += [Heading(words.get("effort.picture")), picture]
    if trial.sheet is not None:
        blocks += _figures(found, words)
        blocks += _gaps(found, words)
    reasons: dict[Message, list[str]] = {}
    for name, why in found.invalid:
        reasons.setdefault(why, []).append(name)
    if reasons:
        lines = tuple(reason_line(why, names, words, family=False) for why, names in reasons.items())
        blocks += [Heading(words.get("safety.invalid")), Listing(lines)]
    blocks += [Heading(words.get("safety.conditions")), *_conditions(student.conditions, words)]
    blocks += cautions_of(found.cautions, protocol.cautions, words)
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


def _ceiling(found: Safety, words: Words) -> Iterator[Block]:
    """Today's ceiling, and whether the figures were worked out with it."""
    now, used = found.student.ceiling, found.ceiling_bpm
    yield Paragraph(words.get("safety.ceiling_none") if now is None else ceiling_text(now, words))
    if found.trial.sheet is None:
        yield Paragraph(words.get("safety.no_recording"))
        return
    yield from ceiling_changed(used, now, words)


def ceiling_text(ceiling: Ceiling, words: Words) -> str:
    """The ceiling, and who set it when."""
    key = "safety.ceiling_is_on" if ceiling.set_on else "safety.ceiling_is"
    when = {"date": words.date(ceiling.set_on)} if ceiling.set_on else {}
    return words.get(key, bpm=words.decimal(f"{ceiling.bpm:g}"), role=ceiling.set_by, **when)


def ceiling_changed(used: float | None, now: Ceiling | None, words: Words) -> Iterator[Block]:
    """What must not be overlooked where a sheet was worked out with another ceiling than today's [/min]."""
    title = words.get("safety.not_counted")
    if used is not None and now is None:
        yield Note("attention", title, words.get("safety.ceiling_gone", used=words.decimal(f"{used:g}")))
    elif used is not None and now is not None and now.bpm != used:
        rates = {"used": words.decimal(f"{used:g}"), "now": words.decimal(f"{now.bpm:g}")}
        yield Note("attention", title, words.get("safety.ceiling_used", **rates))
    elif used is None and now is not None:
        yield Note("attention", title, words.get("safety.ceiling_later"))


def _crossings(found: Safety, words: Words) -> Iterator[Block]:
    """When heart rate stood above the ceiling, by the clock and from the start."""
    if found.trial.sheet is None:
        return
    counted = found.ceiling_bpm is not None
    if not (found.measured if counted else value_of(found.figures, "coverage_heart_rate") is not None):
        key = "not_measured_at_all" if found.student.ceiling is None else "not_measured"
        yield Note("attention", words.get("safety.ceiling"), words.get(f"safety.{key}"))
        return
    if not counted:
        return
    if not found.crossings:
        first = found.figures.get("first_above_ceiling")
        why = None if first is None or first.reason is None else words.told(first.reason)
        no_crossing = words.get("safety.no_certain") if found.possible else why or words.get("safety.no_crossing")
        yield Paragraph(no_crossing)
    else:
        yield Heading(words.get("safety.crossings"))
        yield from _table(CEILING[:3], found, words, words.get("effort.group_ceiling"))
        head = tuple(words.get(f"safety.{key}") for key in ("by_clock", "from_start", "length", "above"))
        yield Table(words.get("safety.crossings"), head, tuple(_crossing(each, words) for each in found.crossings))
        yield Paragraph(words.get("safety.crossings_text", dip=words.decimal(f"{DIP_S:g}")), "small")
    yield from _possible(found, words)
    if found.recording_unmeasured:
        yield Paragraph(unmeasured_words(found.recording_unmeasured, words))


def _possible(found: Safety, words: Words) -> Iterator[Block]:
    """Readings above the ceiling that are in no figure, with the reason; and for how long it may have been passed."""
    if not found.possible:
        return
    yield Heading(words.get("safety.possible"))
    yield Paragraph(words.get("safety.possible_text", dip=words.decimal(f"{DIP_S:g}")))
    if not found.crossings:  # else they stand above
        yield from _table(CEILING[:1], found, words, words.get("effort.group_ceiling"))
    head = tuple(words.get(f"safety.{key}") for key in ("by_clock", "from_start", "length", "highest", "aside"))
    rows = tuple(_doubtful(each, words) for each in found.possible[:MOST_POSSIBLE])
    yield Table(words.get("safety.possible"), head, rows)
    more = found.possible[MOST_POSSIBLE:]
    if more:
        whole = words.duration(sum(each.where.until_s - each.where.from_s for each in more))
        yield Paragraph(words.get("safety.possible_more", count=len(more), length=whole))


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
    length = words.duration(each.until_s - each.from_s)
    return by_clock, since, length, words.duration(each.above_s)


def _table(names: tuple[str, ...], found: Safety, words: Words, caption: str) -> Iterator[Block]:
    """Figures with their bounds; those that are not given are told below."""
    rows = []
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


def _gaps(found: Safety, words: Words) -> Iterator[Block]:
    """Every stretch of work without heart rate."""
    yield Heading(words.get("safety.gaps"))
    if not found.unmeasured:
        yield Paragraph(words.get("safety.gaps_none"))
        return
    yield Paragraph(words.get("safety.gaps_text"))
    head = tuple(words.get(f"safety.{key}") for key in ("from_start", "length"))
    rows = tuple((span(begin, until, words), words.duration(until - begin)) for begin, until in found.unmeasured)
    yield Table(words.get("safety.gaps"), head, rows)


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
