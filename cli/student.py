"""``ownmark student``: the students of the logbook, by code and never by name."""

import argparse
import sys
from datetime import date
from functools import partial
from typing import TYPE_CHECKING

from ..errors import UsageError
from ..words.render import english_date
from .abilities import add_ability_options, answers_given, nothing_given
from .figure_changes import said
from .history import show_history
from .inputs import NONE, add_confirm, number, number_or_none
from .logbook import add_logbook_option, opened, shown
from .parts import add_parts, many, wrapped
from .terminal import complain, say, say_json

if TYPE_CHECKING:
    from ..records.recompute import Recomputed
    from ..records.store.student_overview import KeptStudent
    from ..records.student import Student
    from ..records.student_mending import StudentMended

EXAMPLE = "ownmark student add TH-11 --born 2014-03 --rest 78 --ceiling 150 --set-by therapist"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the sub-commands."""
    parts = add_parts(parser)
    add = parts.add_parser("add", help="a new student, by a code")
    add.add_argument("code", metavar="CODE", help="a code such as TH-11; never a name")
    _add_facts(add)
    show = parts.add_parser("show", help="what is kept of one student")
    show.add_argument("code", metavar="CODE", help="the student")
    show.add_argument("--history", action="store_true", help="what was changed, when and why")
    show.add_argument("--json", action="store_true", help="print JSON instead of text")
    listed = parts.add_parser("list", help="every student")
    listed.add_argument("--json", action="store_true", help="print JSON instead of text")
    edit = parts.add_parser(
        "edit", help="change, add or withdraw facts; `none` takes one away, and the history keeps it"
    )
    edit.add_argument("code", metavar="CODE", help="the student")
    _add_facts(edit, edit=True)
    edit.add_argument(
        "--from",
        dest="since",
        metavar="YYYY-MM-DD",
        help="the day from which what is given counts; with `none`, only what was entered for that day or later goes",
    )
    edit.add_argument("--why", default="", metavar="TEXT", help="the reason, for the history; no name")
    edit.add_argument("--no-condition", action="append", default=[], metavar="NAME", help="take a condition away")
    for part in (add, show, listed, edit):
        add_logbook_option(part)


def _add_facts(part: argparse.ArgumentParser, *, edit: bool = False) -> None:
    """Options that say something of a student."""
    bpm = number_or_none if edit else number
    part.add_argument("--born", metavar="YYYY-MM", help="month of birth; the day is never kept")
    part.add_argument(
        "--sex", choices=("female", "male", *((NONE,) if edit else ())), help="needed for the training impulse only"
    )
    part.add_argument(
        "--condition", action="append", default=[], metavar="NAME", help="can be given several times; see effort --help"
    )
    part.add_argument("--rest", type=bpm, metavar="BPM", help="resting heart rate that was measured")
    part.add_argument("--max", type=bpm, metavar="BPM", help="highest heart rate that was measured")
    part.add_argument(
        "--measured-on", metavar="YYYY-MM-DD", help="day of that rest or maximum; without it, it counts for every trial"
    )
    part.add_argument("--posture", metavar="TEXT", help="posture of the rest")
    part.add_argument("--exercise", metavar="TEXT", help="kind of exercise of the maximum, as in arms or power chair")
    part.add_argument("--ceiling", type=bpm, metavar="BPM", help="upper limit of heart rate from the plan")
    part.add_argument("--set-by", metavar="ROLE", help="who set the ceiling: a role, as in therapist")
    part.add_argument("--set-on", metavar="YYYY-MM-DD", help="when it was set; without it, it counts for every trial")
    add_ability_options(part)
    part.add_argument("--note", metavar="TEXT", help="anything else; no name")
    add_confirm(part)


def run(args: argparse.Namespace) -> int:
    """Do what the sub-command says."""
    return {"add": _add, "show": _show, "list": _list, "edit": _edit}[args.part](args)


def _add(args: argparse.Namespace) -> int:
    from ..records.student import Student

    student = Student.model_validate({"code": args.code, **_facts(args, None)})
    _ask_texts(args)
    with opened(args, create=True) as logbook:
        logbook.add_student(student)
    say(f"{student.code} is in the logbook.")
    return 0


def _edit(args: argparse.Namespace) -> int:
    from tqdm import tqdm

    from ..records.store.student_overview import kept_fields
    from ..records.student_mending import edit_student

    with opened(args) as logbook, tqdm(unit="trial", disable=None, leave=False, delay=1, file=sys.stderr) as bar:

        def progress(done: int, of: int) -> None:
            bar.total = of
            bar.update(done - bar.n)

        if not _facts(args, logbook.student(args.code)):
            raise UsageError(
                "nothing to change was given.", mend="`ownmark student edit --help` shows what can be changed."
            )
        _ask_texts(args)
        mended = edit_student(logbook, args.code, partial(_facts, args), why=args.why, progress=progress)
    say("\n".join(_lines(kept_fields(mended.student))))
    if mended.trials:
        say(told(mended))
    for each in mended.trials:
        if each.refused is not None:
            complain(f"trial {each.trial_id} could not be worked out again: {each.refused}")
    return 1 if any(each.refused for each in mended.trials) else 0


def _ask_texts(args: argparse.Namespace) -> None:
    """Ask about what was written and may name somebody."""
    from ..records.text_guards import ask_of

    named = {"notes": args.note, "rest_posture": args.posture, "movement": args.exercise}
    named["history_why"] = getattr(args, "why", "")
    ask_of({name: text for name, text in named.items() if text}, args.confirm)


def told(mended: "StudentMended") -> str:
    """What became of the trials, in one line."""
    changed = [each for each in mended.trials if each.changed]
    numbers = ", ".join(f"trial {each.trial_id} ({_most(each)})" for each in changed)
    return f"{many(len(mended.trials), 'trial')} worked out again; changed: {numbers or 'none'}."


def _most(done: "Recomputed") -> str:
    """The figure of a trial that says most of what changed, and how many more did."""
    first = next((each for each in done.changed if each.name == "time_above_ceiling"), done.changed[0])
    more = f" and {len(done.changed) - 1} more" if len(done.changed) > 1 else ""
    return f"{said(first)}{more}"


def _facts(args: argparse.Namespace, before: "Student | None") -> dict[str, object]:
    """Fields out of the options; what was measured or set is added to what is on record, or takes it away."""
    if (args.ceiling not in (None, NONE)) != (args.set_by is not None):
        raise UsageError("--ceiling and --set-by go together.", mend="Say which role set it: --set-by therapist.")
    if args.born is not None and args.born[:7] > f"{date.today():%Y-%m}" and args.born != NONE:  # noqa: DTZ011 the person's own day
        raise UsageError(f"--born: {args.born} is in the future.", mend="Check the year.")
    from ..records.student import Ceiling, MeasuredRate
    from ..records.student_entries import with_entry, withdrawn

    since = day(args.since, "--from") if getattr(args, "since", None) else None
    measured = day(args.measured_on, "--measured-on") if args.measured_on else since
    set_on = day(args.set_on, "--set-on") if args.set_on else since
    stated = {"born": args.born, "sex": args.sex, "notes": args.note}
    facts: dict[str, object] = {name: value for name, value in stated.items() if value is not None}
    if before is not None:
        facts |= {name: "" if name == "notes" else None for name, value in facts.items() if value == NONE}
    facts |= _conditions(args, before)
    rests, maxima, ceilings = (before.rests, before.maxima, before.ceilings) if before else ((), (), ())
    if args.rest == NONE:
        facts["rests"] = withdrawn(rests, since)
    elif args.rest is not None:
        facts["rests"] = with_entry(rests, MeasuredRate(bpm=args.rest, on=measured, posture=args.posture))
    if args.max == NONE:
        facts["maxima"] = withdrawn(maxima, since)
    elif args.max is not None:
        facts["maxima"] = with_entry(maxima, MeasuredRate(bpm=args.max, on=measured, exercise=args.exercise))
    if args.ceiling == NONE:
        facts["ceilings"] = withdrawn(ceilings, since)
    elif args.ceiling is not None:
        facts["ceilings"] = with_entry(ceilings, Ceiling(bpm=args.ceiling, set_by=args.set_by, set_on=set_on))
    return facts | _answers(args, before, since)


def _answers(args: argparse.Namespace, before: "Student | None", since: date | None) -> dict[str, object]:
    """What is said of choosing a test; ``none`` for what the student can do takes it away."""
    if args.can is None and args.needs is None:
        return {}
    from ..records.student_entries import with_entry, withdrawn

    kept = before.answers if before else ()
    if before is not None and nothing_given(args.can):
        if args.needs is not None and not nothing_given(args.needs):
            raise UsageError(
                "--can none takes the answers away, and --needs gives some.",
                mend="Give --can with what the student can do, or --needs none.",
            )
        return {"answers": withdrawn(kept, since)}
    found = with_entry(kept, answers_given(args, before.answer if before else None, since))
    return {"answers": found if any(each.can or each.needs for each in found) else ()}


def _conditions(args: argparse.Namespace, before: "Student | None") -> dict[str, object]:
    """The conditions: those on record but for what is taken away, and what is added."""
    gone = set(getattr(args, "no_condition", []))
    if not args.condition and not gone:
        return {}
    if before is not None and args.condition == [NONE]:
        return {"conditions": ()}
    kept = [each for each in (before.conditions if before else ()) if each not in gone]
    return {"conditions": (*kept, *args.condition)}


def day(text: str, option: str) -> date:
    """A day out of an option; none is in the future."""
    from ..records.written_days import FIRST_DAY

    try:
        found = date.fromisoformat(text)
    except ValueError:
        raise UsageError(f"{option}: “{text}” is not a date.", mend="Write YYYY-MM-DD.") from None
    if found < FIRST_DAY:
        raise UsageError(f"{option}: the year {found.year} is too long ago.", mend="Check the year.")
    if found > date.today():  # noqa: DTZ011 the person's own day is meant
        raise UsageError(f"{option}: {text} is in the future.", mend="Check the year and the day.")
    return found


def _show(args: argparse.Namespace) -> int:
    if args.history:
        from ..records.student import check_code

        return show_history(args, "student", check_code(args.code))
    student, trials = shown(args)
    if args.json:
        say_json({**student, "trials": [each.id for each in trials]})
        return 0
    lines = _lines(student)
    lines += ["", "Trials" if trials else "No trial yet."]
    lines += [
        f"  {each.id}: {english_date(each.on, short=True)}, {each.protocol} version {each.protocol_version}"
        for each in trials
    ]
    say("\n".join(lines))
    return 0


def _list(args: argparse.Namespace) -> int:
    with opened(args) as logbook:
        students = logbook.students()
    if args.json:
        say_json([each.model_dump(mode="json") for each in students])
    else:
        say("\n".join(each.code for each in students) or "No student is in the logbook yet.")
    return 0


def _lines(student: "KeptStudent") -> list[str]:
    """What is kept, for a person."""
    lines = [student["code"]]
    if student["born"]:
        lines.append(f"  born         {student['born']}")
    if student["sex"]:
        lines.append(f"  sex          {student['sex']}")
    lines += [f"  condition    {each}" for each in student["conditions"]]
    for what, rates in (("rest", student["rests"]), ("maximum", student["maxima"])):
        for each in rates:
            how = ", ".join(part for part in (_day(each["on"]), each["posture"], each["exercise"]) if part)
            lines.append(f"  {what:<12} {each['bpm']:g} /min{f' ({how})' if how else ''}")
    last = max(reversed(student["ceilings"]), key=lambda each: each["set_on"] or "", default=None)  # Student.ceiling
    for each in student["ceilings"]:
        when = f", {_day(each['set_on'])}" if each["set_on"] else ""
        counts = "" if each is last else ", no longer the one that counts"
        lines.append(f"  ceiling      {each['bpm']:g} /min (set by the {each['set_by']}{when}{counts})")
    for each in student["answers"]:
        since = f" (from {_day(each['on'])})" if each["on"] else ""
        for label, given in (("can", each["can"]), ("needs", each["needs"])):
            if given:
                lines += wrapped(f"  {label:<12} {', '.join(given)}{since}", 15)
    if student["notes"]:
        lines += wrapped(f"  note         {student['notes']}", 15)
    return lines


def _day(text: str | None) -> str:
    """A kept day, as people write it."""
    return english_date(date.fromisoformat(text), short=True) if text else ""
