"""The change sheet: the verdict in a sentence, what was set up differently, the numbers behind it, then the figures."""

from collections.abc import Iterator, Sequence

from ...metrics.figure import Figure
from ...records.change.messages import REMARK_CHOSEN_AFTER
from ...records.change.sentence import say
from ...records.change.shapes import Comparison, TrialShown
from ...records.change.shown_numbers import shown_change, shown_gap, shown_sides
from ...records.protocol import Protocol
from ...words.message import Message
from ...words.vocabulary import GROUPS, MOTION_FIGURES, ON_CHAIR
from ..page import Block, Heading, Listing, Note, Page, Paragraph, Picture, Table
from ..words import Words
from .cautions import cautions_of
from .figure_text import bounds_text, capital, label, note_text, plain_units, unit_words, value_text
from .hand_results import row_label
from .set_up_table import protocol_title
from .set_up_words import difference_label, follows
from .verdict_words import amount_text, verdict_sentence, verdict_title

NOTED = ("recovery_60s", "time_above_ceiling")
"""Figures that mislead without their note."""
_WIDTHS = (44.0, 28.0, 28.0)


def change_sheet(
    found: Comparison,
    protocol: Protocol,
    words: Words,
    *,
    pair: Picture | None = None,
    sides: Picture | None = None,
    family: bool = False,
) -> Page:
    """The page of a comparison.

    Parameters
    ----------
    protocol : for its title
    pair, sides : pictures of the two trials over each other, and of left and right
    family : plain units, and without the technical notes
    """
    words = Words(words.language, family=family, terminal=words.terminal, commands=words.commands)
    blocks: list[Block] = [
        Heading(words.get("change.verdict")),
        Note("verdict", verdict_title(found, words), verdict_sentence(found, words)),
        Heading(words.get("change.set_up")),
        *_set_up(found, words),
        *_behind(found, words, family=family),
        *_sides(found, words, family=family),
        *_beside(found.beside, found.notes, words, family=family),
    ]
    for heading, picture in (("change.picture", pair), ("change.picture_sides", sides)):
        if picture is not None:
            blocks += [Heading(words.get(heading)), picture]
    blocks += _figures(found, words, family=family)
    blocks += _by_hand(found, words)
    blocks += [] if family else _of_staff(found, words)
    blocks += _notes(found, words, family=family)
    blocks += cautions_of(found.cautions, (), words)
    before, after = (words.listed([words.date_of(day) for day in _days(each)]) for each in _both(found))
    return Page(
        title=words.get("change.title", code=found.code),
        language=words.language,
        subtitle=words.get("change.subtitle", protocol=protocol_title(protocol, words), before=before, after=after),
        blocks=tuple(blocks),
        footer=(words.get("change.own"), words.get("effort.rounding_family" if family else "change.rounding")),
        running=words.get("change.running", code=found.code),
        sheet_of=words.get("form.sheet_of", number="{number}", total="{total}"),
    )


def _beside(found: Comparison | None, known: Sequence[Message], words: Words, *, family: bool) -> Iterator[Block]:
    """Another figure's verdict, which was not the one chosen before: that is said first."""
    if found is None:
        return
    yield Heading(words.get("change.beside", figure=label(found.primary_figure, words)))
    yield Note("attention", words.get("change.beside_title"), words.message(REMARK_CHOSEN_AFTER))
    yield Note("verdict", verdict_title(found, words), verdict_sentence(found, words))
    yield from _behind(found, words, family=family)
    yield from _sides(found, words, family=family)
    told = (words.told(note) for note in found.notes if note not in (REMARK_CHOSEN_AFTER, *known))
    lines = tuple(plain_units(each, words, family=family) for each in told if each)
    if lines:
        yield Listing(lines)


def _both(found: Comparison) -> tuple[Sequence[TrialShown], Sequence[TrialShown]]:
    return found.baselines, found.retests


def _days(trials: Sequence[TrialShown]) -> list[str]:
    return list(dict.fromkeys(each.on for each in trials))


def _set_up(found: Comparison, words: Words) -> Iterator[Block]:
    if not found.differences:
        yield Paragraph(words.get("change.set_up_none"))
        return
    head = tuple(words.get(f"change.{each}") for each in ("what", "baseline", "retest", "counts"))
    rows = tuple(
        (
            capital(difference_label(each, words)),
            words.message(each.before),
            words.message(each.after),
            follows(each, words),
        )
        for each in found.differences
    )
    yield Table(words.get("change.set_up"), head, rows)


