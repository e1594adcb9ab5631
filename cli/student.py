"""``ownmark student``: the students of the logbook, by code and never by name."""

import argparse
from datetime import date
from typing import TYPE_CHECKING

from ..errors import UsageError
from .inputs import number
from .logbook import add_logbook_option, opened, shown
from .parts import add_parts, wrapped
from .terminal import say, say_json

if TYPE_CHECKING:
    from ..records.store.student_overview import KeptStudent
    from ..records.student import Student

EXAMPLE = "ownmark student add TH-11 --born 2014-03 --rest 78 --ceiling 150 --set-by therapist"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the sub-commands."""
    parts = add_parts(parser)
    add = parts.add_parser("add", help="a new student, by a code")
    add.add_argument("code", metavar="CODE", help="a code such as TH-11; never a name")
    _add_facts(add)
    show = parts.add_parser("show", help="what is kept of one student")
    show.add_argument("code", metavar="CODE", help="the student")
    show.add_argument("--json", action="store_true", help="print JSON instead of text")
    listed = parts.add_parser("list", help="every student")
    listed.add_argument("--json", action="store_true", help="print JSON instead of text")
    edit = parts.add_parser("edit", help="change or add facts; earlier rests, maxima and ceilings stay on record")
    edit.add_argument("code", metavar="CODE", help="the student")
    _add_facts(edit)
    edit.add_argument("--no-condition", action="append", default=[], metavar="NAME", help="take a condition away")
    for part in (add, show, listed, edit):
        add_logbook_option(part)


def _add_facts(part: argparse.ArgumentParser) -> None:
    """Options that say something of a student."""
    part.add_argument("--born", metavar="YYYY-MM", help="month of birth; the day is never kept")
    part.add_argument("--sex", choices=("female", "male"), help="needed for the training impulse only")
    part.add_argument(
        "--condition", action="append", default=[], metavar="NAME", help="can be given several times; see effort --help"
    )
    part.add_argument("--rest", type=number, metavar="BPM", help="resting heart rate that was measured")
    part.add_argument("--max", type=number, metavar="BPM", help="highest heart rate that was measured")
    part.add_argument(
        "--measured-on", metavar="YYYY-MM-DD", help="day of that rest or maximum; without it, it counts for every trial"
    )
    part.add_argument("--posture", metavar="TEXT", help="posture of the rest")
    part.add_argument("--exercise", metavar="TEXT", help="kind of exercise of the maximum, as in arms or power chair")
    part.add_argument("--ceiling", type=number, metavar="BPM", help="upper limit of heart rate from the plan")
    part.add_argument("--set-by", metavar="ROLE", help="who set the ceiling: a role, as in therapist")
    part.add_argument("--set-on", metavar="YYYY-MM-DD", help="when it was set; without it, it counts for every trial")
    part.add_argument("--note", metavar="TEXT", help="anything else; no name")


def run(args: argparse.Namespace) -> int:
    """Do what the sub-command says."""
    return {"add": _add, "show": _show, "list": _list, "edit": _edit}[args.part](args)


def _add(args: argparse.Namespace) -> int:
    from ..records.student import Student

    student = Student.model_validate({"code": args.code, **_facts(args, None)})
    with opened(args, create=True) as logbook:
        logbook.add_student(student)
    say(f"{student.code} is in the logbook.")
    return 0


def _edit(args: argparse.Namespace) -> int:
    from ..records.store.student_overview import kept_fields

    with opened(args) as logbook:
        before = logbook.student(args.code)
        changes = _facts(args, before)
        if not changes:
            raise UsageError(
                "nothing to change was given.", mend="`ownmark student edit --help` shows what can be changed."
            )
        after = logbook.edit_student(args.code, **changes)
    say("\n".join(_lines(kept_fields(after))))
    return 0


def _facts(args: argparse.Namespace, before: "Student | None") -> dict[str, object]:
    """Fields out of the options; what was measured or set is added to what is on record."""
    if (args.ceiling is None) != (args.set_by is None):
        raise UsageError("--ceiling and --set-by go together.", mend="Say which role set it: --set-by therapist.")
    if args.born is not None and args.born[:7] > f"{date.today():%Y-%m}":  # noqa: DTZ011 the person's own day
        raise UsageError(f"--born: {args.born} is in the future.", mend="Check the year.")
    measured = day(args.measured_on, "--measured-on") if args.measured_on else None
    stated = {"born": args.born, "sex": args.sex, "notes": args.note}
    facts: dict[str, object] = {name: value for name, value in stated.items() if value is not None}
    gone = set(getattr(args, "no_condition", []))
    if args.condition or gone:
        kept = [each for each in (before.conditions if before else ()) if each not in gone]
        facts["conditions"] = (*kept, *args.condition)
    if args.rest is not None:
        rest = {"bpm": args.rest, "on": measured, "posture": args.posture}
        facts["rests"] = (*(before.rests if before else ()), rest)
    if args.max is not None:
        highest = {"bpm": args.max, "on": measured, "exercise": args.exercise}
        facts["maxima"] = (*(before.maxima if before else ()), highest)
    if args.ceiling is not None:
        set_on = day(args.set_on, "--set-on") if args.set_on else None
        ceiling = {"bpm": args.ceiling, "set_by": args.set_by, "set_on": set_on}
        facts["ceilings"] = (*(before.ceilings if before else ()), ceiling)
    return facts


def day(text: str, option: str) -> date:
    """A day out of an option; none is in the future."""
    try:
        found = date.fromisoformat(text)
    except ValueError:
        raise UsageError(f"{option}: “{text}” is not a date.", mend="Write YYYY-MM-DD.") from None
    if found > date.today():  # noqa: DTZ011 the person's own day is meant
        raise UsageError(f"{option}: {text} is in the future.", mend="Check the year and the day.")
    return found


def _show(args: argparse.Namespace) -> int:
    student, trials = shown(args)
    if args.json:
        say_json({**student, "trials": [each.id for each in trials]})
        return 0
    lines = _lines(student)
    lines += ["", "Trials" if trials else "No trial yet."]
    lines += [f"  {each.id}: {each.on.isoformat()}, {each.protocol} version {each.protocol_version}" for each in trials]
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
            how = ", ".join(part for part in (each["on"], each["posture"], each["exercise"]) if part)
            lines.append(f"  {what:<12} {each['bpm']:g} /min{f' ({how})' if how else ''}")
    last = max(reversed(student["ceilings"]), key=lambda each: each["set_on"] or "", default=None)  # Student.ceiling
    for each in student["ceilings"]:
        when = f", {each['set_on']}" if each["set_on"] else ""
        counts = "" if each is last else ", no longer the one that counts"
        lines.append(f"  ceiling      {each['bpm']:g} /min (set by the {each['set_by']}{when}{counts})")
    if student["notes"]:
        lines += wrapped(f"  note         {student['notes']}", 15)
    return lines
