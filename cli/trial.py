"""``ownmark trial``: one administration of a protocol, with its files and figures, in the logbook."""

import argparse
from datetime import date
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from ..errors import UsageError
from ..ingest.containers import printable
from ..words.render import english, english_date
from . import trial_mending
from .history import show_history
from .inputs import add_clock_shift, add_column_options, choices_from, number, shifts_from, whole_number
from .logbook import add_logbook_option, opened
from .parts import add_parts, many
from .protocol import fields_of
from .terminal import complain, say, say_json

if TYPE_CHECKING:
    from ..records.adding import Kept
    from ..records.protocol import Protocol
    from ..records.store.logbook import Logbook
    from ..records.trial import Trial

EXAMPLE = "ownmark trial add TH-11 slalom-gym strap.fit frame.csv --work 06:00-18:00"
_TEXTS = ("date", "time", "rest_phase", "work", "recovery", "floor", "zone", "note", "exertion", "scale")
_MORE = ("battery_start", "battery_end", "assistance", "distance", "margin")


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the sub-commands."""
    parts = add_parts(parser)
    add = parts.add_parser("add", help="measure a trial and keep it with its files")
    add.add_argument("code", metavar="CODE", help="the student")
    add.add_argument("protocol", metavar="PROTOCOL", help="a protocol of the logbook")
    add.add_argument("files", nargs="*", metavar="FILE", help="its recordings; none for results entered by hand")
    _add_facts(add)
    add.add_argument(
        "--again", action="store_true", help="make another trial from files that are already in the logbook"
    )
    show = parts.add_parser("show", help="a trial with its sheet")
    show.add_argument("number", type=whole_number, metavar="N", help="the trial's number, from trial list")
    show.add_argument(
        "--history", action="store_true", help="what was changed of it, when and why; of a removed one too"
    )
    show.add_argument("--json", action="store_true", help="print JSON instead of text")
    mended = trial_mending.add_arguments(parts, _add_facts)
    listed = parts.add_parser("list", help="trials, by day")
    listed.add_argument("code", nargs="?", metavar="CODE", help="only this student")
    listed.add_argument("--protocol", metavar="NAME", help="only this protocol")
    listed.add_argument("--json", action="store_true", help="print JSON instead of text")
    for part in (add, show, listed, *mended):
        add_logbook_option(part)


def _add_facts(add: argparse.ArgumentParser) -> None:
    """What is written down of a trial."""
    when = add.add_argument_group("when", "Times are MM:SS or HH:MM:SS from the start, or a clock time as @HH:MM:SS.")
    when.add_argument("--date", metavar="YYYY-MM-DD", help="day of the trial (that of the recording, else today)")
    when.add_argument("--time", metavar="HH:MM", help="time of day")
    when.add_argument("--rest-phase", metavar="A-B", help="when in the recording the student rested")
    when.add_argument("--work", metavar="A-B", help="the work phase; without it the whole recording is work")
    when.add_argument("--recovery", metavar="A-B", help="the recovery phase")
    when.add_argument("--floor", metavar="A-B", help="when the chair stood still with its power on")
    when.add_argument(
        "--assisted", action="append", default=[], metavar="A-B", help="when someone else moved the student"
    )
    when.add_argument(
        "--margin", metavar="S", help="seconds of the recording kept before the first phase and after the last (120)"
    )
    when.add_argument(
        "--confirm",
        action="append",
        default=[],
        metavar="ANSWER",
        help="answer to a question that was asked, as in yes",
    )
    add_column_options(when)
    when.add_argument(
        "--offset", action="append", default=[], metavar="FILE=S", help="a file starts S s into the trial"
    )
    add_clock_shift(when)
    what = add.add_argument_group("what happened")
    what.add_argument("--note", metavar="TEXT", help="anything else; no name")
    what.add_argument("--distance", metavar="M", help="meters covered at work")
    what.add_argument("--exertion", metavar="N", help="perceived exertion")
    what.add_argument("--scale", metavar="SCALE", help="its scale: 6-20, 0-10 or “pictures 0-10”")
    what.add_argument("--battery-start", metavar="PERCENT", help="charge of the chair's battery at the start")
    what.add_argument("--battery-end", metavar="PERCENT", help="and at the end")
    what.add_argument("--assistance", metavar="LEVEL", help="highest assistance given, independent to full physical")
    what.add_argument(
        "--stop", action="append", default=[], metavar="“MM:SS WHY”", help="a stop; can be given several times"
    )
    what.add_argument(
        "--result",
        action="append",
        default=[],
        metavar="NAME=VALUE",
        help="entered by hand, as in leans=12, “forward_reach left=31; 31.5” for two attempts to the left, or "
        "“forward_reach left 2=31.5” for the second; can be given several times",
    )
    what.add_argument("--set", action="append", default=[], metavar="FIELD=VALUE", dest="fields", help="any other fact")
    what.add_argument("--practice", action="store_true", help="a practice trial: it never counts as a baseline")


def run(args: argparse.Namespace) -> int:
    """Do what the sub-command says."""
    return {"add": _add, "show": _show, "list": _list, **trial_mending.PARTS}[args.part](args)


def _add(args: argparse.Namespace) -> int:
    from ..records.adding import settled

    with opened(args) as logbook:
        kept = settled(logbook, partial(_kept, args))
        page = printed(logbook, kept.trial)
    for each in kept.refused:
        complain(f"Left out: {each.reason}")
    if kept.remark:
        complain(english(kept.remark))
    for told in kept.unseen:
        complain(english(told))
    say(f"Trial {kept.trial.id} of {kept.trial.code} on {english_date(kept.trial.on)} is in the logbook.\n")
    say(page)
    return 1 if kept.refused else 0


def _kept(args: argparse.Namespace, logbook: "Logbook") -> "Kept":
    """The trial, with what the logbook holds."""
    from ..records.adding import keep
    from ..records.store.second_look import look
    from ..records.store.settings import zone_of

    seen = look(logbook, args.code, args.protocol)
    protocol = logbook.protocol(args.protocol)
    logbook.student(args.code)
    zone = zone_of(logbook) if args.files and args.zone is None else args.zone
    trial = _trial(argparse.Namespace(**{**vars(args), "zone": zone}), protocol)
    return keep(logbook, trial, [Path(each) for each in args.files], again=args.again, rests_on=seen)


def _trial(args: argparse.Namespace, protocol: "Protocol") -> "Trial":
    """The trial out of the options."""
    from ..ingest.recording import Hints
    from ..records.entry import results_of, trial_of
    from ..records.intake import recorded_day

    texts = typed(args) | {"code": args.code, "stops": ";".join(args.stop), "assisted": ";".join(args.assisted)}
    texts |= {"confirm": ";".join(args.confirm)}
    texts |= fields_of(args.fields)
    names = [printable(Path(each).name) for each in args.files]
    columns, shifts = choices_from(args, names), shifts_from(args, names)
    if "date" not in texts:
        hints = Hints(columns.columns, args.rate, by_file=columns.by_file)
        found = recorded_day([Path(each) for each in args.files], hints, args.zone, shifts)
        texts |= {"date": found.isoformat()} if found else {}
    return trial_of(
        texts,
        protocol,
        today=date.today(),  # noqa: DTZ011 the person's own day is meant
        columns=columns.columns,
        file_columns=columns.by_file,
        rate_hz=args.rate,
        offsets=_offsets(args),
        clock_shifts=shifts,
        practice=args.practice,
        hand_results=[one for each in args.result for one in results_of(each, protocol)],
    )


def typed(args: argparse.Namespace) -> dict[str, str]:
    """What was given of the options that take a text, by the option's name."""
    return {name: str(getattr(args, name)) for name in (*_TEXTS, *_MORE) if getattr(args, name) is not None}


