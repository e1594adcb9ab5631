"""What the figures of a sheet rest on, as rows of label and text: its phases, rest and maximum."""

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..words import Words
from .figure_text import plain_units, span, unit_words

if TYPE_CHECKING:
    from ...metrics.figure import EffortSheet, PhasesUsed

Row = tuple[str, str]


def basis_rows(sheet: "EffortSheet", words: Words, *, family: bool) -> Iterator[Row]:
    """Phases with how they were decided, then rest and maximum with where they come from."""
    yield words.get("field.phases"), _phases(sheet.provenance.phases, words)
    if sheet.provenance.span is not None:
        yield words.get("field.looked_at"), words.get("effort.looked_at", span=span(*sheet.provenance.span, words))
    basis = sheet.provenance.basis
    rates = (
        ("rest", basis.rest_bpm, basis.rest_from, None),
        ("maximum", basis.maximum_bpm, basis.maximum_from, basis.maximum_see_bpm),
    )
    for which, bpm, found, error in rates:
        if bpm is None:
            continue
        unit = unit_words("", "/min", words, family=family)
        value = f"{words.number(bpm, 1)} {unit}"
        how = plain_units((found and words.told(found)) or "", words, family=family)
        key = "effort.with_error" if error is not None else "effort.with_how"
        told = words.get(key, value=value, how=how, error=f"{words.shortest(error)} {unit}" if error else "")
        yield words.get(f"field.{which}_bpm"), told if how else value


def _phases(phases: "PhasesUsed", words: Words) -> str:
    spans = (("rest", phases.rest), ("work", phases.work), ("recovery", phases.recovery))
    told = "; ".join(
        words.get(f"effort.phase_{name}", span=span(*each, words)) for name, each in spans if each is not None
    )
    how = words.told(phases.decided)
    return words.get("effort.with_how", value=told, how=how) if how else told
