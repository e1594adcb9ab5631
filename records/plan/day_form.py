"""Who stands on the form of a day, and the same rows as a table that what was written by hand is typed into."""

import csv
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from io import StringIO
from typing import TYPE_CHECKING

from ...errors import NothingToCompare
from ...words.plain import cell_text
from ..student import check_code
from ..wearing import Worn
from .sources import Listed

if TYPE_CHECKING:
    from ..store.logbook import Logbook
    from ..store.student_overview import Outline

TYPED = ("code", "protocol", "strap", "from", "until", "start", "work", "notes")
"""Columns of the table to type into: those of a roster, a list of straps and a time table in one."""


@dataclass(frozen=True, slots=True)
class FormRow:
    """A student's line; empty where nobody has said yet."""

    code: str
    protocol: str = ""
    strap: str = ""


def form_rows(
    logbook: "Logbook",
    roster: Sequence[Listed] = (),
    worn: Sequence[Worn] = (),
    protocol: str | None = None,
    since: date | None = None,
) -> tuple[FormRow, ...]:
    """A line for each student: of the roster, else of the list of straps, else of the logbook.

    protocol : given to all; of the logbook, only students who were tested by it
    since : of the logbook, only students with a trial from that day on

    Raises
    ------
    NotACode
        If a table holds what is no code: a form that lies in a gym ties no name to a student.
    UnknownProtocol
        If the logbook has no such protocol.
    NothingToCompare
        If there is no student.
    """
    if protocol is not None:
        logbook.protocol(protocol)
    trials = logbook.outline()
    last = {each.code: each.protocol for each in trials}
    if roster:
        listed = {check_code(each.code): each.protocol for each in roster}
    elif worn:
        listed = dict.fromkeys(check_code(each.code) for each in worn if each.code)
    else:
        listed = dict.fromkeys(_tested(logbook, trials, protocol, since))
    rows = [FormRow(code, protocol or beside or last.get(code, "")) for code, beside in listed.items()]
    if not rows:
        raise NothingToCompare(
            "there is no student to put on the form.", mend="Name the class: --roster with a table code,protocol."
        )
    return tuple(line for row in rows for line in _with_straps(row, worn))


def _tested(logbook: "Logbook", trials: "Sequence[Outline]", protocol: str | None, since: date | None) -> Sequence[str]:
    """Codes of the logbook's students, by code: all, or those who were tested by a protocol or since a day."""
    everyone = sorted(each.code for each in logbook.students())
    if protocol is None and since is None:
        return everyone
    found = {each.code for each in trials if protocol in (None, each.protocol) and (since is None or each.on >= since)}
    return [code for code in everyone if code in found]


def _with_straps(row: FormRow, worn: Sequence[Worn]) -> tuple[FormRow, ...]:
    """A line for each strap of a student, in the list's order; one line where the list has none."""
    straps = dict.fromkeys(each.strap for each in worn if each.code == row.code and each.strap)
    return tuple(replace(row, strap=strap) for strap in straps) or (row,)


def typed_table(rows: Sequence[FormRow]) -> bytes:
    """The rows as CSV, with empty cells for what is written by hand; spreadsheets open it."""
    text = StringIO(newline="")
    writer = csv.writer(text)
    writer.writerow(TYPED)
    writer.writerows([*map(cell_text, (row.code, row.protocol, row.strap)), "", "", "", "", ""] for row in rows)
    return b"\xef\xbb\xbf" + text.getvalue().encode("utf-8", "surrogateescape")
