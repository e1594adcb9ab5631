"""The effort sheet: what one trial measured, with what it rests on and what it does not tell.

``effort_sheet`` is of a trial in the logbook, ``effort_of_files`` of recordings that are in none: the same page, with
what is known of each.
"""

from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from ...words.vocabulary import COMMON, FIGURES, ZONE_FIGURES
from ..page import Block, Heading, Listing, Page, Paragraph, Picture, Table
from ..words import Words
from .basis_rows import basis_rows
from .cautions import cautions_of
from .effort_tables import below_tables, figure_tables
from .figure_text import capital, label, span, value_of, value_text
from .figures_not_given import not_given
from .most_useful import in_short, on_chair

if TYPE_CHECKING:
    from ...metrics.figure import EffortSheet, Figure
    from ...records.protocol import Protocol
    from ...records.student import Student
    from ...records.trial import Trial

MOST_GAPS = 3
FACT_SHARES = (31.0, 69.0)


class _Kept(NamedTuple):
    """What a logbook knows of a trial beside its sheet."""

    trial: "Trial"
    student: "Student"
    protocol: "Protocol"


def effort_sheet(
    trial: "Trial",
    student: "Student",
    protocol: "Protocol",
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
    kept = _Kept(trial, student, protocol)
    return Page(
        title=words.get("effort.title", code=trial.code),
        language=words.language,
        subtitle=_subtitle(trial, protocol, words),
        blocks=tuple(_blocks(trial.sheet, kept, words, _picture(picture, no_picture, trial, words), family=family)),
        footer=_footer(trial.sheet, words, kept=True, family=family),
        running=words.get("effort.running", code=trial.code, date=words.date(trial.on)),
        sheet_of=words.get("form.sheet_of", number="{number}", total="{total}"),
    )


def effort_of_files(sheet: "EffortSheet", words: Words) -> Page:
    """The page of recordings that are in no logbook; files are named by their bare names."""
    names = ", ".join(Path(each.path).name for each in sheet.provenance.files)
    start = sheet.provenance.start
    day = f" · {words.moment(datetime.fromisoformat(start), day_only=True)}" if start else ""
    return Page(
        title=words.get("effort.title_files"),
        language=words.language,
        subtitle=f"{names}{day}",
        blocks=tuple(_blocks(sheet, None, words, (), family=False)),
        footer=_footer(sheet, words, kept=False, family=False),
        running=words.get("effort.title_files"),
        sheet_of=words.get("form.sheet_of", number="{number}", total="{total}"),
    )


def _blocks(
    sheet: "EffortSheet | None", kept: _Kept | None, words: Words, picture: Sequence[Block], *, family: bool
) -> Iterator[Block]:
    """The answer, how it was done, every figure, what is not given, notes and cautions."""
    from_hand = _by_hand(kept, words)
    yield from in_short(
        sheet, _primary_rows(kept, words), words, primary=kept.protocol.primary_figure if kept else "", family=family
    )
    yield Paragraph(_lead(sheet, kept, words), "lead")
    if kept is not None and sheet is not None and not family:
        yield from _ceiling(sheet, kept, words)
    yield from _done(sheet, kept, words, family=family)
    yield from picture
    tables = [] if sheet is None else figure_tables(sheet, words, family=family)
    if tables or from_hand:
        yield Heading(words.get("effort.figures"))
        yield from tables
        if from_hand:
            yield Heading(words.get("effort.group_hand"), 3)
            yield from_hand
        yield from () if sheet is None else below_tables(sheet, tables, words, family=family)
    if kept is not None:
        from .limit_lines import at_limit

        yield from at_limit(kept.trial, kept.protocol, words)
    figures: Mapping[str, Figure] = {} if sheet is None else sheet.figures
    reasons = not_given(figures, words, family=family)
    if reasons:
        yield Heading(words.get("effort.not_given"))
        yield Listing(reasons)
    yield from _notes("" if kept is None else kept.trial.notes, sheet, words, family=family)
    yield from cautions_of(
        () if sheet is None else sheet.cautions, () if kept is None else kept.protocol.cautions, words
    )


def _ceiling(sheet: "EffortSheet", kept: _Kept, words: Words) -> Iterator[Block]:
    """What must not be overlooked where the sheet was worked out with another ceiling than today's."""
    used, now = sheet.provenance.ceiling_bpm, kept.student.as_of(kept.trial.on).ceiling
    if used is not None or now is not None:
        from .safety_sheet import ceiling_changed

        yield from ceiling_changed(used, now, words)


def _by_hand(kept: _Kept | None, words: Words) -> Table | None:
    if kept is None or not kept.trial.hand_results:
        return None
    from .hand_results import hand_table

    return hand_table((kept.trial,), kept.protocol, words, words.get("effort.group_hand"))


def _primary_rows(kept: _Kept | None, words: Words) -> list[tuple[str, str]]:
    """Label and value of the results of the protocol's primary measure, where that is entered by hand."""
    if kept is None or kept.protocol.primary_figure in FIGURES:
        return []
    own = [one for one in kept.trial.hand_results if one.name == kept.protocol.primary_figure]
    of_primary = kept.trial.model_copy(update={"hand_results": tuple(own)})
    table = _by_hand(_Kept(of_primary, kept.student, kept.protocol), words)
    return [] if table is None else [(row[0], row[1]) for row in table.rows]


def _done(sheet: "EffortSheet | None", kept: _Kept | None, words: Words, *, family: bool) -> Iterator[Block]:
    """How the trial was done, as a table."""
    if kept is not None:
        from .set_up_table import facts

        rows = facts(kept.trial, kept.student, kept.protocol, words, family=family)
    else:
        rows = () if sheet is None else tuple(_facts_of_files(sheet, words))
    title = words.get("effort.set_up")
    yield Heading(title)
    yield Table(title, (words.get("effort.fact"), words.get("effort.as_written")), rows, shares=FACT_SHARES)


def _facts_of_files(sheet: "EffortSheet", words: Words) -> Iterator[tuple[str, str]]:
    """What is known without a logbook: when the recording begins, phases, rest and maximum, conditions."""
    made = sheet.provenance
    rows = [(words.get("effort.start"), words.moment(datetime.fromisoformat(made.start)))] if made.start else []
    rows += basis_rows(sheet, words, family=False)
    if made.basis.conditions:
        named = "; ".join(words.get(f"condition.{each}") for each in made.basis.conditions)
        rows.append((words.get("field.conditions"), named))
    yield from ((capital(name), text) for name, text in rows)


def _subtitle(trial: "Trial", protocol: "Protocol", words: Words) -> str:
    from .set_up_table import protocol_title

    key = "effort.subtitle_practice" if trial.practice else "effort.subtitle"
    title = protocol_title(protocol, words)
    return words.get(key, protocol=title, date=words.date(trial.on), number=trial.id or words.get("form.dash"))


def _lead(sheet: "EffortSheet | None", kept: _Kept | None, words: Words) -> str:
    """How much was measured, where it was not, and what the figures are for."""
    own = words.get("effort.own_mark")
    if sheet is None:
        by_hand = kept is not None and kept.trial.hand_results
        return f"{words.get('effort.by_hand_only')} {own}" if by_hand else words.get("effort.nothing")
    made = sheet.provenance
    begin, end = made.phases.work
    covered = value_of(sheet.figures, "coverage_heart_rate")
    work = words.duration(end - begin)
    if covered is None:
        parts = [words.get("effort.no_heart_rate", work=work)]
    else:
        share = value_text("coverage_heart_rate", sheet.figures["coverage_heart_rate"], words)
        parts = [words.get("effort.measured", share=share, work=work), *_gaps(made.unmeasured, words)]
    if value_of(sheet.figures, "coverage_motion") is not None:
        key = "effort.measured_chair" if on_chair(sheet) else "effort.measured_movement"
        parts.append(words.get(key, share=value_text("coverage_motion", sheet.figures["coverage_motion"], words)))
    return " ".join([*parts, own])


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


def _picture(picture: Picture | None, why: str, trial: "Trial", words: Words) -> tuple[Block, ...]:
    if picture is not None:
        return Heading(words.get("effort.picture")), picture
    if why or (trial.sheet is None and trial.hand_results):
        return (Paragraph(words.get("effort.no_picture", why=why or words.get("effort.no_recording")), "small"),)
    return ()


def _notes(typed: str, sheet: "EffortSheet | None", words: Words, *, family: bool) -> Iterator[Block]:
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
    if typed.strip():
        yield Heading(words.get("effort.staff_notes"))
        yield from (Paragraph(part.strip()) for part in typed.split("\n\n") if part.strip())
    if technical:
        yield Heading(words.get("effort.recording_notes"))
        yield Listing(tuple(each for each in technical if each))


def _flags(sheet: "EffortSheet", words: Words) -> Iterator[str]:
    """How many samples each rule marked, and what the rule finds."""
    for stream, rules in sheet.flags.items():
        for rule, count in rules.items():
            told = {"stream": f"stream.{stream}", "rule": f"rule_name.{rule}", "meaning": f"rule_finds.{rule}"}
            yield words.get("effort.flagged", count=count, **{name: words.get(key) for name, key in told.items()})


def _footer(sheet: "EffortSheet | None", words: Words, *, kept: bool, family: bool) -> tuple[str, ...]:
    """Files with their hashes, rounding, sources, what made it."""
    lines = []
    if sheet is not None and sheet.provenance.files:
        named = [
            words.get("effort.file", name=Path(each.path).name, format=each.format, hash=each.sha256)
            for each in sheet.provenance.files
        ]
        lines += [] if family else [words.get("effort.files", files="; ".join(named))]
        lines.append(words.get("effort.work_is"))
    rounding = "effort.rounding_family" if family else "effort.rounding" if kept else "effort.rounding_files"
    lines.append(words.get(rounding))
    if sheet is not None:
        told = "" if family else sources(sheet.figures, words)
        lines += [words.get("effort.sources", sources=told)] if told else []
        lines.append(words.get("form.made_by" if kept else "effort.made_by", version=sheet.provenance.ownmark))
    return tuple(lines)


def _named(names: Sequence[str], words: Words) -> str:
    """Figures in words; those of all classes together."""
    zones = [words.get("effort.class_figures")] if set(ZONE_FIGURES) <= set(names) else []
    rest = [name for name in names if not zones or name not in ZONE_FIGURES]
    return words.listed([*zones, *(label(name, words) for name in rest)])


def sources(figures: "Mapping[str, Figure]", words: Words) -> str:
    """Where the formulas of the given figures come from, each source once with its figures; common practice last."""
    found: dict[str, list[str]] = {}
    for name, figure in figures.items():
        if figure.value is not None:
            found.setdefault(FIGURES[name].source_key if name in FIGURES else figure.source, []).append(name)
    common = found.pop(COMMON, [])
    told = [
        words.get(
            "effort.source_of",
            source=words.get(f"source.{key}") if words.known(f"source.{key}") else key,
            figures=_named(names, words),
        )
        for key, names in found.items()
    ]
    if common:
        which = words.get("effort.source_others") if told else words.get("effort.source_all")
        told.append(words.get("effort.source_of", source=words.get(f"source.{COMMON}"), figures=which))
    return "; ".join(told)
