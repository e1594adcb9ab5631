"""The effort sheet: what one trial measured, with what it rests on and what it does not tell."""

from collections.abc import Iterator, Mapping, Sequence

from ...metrics.figure import EffortSheet, Figure, MovementUsed
from ...records.protocol import Protocol
from ...records.student import Student
from ...records.trial import Trial
from ...words.vocabulary import GROUPS, ON_CHAIR
from ..page import Block, Heading, Listing, Note, Page, Paragraph, Picture, Table
from ..words import Words
from .cautions import cautions_of
from .figure_text import (
    bounds_text,
    capital,
    label,
    note_text,
    own_rhythm_text,
    plain_units,
    span,
    told_together,
    unit_words,
    value_of,
    value_text,
)
from .figures_not_given import not_given
from .hand_results import hand_table
from .safety_sheet import ceiling_changed
from .set_up_table import facts, protocol_title

MOST_GAPS = 3
SHARES = (31.0, 20.0, 25.0, 24.0)
"""Width of label, value, bounds and note, in parts of a hundred."""
NARROW = (38.0, 20.0, 0.0, 42.0)
"""The same on a sheet without bounds."""
FACT_SHARES = (31.0, 69.0)


def effort_sheet(
    trial: Trial,
    student: Student,
    protocol: Protocol,
    words: Words,
    *,
    picture: Picture | None = None,
    no_picture: str = "",
    family: bool = False,
) -> Page:
    """The page of one trial.

    Parameters
    ----------
    trial : with its sheet, as the logbook gives it
    picture : of the trial; ``no_picture`` says why there is none
    family : plain units, and without the staff's own notes and the technical ones
    """
    sheet = trial.sheet
    figures: Mapping[str, Figure] = {} if sheet is None else sheet.figures
    blocks: list[Block] = [Paragraph(_lead(sheet, trial, words), "lead")]
    if sheet is not None and not family:
        blocks += ceiling_changed(sheet.provenance.ceiling_bpm, student.as_of(trial.on).ceiling, words)
    rows = facts(trial, student, protocol, words, family=family)
    blocks += [
        Heading(words.get("effort.set_up")),
        Table(words.get("effort.set_up"), _fact_head(words), rows, shares=FACT_SHARES),
    ]
    blocks += _picture(picture, no_picture, trial, words)
    shares = SHARES if any(bounds_text(name, figure, words) for name, figure in figures.items()) else NARROW
    groups: list[Block] = []
    if sheet is not None:
        groups += [each for name, names in GROUPS for each in _group(name, names, sheet, words, shares, family=family)]
    by_hand = hand_table((trial,), protocol, words, words.get("effort.group_hand"))
    if groups or by_hand:
        blocks += [Heading(words.get("effort.figures")), *groups]
        blocks += [Heading(words.get("effort.group_hand"), 3), by_hand] if by_hand else []
        blocks += [] if sheet is None else [*_shift(sheet, words, family=family), *_possible(sheet, words)]
        if any(isinstance(each, Table) and words.get("effort.bounds") in each.header for each in groups):
            blocks.append(Paragraph(words.get("effort.bounds_text"), "small"))
        if any(own_rhythm_text(name, figure, words) for name, figure in figures.items()):
            blocks.append(Paragraph(words.get("effort.own_rhythm_text"), "small"))
    reasons = not_given(figures, words, family=family)
    if reasons:
        blocks += [Heading(words.get("effort.not_given")), Listing(reasons)]
    blocks += _notes(trial, sheet, words, family=family)
    blocks += cautions_of(() if sheet is None else sheet.cautions, protocol.cautions, words)
    return Page(
        title=words.get("effort.title", code=trial.code),
        language=words.language,
        subtitle=_subtitle(trial, protocol, words),
        blocks=tuple(blocks),
        footer=_footer(sheet, words, family=family),
        running=words.get("effort.running", code=trial.code, date=words.date(trial.on)),
        sheet_of=words.get("form.sheet_of", number="{number}", total="{total}"),
    )


def _subtitle(trial: Trial, protocol: Protocol, words: Words) -> str:
    key = "effort.subtitle_practice" if trial.practice else "effort.subtitle"
    title = protocol_title(protocol, words)
    return words.get(key, protocol=title, date=words.date(trial.on), number=trial.id or words.get("form.dash"))


def _fact_head(words: Words) -> tuple[str, str]:
    return words.get("effort.fact"), words.get("effort.as_written")