def _offsets(args: argparse.Namespace) -> dict[str, float]:
    """Offsets by the bare name under which a file is kept."""
    found = {}
    for pair in args.offset:
        path, equals, seconds = pair.rpartition("=")
        if not equals or path not in args.files:
            raise UsageError(f"--offset {pair} names none of the files.", mend="Write --offset wrist.csv=12.5.")
        try:
            found[printable(Path(path).name)] = number(seconds)
        except argparse.ArgumentTypeError as mistake:
            raise UsageError(f"--offset {pair}: {mistake}.", mend="Write --offset wrist.csv=12.5.") from None
    return found


def _show(args: argparse.Namespace) -> int:
    if args.history:
        return show_history(args, "trial", args.number)
    with opened(args) as logbook:
        trial = logbook.trial(args.number)
        page = "" if args.json else printed(logbook, trial)
    if args.json:
        say_json(trial.model_dump(mode="json", by_alias=True))
    else:
        say(page)
    return 0


def _list(args: argparse.Namespace) -> int:
    with opened(args) as logbook:
        code = logbook.student(args.code).code if args.code else None
        if args.protocol:
            logbook.protocol(args.protocol)
        rows = []
        for each in logbook.trials(code, args.protocol, with_sheets=False):
            if args.json:
                rows.append(each.model_dump(mode="json", exclude={"sheet"}))
            else:
                practice = ", practice" if each.practice else ""
                rows.append(
                    f"{each.id:>6}  {english_date(each.on, short=True)}  {each.code:<12} {each.protocol} "
                    f"version {each.protocol_version}, {many(len(each.files), 'file')}{practice}"
                )
    if args.json:
        say_json(rows)
    else:
        say("\n".join(rows) or "No trial is in the logbook yet.")
    return 0


def printed(logbook: "Logbook", trial: "Trial") -> str:
    """A trial for a person: its sheet, and what is kept of it."""
    from ..reports.render.text import to_text
    from ..reports.sheets.trial_record import trial_record
    from .option_commands import terminal_words

    protocol = logbook.protocol(trial.protocol, trial.protocol_version)
    words = terminal_words("en", trial.code, trial.protocol, trial.id)
    return to_text(trial_record(trial, logbook.student(trial.code), protocol, words))
