"""Pages straight out of the logbook, each with its file's name: the terminal writes them, the local page shows them.

A name that the terminal gives holds the student's code, what the page is, and a day or a protocol. The page gives one
without the code: a browser keeps it in its history.
"""

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from ...errors import NothingToCompare
from ...records.change.messages import NO_PAIR_NO_TRIAL
from ..page import Page
from ..words import Words

if TYPE_CHECKING:
    from ...records.change.shapes import Comparison
    from ...records.protocol import Protocol
    from ...records.safety import Safety
    from ...records.store.logbook import Logbook
    from ...records.trial import Trial


@dataclass(frozen=True, slots=True)
class Printed:
    """A page, and what its file is called.

    about : what the page is, a day or a protocol, without the student's code
    code : the student's; empty where the page is of no one student
    """

    page: Page
    about: str
    code: str = ""

    @property
    def stem(self) -> str:
        """The name of its file without the end."""
        return f"{self.code}-{self.about}" if self.code else self.about

    def nameless(self, student: str = "") -> str:
        """The name without the code, with what stands for the student, and the language where that is not English."""
        return "-".join(
            each for each in (self.about, student, "" if self.page.language == "en" else self.page.language) if each
        )


def _trial_about(kind: str, trial: "Trial") -> str:
    """What a trial's page is: its kind, day, number."""
    return f"{kind}-{trial.on.isoformat()}-trial-{trial.id}"


def _copy(kind: str, words: Words, *, family: bool) -> str:
    """A family's copy is named so; one in another language always is a family's."""
    return f"{kind}-family" if family and words.language == "en" else kind


def effort_printed(
    logbook: "Logbook", trial: "Trial", words: Words, *, family: bool, drawn: bool = True, phone: bool = True
) -> Printed:
    """The effort sheet of a trial. ``drawn``: with its picture, for which the recordings are read once more."""
    from .effort_sheet import effort_sheet
    from .pictures_of import trial_drawn

    student = logbook.student(trial.code)
    protocol = logbook.protocol(trial.protocol, trial.protocol_version)
    if not drawn:
        page = effort_sheet(trial, student, protocol, words, family=family)
    else:
        picture, why = trial_drawn(logbook, trial, student, protocol, words, phone=phone)
        page = effort_sheet(trial, student, protocol, words, picture=picture, no_picture=why, family=family)
    return Printed(page, _trial_about(_copy("effort", words, family=family), trial), trial.code)


def change_printed(
    logbook: "Logbook", found: "Comparison", words: Words, *, family: bool, drawn: bool = True, phone: bool = True
) -> Printed:
    """The change sheet of a comparison. ``drawn``: with its pictures."""
    from .change_sheet import change_sheet
    from .pictures_of import pair_drawn

    first = found.baselines[0]
    protocol = logbook.protocol(first.protocol, first.protocol_version)
    pair, sides = pair_drawn(logbook, found, words, phone=phone) if drawn else (None, None)
    page = change_sheet(found, protocol, words, pair=pair, sides=sides, family=family)
    kind = _copy("change", words, family=family)
    return Printed(page, f"{kind}-{found.protocol}-{found.retests[-1].on}", found.code)


def safety_printed(
    logbook: "Logbook", found: "Safety", words: Words, *, drawn: bool = True, phone: bool = True
) -> Printed:
    """The safety sheet of a trial. ``drawn``: with its picture.

    Without it the sentence at its top and its tables say what the picture shows: to draw it, every recording is read
    and measured again, which takes as long as all the rest.
    """
    from .pictures_of import trial_drawn
    from .safety_sheet import safety_sheet

    trial = found.trial
    protocol = logbook.protocol(trial.protocol, trial.protocol_version)
    picture = None
    if drawn:
        picture, _ = trial_drawn(logbook, trial, found.student, protocol, words, phone=phone, low=True)
    return Printed(safety_sheet(found, protocol, words, picture=picture), _trial_about("safety", trial), trial.code)


def card_printed(logbook: "Logbook", code: str, protocol_name: str | None, words: Words) -> Printed:
    """The set-up card of a student and protocol; before the first trial it shows the plan.

    Raises
    ------
    NothingToCompare
        If there is no trial and no protocol was named.
    """
    from ...records.checklist import checklist
    from ...records.judging import one_protocol
    from .set_up_card import set_up_card

    student = logbook.student(code)
    try:
        last = one_protocol(logbook, student.code, protocol_name)[-1]
    except NothingToCompare:
        if not protocol_name:
            raise NothingToCompare(
                f"{student.code} has no trial in the logbook, so a card shows the plan alone.",
                mend="Say which protocol's: --protocol NAME.",
            ) from None
        last = None
    newest = logbook.protocol(last.protocol if last else protocol_name or "")
    protocol = logbook.protocol(last.protocol, last.protocol_version) if last else newest
    page = set_up_card(
        student.code,
        checklist(protocol, last),
        protocol,
        words,
        last_on=last.on if last else None,
        newest=newest.version,
        student=student,
    )
    return Printed(page, f"card-{protocol.name}", student.code)


def plan_printed(protocol: "Protocol", words: Words) -> Printed:
    """The set-up card of a protocol alone."""
    from ...records.checklist import checklist
    from .set_up_card import set_up_card

    return Printed(set_up_card(None, checklist(protocol, None), protocol, words), f"card-{protocol.name}")


def caseload_printed(logbook: "Logbook", since: date | None, until: date | None, words: Words) -> Printed:
    """The caseload of some days; without them, of the four weeks up to the last test.

    Raises
    ------
    NothingToCompare
        If no trial is in the logbook.
    """
    from ...records.caseload import caseload_of, days_asked
    from .caseload_page import caseload_page

    days = days_asked(logbook, since, until)
    if days is None:
        raise NothingToCompare(NO_PAIR_NO_TRIAL)
    found = caseload_of(logbook, *days)
    page = caseload_page(found.lines, found.since, found.until, words, found.untested)
    return Printed(page, f"caseload-{found.since}-{found.until}")


def district_printed(
    logbook: "Logbook", words: Words, protocol: str | None, *, since: date | None = None, until: date | None = None
) -> Printed:
    """The coordinator's table."""
    from .district_table import district_table
    from .many_students import all_students, district_rows

    rows = district_rows(logbook, protocol, since=since, until=until)
    page = district_table(rows, words, since=since, until=until, students=all_students(logbook, protocol))
    return Printed(page, f"district-{protocol}" if protocol else "district")


def class_printed(logbook: "Logbook", on: date, words: Words) -> Printed:
    """The page of a class's day."""
    from .class_page import class_page
    from .many_students import class_lines

    return Printed(class_page(class_lines(logbook, on, None), on, words), f"class-{on.isoformat()}")