def _lead(sheet: EffortSheet | None, trial: Trial, words: Words) -> str:
    """How much was measured, where it was not, and what the figures are for."""
    own = words.get("effort.own_mark")
    if sheet is None:
        return f"{words.get('effort.by_hand_only')} {own}" if trial.hand_results else words.get("effort.nothing")
    made = sheet.provenance
    begin, end = made.phases.work
    covered = value_of(sheet.figures, "coverage_heart_rate")
    work = words.duration(end - begin)
    if covered is None:
        parts = [words.get("effort.no_heart_rate", work=work)]
    else:
        parts = [words.get("effort.measured", share=words.number(covered, 1), work=work)]
        parts += _gaps(made.unmeasured, words)
    moved = value_of(sheet.figures, "coverage_motion")
    if moved is not None:
        key = "effort.measured_chair" if _of_chair(made.movement) else "effort.measured_movement"
        parts.append(words.get(key, share=words.number(moved, 1)))
    return " ".join([*parts, own])


def _of_chair(movement: MovementUsed | None) -> bool:
    return movement is not None and movement.placement in ON_CHAIR


def _gaps(spans: Sequence[tuple[float, float]], words: Words) -> Iterator[str]:
    """The longest stretches without heart rate, in order."""
    if not spans:
        return
    longest = sorted(spans, key=lambda gap: gap[0] - gap[1])[:MOST_GAPS]
    named = words.listed([span(begin, until, words) for begin, until in sorted(longest)])
    more = len(spans) - MOST_GAPS
    if more > 1:
        yield words.get("effort.missing_more", spans=named, count=more)
    else:
        yield words.get("effort.missing_one_more" if more == 1 else "effort.missing", spans=named)


def _picture(picture: Picture | None, why: str, trial: Trial, words: Words) -> Iterator[Block]:
    if picture is not None:
        yield Heading(words.get("effort.picture"))
        yield picture
    elif why or (trial.sheet is None and trial.hand_results):
        yield Paragraph(words.get("effort.no_picture", why=why or words.get("effort.no_recording")), "small")


def _group(
    name: str, names: Sequence[str], sheet: EffortSheet, words: Words, widths: Sequence[float], *, family: bool
) -> Iterator[Block]:
    """A small group of figures as a table; columns that would be empty are left out."""
    figures = sheet.figures
    given = [each for each in names if value_of(figures, each) is not None]
    if not given:
        return
    title = words.get(f"effort.group_{_titled(name, sheet)}")
    rows = [
        (
            capital(label(each, words)),
            value_text(each, figures[each], words, family=family),
            bounds_text(each, figures[each], words, family=family),
            _beside(each, figures[each], words, family=family),
        )
        for each in given
    ]
    header = [words.get(f"effort.{each}") for each in ("figure", "value", "bounds", "note")]
    if any(row[2] for row in rows):
        rows = [(*row[:2], row[2] or words.get("effort.bounds_none"), row[3]) for row in rows]
    kept = [place for place in range(4) if any(row[place] for row in rows)]
    yield Heading(title, 3)
    yield Table(
        title,
        tuple(header[place] for place in kept),
        tuple(tuple(row[place] for place in kept) for row in rows),
        shares=_shares(kept, widths),
    )


def _beside(name: str, figure: Figure, words: Words, *, family: bool) -> str:
    """What is said beside a figure: its narrower bounds, its note."""
    parts = (own_rhythm_text(name, figure, words, family=family), note_text(name, figure, words, family=family))
    return "; ".join(part for part in parts if part)


def _possible(sheet: EffortSheet, words: Words) -> Iterator[Block]:
    """Where the ceiling may have been passed, by readings that are in no figure, and why they are in none."""
    found = sheet.provenance.possible_crossings
    if not found:
        return
    told = [
        words.get(
            "effort.possible_span",
            span=span(each.from_s, each.until_s, words),
            rate=words.beats(each.highest_bpm),
            reasons=words.listed([words.get(f"rule.{rule}") for rule in each.rules]),
        )
        for each in found[:MOST_GAPS]
    ]
    more = [words.get("effort.possible_more", count=len(found) - MOST_GAPS)] if len(found) > MOST_GAPS else []
    yield Note(
        "attention", words.get("effort.group_ceiling"), words.get("effort.possible", spans=words.listed(told + more))
    )


