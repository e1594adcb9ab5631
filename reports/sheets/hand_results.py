"""Results that were entered by hand, as a table: a row for each measure, side and attempt, a column for each trial."""

from collections.abc import Sequence

from ...records.protocol import Protocol
from ...records.trial import Trial
from ..page import Table
from ..words import Words
from .figure_text import capital, label, unit_words
from .set_up_table import written


def hand_table(trials: Sequence[Trial], protocol: Protocol, words: Words, caption: str) -> Table | None:
    """The table, or None where nothing was entered. Values stand as they were entered."""
    found = {(one.name, one.side, one.attempt): None for trial in trials for one in trial.hand_results}
    if not found:
        return None
    rows = []
    for name, side, attempt in sorted(found, key=lambda each: (each[0], each[1] or "", each[2])):
        measure = protocol.hand_measure(name)
        unit = measure.unit if measure else ""
        cells = [_cell(trial, (name, side, attempt), unit, words) for trial in trials]
        rows.append((row_label(name, side, attempt, words), *cells))
    heads = [words.get("effort.value")] if len(trials) == 1 else [words.date(trial.on, short=True) for trial in trials]
    return Table(caption, (words.get("effort.figure"), *heads), tuple(rows))


def row_label(name: str, side: str | None, attempt: int, words: Words) -> str:
    """Measure, side and attempt; a single attempt is not counted."""
    parts = [label(name, words)]
    if side:
        parts.append(words.get(f"value.{side}"))
    if attempt > 1:
        parts.append(words.get("effort.attempt", number=attempt).lower())
    return capital(", ".join(parts))


def _cell(trial: Trial, wanted: tuple[str, str | None, int], unit: str, words: Words) -> str:
    for one in trial.hand_results:
        if (one.name, one.side, one.attempt) == wanted:
            behind = unit_words(one.name, unit, words, family=False, one=one.value == 1)
            return f"{written(one.value, '', words)} {behind}".strip()
    return words.get("form.dash")
