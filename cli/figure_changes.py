"""A figure that changed, in a line: its title, and its value before and after as the sheet writes them."""

from typing import TYPE_CHECKING

from ..words.vocabulary import FIGURES

if TYPE_CHECKING:
    from ..records.recompute import FigureChange
    from ..reports.words import Words


def said(change: "FigureChange", *, colon: str = "") -> str:
    """The title of a figure, and what it was and is now; a value that is not given says so.

    colon : what stands behind the title
    """
    from ..reports.sheets.figure_text import label
    from ..reports.words import Words

    words = Words("en")
    before, after = (_value(change.name, each, words) for each in (change.before, change.after))
    if before == after:  # its bounds or its unit are other ones
        return f"{label(change.name, words)}{colon} {after}, with other bounds"
    return f"{label(change.name, words)}{colon} {before} → {after}"


def _value(name: str, value: float | None, words: "Words") -> str:
    from ..reports.sheets.figure_text import amount

    if value is None:
        return "not given"
    return amount(name, value, FIGURES[name].unit, words) if name in FIGURES else f"{value:.4g}"
