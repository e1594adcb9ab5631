"""Every column of the exported tables, explained once; CSV, XLSX, Parquet and JSON take name and unit from here.

Figures come from the vocabulary: a column each for the value and for the bounds that unmeasured stretches allow.
"""

from dataclasses import dataclass
from functools import lru_cache
from typing import Literal, TypeAlias

from ...metrics.messages.movement import NOTE_CHAIR
from ...words.render import english
from ...words.vocabulary import FIGURES, digits

Kind: TypeAlias = Literal["text", "integer", "number", "date", "yes or no"]

_TYPED = "as written down"


@dataclass(frozen=True, slots=True)
class Column:
    """One column. ``unit``: as in the vocabulary, "1" for a plain number, empty where there is none."""

    name: str
    kind: Kind
    meaning: str
    unit: str = ""
    source: str = ""

    @property
    def header(self) -> str:
        """The name with its unit, for tables that carry no other explanation."""
        return f"{self.name} [{self.unit}]" if self.unit else self.name

    @property
    def decimals(self) -> int:
        """Decimal places that a spreadsheet shows, one more than a page; the cell holds every digit."""
        return digits(self.name.removesuffix("_low").removesuffix("_high"), self.unit) + 1


def figure_columns() -> tuple[Column, ...]:
    """Three columns for each figure of the vocabulary: its value, and the least and greatest it could be."""
    found = []
    for name, entry in FIGURES.items():
        gravity = "; mg: thousandths of standard gravity" if entry.unit == "mg" else ""
        empty = "; empty: not given, and figures_not_given says why"
        found += [
            Column(name, "number", f"{entry.meaning}{gravity}{empty}", entry.unit, entry.source),
            Column(f"{name}_low", "number", f"{name}: the recorder would not be below this without a loss", entry.unit),
            Column(
                f"{name}_high", "number", f"{name}: the recorder would not be above this without a loss", entry.unit
            ),
        ]
    return tuple(found)


ABOUT = (
    Column("trial", "integer", "number of the trial in the logbook"),
    Column("code", "text", "the student's code; the list of names is kept elsewhere"),
    Column("protocol", "text", "protocol by which the trial was done"),
    Column("protocol_version", "integer", "version of it; versions are never changed"),
    Column("protocol_title", "text", "its title"),
    Column("component", "text", "aerobic, strength, trunk or flexibility"),
    Column("date", "date", "day of the trial"),
    Column("time_of_day", "text", "HH:MM, on the school's clock"),
    Column("practice", "yes or no", "yes: a practice trial, which never counts as baseline"),
    Column("primary_figure", "text", "the figure or hand measure that the protocol is judged by"),
    Column("better", "text", "which way of it is better, as the protocol states it"),
    Column("assistance_given", "text", f"highest assistance given, {_TYPED}"),
    Column("assistance_usual", "text", f"usual assistance given, {_TYPED}"),
    Column("prompts", "number", f"prompts, {_TYPED}", "/min"),
    Column("exertion", "number", "perceived exertion; read it with its scale"),
    Column("exertion_scale", "text", "scale of the perceived exertion"),
    Column("distance", "number", f"distance covered, {_TYPED}", "m"),
    Column("temperature", "number", f"room temperature, {_TYPED}", "°C"),
    Column("stops", "text", "when the student stopped and why, with ; between them"),
    Column("notes", "text", "notes of the staff, as they were typed"),
    Column("at_limit", "text", "figures and hand measures at the most that the test can show, with , between them"),
)
"""What is known of a trial. What was typed of health and medicines, and who ran the test, stay in the logbook: no
report needs them."""

BASIS = (
    Column("work_time", "number", "length of the work phase that the figures are of", "s"),
    Column("rest", "number", "resting heart rate behind the figures", "/min"),
    Column("rest_how", "text", "where that rest comes from"),
    Column("maximum", "number", "highest heart rate behind the figures", "/min"),
    Column("maximum_how", "text", "measured, or by which equation it is predicted"),
    Column("maximum_error", "number", "standard error of estimate of a predicted maximum", "/min"),
    Column("zones_by", "text", "whether the classes of effort are by reserve or by maximum"),
    Column("movement_sensor", "text", f"where it was; frame: the movement figures show {english(NOTE_CHAIR)}"),
    Column("computed_by", "text", "version of ownmark that worked the figures out"),
    Column("cautions", "text", "cautions that go with these figures, beside the general ones"),
    Column("figures_not_given", "text", "each reason with the figures that it concerns"),
    Column("figure_notes", "text", "notes of the figures that are given"),
)

CHANGE = (
    Column("comparable", "yes or no", "no: something that must match did not, so no change is scored"),
    Column("verdict", "text", "the primary figure's change against day-to-day variation, own baseline to re-test"),
    Column("baseline_value", "number", "primary figure at baseline, in change_unit"),
    Column("retest_value", "number", "primary figure at the re-test, in change_unit"),
    Column("change", "number", "re-test minus baseline, in change_unit"),
    Column("change_low", "number", "least change that unmeasured stretches allow, in change_unit"),
    Column("change_high", "number", "greatest change that unmeasured stretches allow, in change_unit"),
    Column(
        "detectable_change",
        "number",
        "what day-to-day variation alone explains (95 %; borrowed from others 98 %), in change_unit",
    ),
    Column("change_unit", "text", "unit of the primary figure"),
    Column("not_compared", "text", "why there is no comparison"),
    Column("for_the_better", "yes or no", "a change beyond variation, by the direction that the protocol states"),
    Column("days_between", "integer", "days from the last baseline to the first re-test"),
)
"""Filled on the last trial of each student and protocol, if the comparison was asked for."""

HAND = (
    Column("trial", "integer", "number of the trial, as in the table of trials"),
    Column("code", "text", "the student's code"),
    Column("protocol", "text", "protocol by which the trial was done"),
    Column("protocol_version", "integer", "version of it"),
    Column("date", "date", "day of the trial"),
    Column("practice", "yes or no", "yes: a practice trial"),
    Column("measure", "text", "the hand measure, by its name in the protocol"),
    Column("side", "text", "left or right; empty where the measure has no sides"),
    Column("attempt", "integer", "which attempt, from 1"),
    Column("value", "number", "the result as it was entered; its unit stands beside it"),
    Column("unit", "text", "unit of the result, as the protocol states it"),
)
"""The second table: one attempt at a hand measure a row."""


@lru_cache
def trial_columns(change: bool = False) -> tuple[Column, ...]:
    """The columns of the table of trials, in their order. ``change``: with those of the comparison."""
    return (*ABOUT, *BASIS, *(CHANGE if change else ()), *figure_columns())


EXPLAINED = ("table", "column", "unit", "kind", "meaning", "source")
"""The header of the table that explains the columns."""


def explained(change: bool = False) -> tuple[tuple[str, ...], ...]:
    """A row for every column of both tables: table, header, unit, kind, meaning, source of the formula."""
    tables = (("trials", trial_columns(change)), ("hand results", HAND))
    return tuple(
        (table, each.name, each.unit, each.kind, each.meaning, each.source)
        for table, columns in tables
        for each in columns
    )