def _behind(found: Comparison, words: Words, *, family: bool) -> Iterator[Block]:
    """The numbers that the verdict rests on."""
    before, after = found.baseline_value, found.retest_value
    if before is None or after is None or found.sides:
        return
    rows: list[tuple[str, str]] = []
    shown = shown_change(before, after, found.detectable_change)

    def add(key: str, value: float | None, places: int | None = shown.places, **values: str) -> None:
        if value is not None:
            told = amount_text(value, found, words, places=places)
            rows.append((words.get(f"change.{key}", **values), told))

    percent = words.decimal(f"{found.percent:g}")
    for key, value, trials in (
        ("baseline", found.baseline_value, found.counted(found.baselines)),
        ("retest", found.retest_value, found.counted(found.retests)),
    ):
        add(f"{key}_mean" if len(_days(trials)) > 1 else f"{key}_value", value)
    add("change", shown.difference)
    if found.change_low != found.change_high or found.change_low is None:
        rows.append(
            (
                words.get("change.change_between"),
                _range(found.change_low, found.change_high, found, words, family=family),
            )
        )
    add("detectable", found.detectable_change, percent=percent)
    if found.interval_low is not None and found.interval_high is not None and not family:
        between = _range(found.interval_low, found.interval_high, found, words, family=family)
        rows.append((words.get("change.interval", percent=percent), between))
    add("typical_error", None if family else found.typical_error, None)
    if not family and found.repeats is not None:
        rows.append((words.get("change.error_from"), words.message(found.repeats)))
    if found.chance_of_a_change_that_matters is not None and not family:
        rows.append((words.get("change.matters"), f"{words.number(100 * found.chance_of_a_change_that_matters)} %"))
    title = f"{words.get('change.behind')}: {label(found.primary_figure, words)}"
    yield Heading(title)
    yield Table(
        title,
        (words.get("change.number"), words.get("effort.value")),
        tuple((capital(plain_units(name, words, family=family)), value) for name, value in rows),
    )


def _range(low: float | None, high: float | None, found: Comparison, words: Words, *, family: bool) -> str:
    """Two ends; an open one in words."""
    ends = [words.get("change.any_number") if end is None else words.decimal(say(end)) for end in (low, high)]
    unit = unit_words(found.primary_figure, found.unit, words, family=family)
    return f"{words.get('form.range', low=ends[0], high=ends[1])} {unit}".strip()


def _sides(found: Comparison, words: Words, *, family: bool) -> Iterator[Block]:
    """Left and right, each with its own change, then how far apart they are."""
    if not found.sides and not found.side_gaps:
        return
    head = [capital(words.get(f"change.{key}")) for key in ("side", "baseline", "retest", "change")]
    rows = [
        (
            capital(words.get(f"value.{side}")),
            *(amount_text(value, found, words, places=shown.places) for value in shown.three()),
        )
        for side, shown in shown_sides(found.sides).items()
    ]
    for gap in found.side_gaps:
        name = words.get("change.gap")
        unit = unit_words(gap.figure, found.unit, words, family=family) if gap.figure == found.primary_figure else ""
        named = name if gap.figure == found.primary_figure else f"{label(gap.figure, words)}, {name}"
        shown = shown_gap(gap, found.sides)
        cells = (words.decimal(say(value, places=shown.places)) for value in shown.three())
        rows.append((capital(named), *(f"{cell} {unit}".strip() for cell in cells)))
    yield Heading(words.get("change.sides"))
    yield Table(words.get("change.sides"), tuple(head), tuple(rows))


def _figures(found: Comparison, words: Words, *, family: bool) -> Iterator[Block]:
    """Every figure that a trial has, the last baseline beside the last re-test."""
    first, last = found.baselines[-1], found.retests[-1]
    order = ["coverage_heart_rate", *(name for _, names in GROUPS for name in names if name not in MOTION_FIGURES)]
    rows = _rows(order, first, last, words, family=family)
    moved = _rows(MOTION_FIGURES, first, last, words, family=family)
    of_chair = any(trial.placement in ON_CHAIR for trial in (first, last))
    if not of_chair:
        rows, moved = rows + moved, []
    if not rows and not moved:
        return
    yield Heading(words.get("change.figures"))
    yield Paragraph(words.get("change.figures_text"), "small")
    head = tuple(
        f"{words.get(f'change.{key}')}, {words.date_of(trial.on, short=True)}" for key, trial in _named(first, last)
    )
    if rows:
        yield Table(words.get("change.figures"), (words.get("effort.figure"), *head), tuple(rows), shares=_WIDTHS)
    if moved:
        title = words.get("effort.group_chair")
        yield Heading(title, 3)
        yield Table(title, (words.get("effort.figure"), *head), tuple(moved), shares=_WIDTHS)
    notes = [text for name in NOTED if (text := _noted(name, first, last, words, family=family))]
    yield from (Paragraph(text, "small") for text in notes)


