"""What became of a batch: table by table, and all together."""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field
from pathlib import Path

from ...errors import OwnmarkError, UnknownCode
from ...words.plain import printable
from ..address import Place
from ..row_outcome import Outcome
from .unused import Unused

STATES = ("added", "there already", "corrected", "to confirm", "refused")
Json = dict[str, object]


@dataclass(slots=True)
class TableReport:
    """What became of a table.

    rows : how many it has
    counts : those that were gone through by their state
    open_rows : those that need a person: refused, to confirm, with a file that was left out, or that say otherwise than
        what is kept
    refused : why the table was not read
    aside, copies : where its bad files were copied, and which they are
    not_aside : why they could not be
    """

    path: Place
    rows: int = 0
    counts: Counter[str] = field(default_factory=Counter)
    open_rows: list[Outcome] = field(default_factory=list)
    refused: OwnmarkError | None = None
    aside: Path | None = None
    copies: tuple[Path, ...] = ()
    not_aside: OwnmarkError | None = None

    def enter(self, outcome: Outcome) -> None:
        """A row's outcome; one that needs nobody is only counted."""
        self.counts[outcome.state] += 1
        if outcome.state in ("refused", "to confirm") or outcome.refused or outcome.otherwise or outcome.fault:
            self.open_rows.append(outcome)

    @property
    def unknown_students(self) -> tuple[str, ...]:
        """Codes of its rows that the logbook does not know, each once, in the order of the rows."""
        return unknown_students(self.open_rows)

    @property
    def clean(self) -> bool:
        """Whether nothing of it was refused or is to be confirmed."""
        bad = self.refused or self.not_aside or self.counts["refused"] or self.counts["to confirm"]
        return not bad and not any(each.refused or each.fault for each in self.open_rows)

    def as_json(self) -> Json:
        """Plain values, for a program."""
        return {
            "table": str(self.path),
            "all_rows": self.rows,
            **_counts(self.counts),
            "rows": [_row(each) for each in self.open_rows],
            "unknown_students": list(self.unknown_students),
            "refused_table": _refusal(self.refused),
            "aside": str(self.aside) if self.copies else None,
            "not_put_aside": _refusal(self.not_aside),
        }


@dataclass(slots=True)
class Report:
    """What became of a batch.

    seconds : how long it took
    unused : what lies in the folders and no table names; None where not all tables were gone through
    stopped : what ended it before its end; None where it came to its end
    by_hand : a person ended it
    """

    tables: list[TableReport] = field(default_factory=list)
    seconds: float = 0.0
    unused: tuple[Unused, ...] | None = None
    stopped: OwnmarkError | None = None
    by_hand: bool = False

    @property
    def counts(self) -> Counter[str]:
        """Rows by their state, of all tables."""
        return sum((each.counts for each in self.tables), Counter[str]())

    @property
    def clean(self) -> bool:
        """Whether all went in, or was there already."""
        return self.stopped is None and not self.by_hand and all(each.clean for each in self.tables)

    def as_json(self) -> Json:
        """Plain values, for a program."""
        return {
            **_counts(self.counts),
            "refused_tables": sum(each.refused is not None for each in self.tables),
            "seconds": round(self.seconds, 1),
            "stopped": "interrupted" if self.by_hand else None if self.stopped is None else self.stopped.code,
            "tables": [each.as_json() for each in self.tables],
            "unused": None if self.unused is None else [each.as_json() for each in self.unused],
        }


def unknown_students(outcomes: Iterable[Outcome]) -> tuple[str, ...]:
    """Codes of rows that were refused because the logbook does not know the student, each once."""
    found = (each.row.code.strip().upper() for each in outcomes if each.code == UnknownCode.code)
    return tuple(dict.fromkeys(found))


def _counts(counts: Counter[str]) -> Json:
    return {state.replace(" ", "_"): counts[state] for state in STATES}


def _row(outcome: Outcome) -> Json:
    answers: Iterable[str] = dict.fromkeys(each for question in outcome.questions for each in question.answers)
    return {
        "row": outcome.row.number,
        "student": outcome.row.code,
        "state": outcome.state.replace(" ", "_"),
        "code": outcome.code or None,
        "sentence": outcome.sentence,
        "answers": list(answers),
        "trial": outcome.number,
        "files": [
            {"file": printable(Path(each.path).name), "code": each.reason.code, "sentence": str(each.reason)}
            for each in outcome.refused
        ],
    }


def _refusal(reason: OwnmarkError | None) -> Json | None:
    return None if reason is None else {"code": reason.code, "sentence": str(reason)}
