"""``ownmark protocol find``: tests that a student can do, changed as little as possible."""

import argparse
from typing import TYPE_CHECKING

from ..errors import UsageError
from ..records.abilities import MOVEMENTS, NEEDS, SENSES
from .abilities import add_ability_options, can_given, needs_given
from .logbook import add_logbook_option, opened
from .pages import Form, add_page_options, forms_of, words_of, write_out
from .terminal import say_json

if TYPE_CHECKING:
    from collections.abc import Collection, Sequence

    from ..records.catalogue.choosing import Asked, Found
    from ..records.store.logbook import Logbook
    from ..records.student import Student

COMPONENTS = ("aerobic", "strength", "trunk", "flexibility")


def add_find_arguments(part: argparse.ArgumentParser) -> None:
    """Declare the options."""
    add_ability_options(part)
    part.add_argument("--component", choices=COMPONENTS, help="only tests of this component")
    part.add_argument(
        "--student", metavar="CODE", help="take what is kept of this student, with the conditions' cautions"
    )
    part.add_argument("--json", action="store_true", help="print JSON instead of text")
    add_page_options(part, language=True, text=True)
    add_logbook_option(part)


def run_find(args: argparse.Namespace) -> int:
    """Print or write the tests that fit; without one, what to ask, and exit code 1."""
    from ..records.catalogue import entries, families
    from ..records.catalogue.choosing import find

    forms = forms_of(args, otherwise=() if args.json else ("text",))
    if args.student is None:
        student = None
        found = find(entries().values(), families(), _asked(args, None), args.component)
        _answer(args, found, student, forms)
    else:
        with opened(args) as logbook:
            student = logbook.student(args.student)
            found = find(entries().values(), families(), _asked(args, student), args.component)
            _answer(args, found, student, forms, logbook)
    return 0 if found.fits else 1


def _asked(args: argparse.Namespace, student: "Student | None") -> "Asked":
    """What is said in the options; what is not said there is as kept of the student."""
    from ..records.catalogue.choosing import Asked

    kept = student.answer if student else None
    known = kept is not None and (kept.can or kept.needs)
    if student is not None and not known and args.can is None and args.needs is None:
        raise UsageError(
            f"nothing is kept yet of what {student.code} can do.",
            mend=f"Keep it: ownmark student edit {student.code} --can arms,push-chair; or give --can here.",
        )
    can = can_given(args.can) if args.can is not None else kept.can if kept else ()
    needs = needs_given(args.needs) if args.needs is not None else kept.needs if kept else ()
    return Asked(frozenset(can), frozenset(needs))


def _answer(
    args: argparse.Namespace,
    found: "Found",
    student: "Student | None",
    forms: "Sequence[Form]",
    logbook: "Logbook | None" = None,
) -> None:
    """JSON, or the page in each form asked for."""
    from ..reports.sheets.find_page import find_page

    if args.json:
        say_json(as_json(found))
    if not forms:
        return
    words, _ = words_of(args)
    write_out(logbook, find_page(found, words, student), args, f"{student.code}-tests" if student else "tests", forms)


def as_json(found: "Found") -> dict[str, object]:
    """The answer as plain JSON values."""
    from ..words.render import english

    return {
        "can": _in_order(found.asked.can or (), (*MOVEMENTS, *SENSES)),
        "needs": _in_order(found.asked.needs, NEEDS),
        "fits": [
            {
                "name": each.entry.name,
                "title": each.entry.protocol.title,
                "component": each.entry.protocol.component,
                "family": each.family.name,
                "step": each.entry.step,
                "reasons": [english(why) for why in each.reasons],
                "messages": [why.with_text() for why in (*each.reasons, *each.to_find_out)],
                "find_out": [english(what) for what in each.to_find_out],
                "gives_up": each.entry.gives_up,
                "ask": list(each.entry.protocol.ask),
                "transfer": each.entry.transfer,
            }
            for each in found.fits
        ],
        "nearly": [{"fact": each.fact, "tests": [one.name for one in each.entries]} for each in found.nearly],
        "without_a_test": list(found.unfit_components),
    }


def _in_order(given: "Collection[str]", words: "Sequence[str]") -> list[str]:
    return [each for each in words if each in given]