def _rows(
    names: Sequence[str], first: TrialShown, last: TrialShown, words: Words, *, family: bool
) -> list[tuple[str, ...]]:
    """A row for each figure that one of the two has, with its bounds where they say more than the value."""
    rows = []
    for name in names:
        pair = [trial.figures.get(name) for trial in (first, last)]
        if all(each is None or each.value is None for each in pair):
            continue
        rows.append((capital(label(name, words)), *(_cell(name, each, words, family=family) for each in pair)))
    return rows


def _cell(name: str, figure: Figure | None, words: Words, *, family: bool) -> str:
    if figure is None:
        return words.get("form.dash")
    between = bounds_text(name, figure, words, family=family)
    value = value_text(name, figure, words, family=family)
    return f"{value} ({between})" if between else value


def _noted(name: str, first: TrialShown, last: TrialShown, words: Words, *, family: bool) -> str:
    """What must be read beside a figure, of each trial."""
    notes = {}
    for key, trial in _named(first, last):
        figure = trial.figures.get(name)
        if figure is not None and figure.value is not None:
            notes[key] = note_text(name, figure, words, family=family)
    given = [(words.get(f"change.{key}"), note) for key, note in notes.items() if note]
    told = [words.get("change.note_of", which=which, note=note) for which, note in given]
    if len(set(notes.values())) == 1:
        told = [note for note in notes.values() if note][:1]
    return words.get("change.of_each", label=capital(label(name, words)), notes="; ".join(told)) if told else ""


def _named(first: TrialShown, last: TrialShown) -> tuple[tuple[str, TrialShown], ...]:
    return ("baseline", first), ("retest", last)


def _by_hand(found: Comparison, words: Words) -> Iterator[Block]:
    """Results entered by hand, as entered."""
    first, last = found.baselines[-1], found.retests[-1]
    units = {(one.name, one.side, one.attempt): one.unit for trial in (first, last) for one in trial.hand_results}
    if not units:
        return
    rows = []
    for key in sorted(units, key=lambda each: (each[0], each[1] or "", each[2])):
        unit = unit_words(key[0], units[key], words, family=False)
        cells = []
        for trial in (first, last):
            values = [one.value for one in trial.hand_results if (one.name, one.side, one.attempt) == key]
            cells.append(f"{words.decimal(f'{values[0]:g}')} {unit}".strip() if values else words.get("form.dash"))
        rows.append((row_label(*key, words), *cells))
    head = tuple(
        f"{words.get(f'change.{name}')}, {words.date_of(trial.on, short=True)}" for name, trial in _named(first, last)
    )
    yield Heading(words.get("change.figures_hand"))
    yield Table(words.get("change.figures_hand"), (words.get("effort.figure"), *head), tuple(rows))


def _of_staff(found: Comparison, words: Words) -> Iterator[Block]:
    """What the staff wrote of each trial, by its day."""
    rows = [
        (words.get(f"change.{key}"), words.date_of(trial.on, short=True), " ".join(trial.staff_notes.split()))
        for key, trials in (("baseline", found.baselines), ("retest", found.retests))
        for trial in trials
        if trial.staff_notes.strip()
    ]
    if rows:
        title = words.get("effort.staff_notes")
        head = tuple(words.get(f"change.{key}") for key in ("which", "day", "note"))
        yield Heading(title)
        yield Table(title, head, tuple(rows), shares=(14, 18, 68))


def _notes(found: Comparison, words: Words, *, family: bool) -> Iterator[Block]:
    said = [words.told(note) for note in found.notes]
    lines = [plain_units(each, words, family=family) for each in said if each]
    if None in said:
        lines.append(words.get("effort.technical_left_out", count=said.count(None)))
    if words.language != "en":
        lines.append(words.get("effort.typed_left_out"))
    if lines:
        yield Heading(words.get("change.notes"))
        yield Listing(tuple(lines))