def _shares(kept: Sequence[int], widths: Sequence[float]) -> tuple[float, ...]:
    """Widths that are the same in every group, so that the columns of a sheet stand below each other."""
    shares = [widths[place] for place in kept]
    return (*shares[:-1], shares[-1] + sum(widths) - sum(shares))


def _titled(name: str, sheet: EffortSheet) -> str:
    """The group's title, which says what a figure is not."""
    if name == "movement" and _of_chair(sheet.provenance.movement):
        return "chair"
    return "zones_maximum" if name == "zones" and sheet.provenance.zones_by == "maximum" else name


def _shift(sheet: EffortSheet, words: Words, *, family: bool) -> Iterator[Block]:
    """Times in the classes with a predicted maximum one standard error lower and higher."""
    made, basis = sheet.provenance, sheet.provenance.basis
    lower, higher = made.zones_if_maximum_is_one_see_lower, made.zones_if_maximum_is_one_see_higher
    if lower is None or higher is None or basis.maximum_bpm is None or basis.maximum_see_bpm is None:
        return
    unit = unit_words("", "/min", words, family=family)
    heads = [
        words.get(key, bpm=f"{words.number(bpm, 1)} {unit}")
        for key, bpm in (
            ("effort.shift_lower", lower.maximum_bpm),
            ("effort.shift_here", basis.maximum_bpm),
            ("effort.shift_lower", higher.maximum_bpm),
        )
    ]
    rows = tuple(
        (
            capital(label(name, words)),
            words.duration(low),
            value_text(name, sheet.figures[name], words),
            words.duration(higher.times_s[name]),
        )
        for name, low in lower.times_s.items()
    )
    yield Heading(words.get("effort.shift"), 3)
    yield Paragraph(words.get("effort.shift_text"))
    yield Table(words.get("effort.shift"), (words.get("effort.shift_class"), *heads), rows)
    if family:
        most = words.number(2 * basis.maximum_see_bpm)
        yield Paragraph(words.get("effort.predicted_family", most=most), "small")
        return
    mean = sheet.figures.get("reserve_mean")
    told = None if mean is None else told_together(mean.notes if mean.reason is None else (mean.reason,), words)
    if told:
        yield Paragraph(plain_units(told, words, family=family), "small")


def _notes(trial: Trial, sheet: EffortSheet | None, words: Words, *, family: bool) -> Iterator[Block]:
    """The staff's notes and those on the recording; a family reads that there are some."""
    technical: list[str] = []
    if sheet is not None:
        technical = [*(words.told(note) or "" for note in sheet.provenance.notes), *_flags(sheet, words)]
    if family:
        lines = [words.get("effort.technical_left_out", count=len(technical))] if technical else []
        lines.append(words.get("effort.typed_left_out"))
        yield Heading(words.get("effort.notes"))
        yield Listing(tuple(lines))
        return
    if trial.notes.strip():
        yield Heading(words.get("effort.staff_notes"))
        yield from (Paragraph(part.strip()) for part in trial.notes.split("\n\n") if part.strip())
    if technical:
        yield Heading(words.get("effort.recording_notes"))
        yield Listing(tuple(each for each in technical if each))


def _flags(sheet: EffortSheet, words: Words) -> Iterator[str]:
    """How many samples each rule set aside."""
    for stream, rules in sheet.flags.items():
        for rule, count in rules.items():
            told = {"stream": f"stream.{stream}", "rule": f"rule_name.{rule}", "meaning": f"rule_finds.{rule}"}
            yield words.get("effort.flagged", count=count, **{name: words.get(key) for name, key in told.items()})


def _footer(sheet: EffortSheet | None, words: Words, *, family: bool) -> tuple[str, ...]:
    """Files with their hashes, rounding, sources, what made it."""
    lines = []
    if sheet is not None and sheet.provenance.files:
        named = [
            words.get("effort.file", name=each.path, format=each.format, hash=each.sha256)
            for each in sheet.provenance.files
        ]
        lines += [] if family else [words.get("effort.files", files="; ".join(named))]
        lines.append(words.get("effort.work_is"))
    lines.append(words.get("effort.rounding_family" if family else "effort.rounding"))
    if sheet is not None and not family:
        given = [figure.source for figure in sheet.figures.values() if figure.value is not None]
        if given:
            lines.append(words.get("effort.sources", sources="; ".join(dict.fromkeys(given))))
    if sheet is not None:
        lines.append(words.get("form.made_by", version=sheet.provenance.ownmark))
    return tuple(lines)
