"""``ownmark effort``: the figures of one trial."""

import argparse
import re
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

from ..errors import BasisError, UsageError
from ..ingest.clock_times import resolve_span, uses_clock, wall_of
from ..ingest.messages import unread_file
from ..metrics.conditions import CONDITIONS
from ..metrics.maximum import EQUATIONS
from ..metrics.messages.trial import taken_today, taken_utc
from ..words.render import LANGUAGES, english, english_date
from ..words.vocabulary import PLACEMENTS, PULSE_SENSORS
from .inputs import add_clock_shift, add_input_options, hints_from, number, read_all, shifts_from
from .terminal import complain, say, say_json

if TYPE_CHECKING:
    from ..ingest.recording import Hints, Recording
    from ..metrics import Asked, Basis, EffortSheet, Phases
    from ..words.message import Message

EXAMPLE = "ownmark effort strap.fit --rest 72 --max 188 --work 06:00-18:00"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the options."""
    add_input_options(parser)
    _add_student(parser)
    _add_trial(parser)
    _add_movement(parser)
    parser.add_argument("--lang", choices=LANGUAGES, default="en", help="the language of the sheet: en, es (en)")


def _add_student(parser: argparse.ArgumentParser) -> None:
    """Options about the student."""
    group = parser.add_argument_group("the student")
    rest = group.add_mutually_exclusive_group()
    rest.add_argument("--rest", type=number, metavar="BPM", help="resting heart rate")
    rest.add_argument("--rest-phase", metavar="A-B", help="when in the recording the student rested")
    group.add_argument("--max", type=number, metavar="BPM", help="maximum measured in the same kind of exercise")
    group.add_argument("--born", metavar="YYYY-MM", help="month of birth, to predict a maximum where that is valid")
    group.add_argument("--equation", metavar="NAME", help=f"one of {', '.join(EQUATIONS)}")
    group.add_argument(
        "--condition",
        action="append",
        default=[],
        metavar="NAME",
        help=f"can be given several times; {', '.join(CONDITIONS)}",
    )
    group.add_argument("--arms-only", action="store_true", help="only the arms work")
    group.add_argument("--power-chair", action="store_true", help="a motor moves the student")
    group.add_argument("--gait-trainer", action="store_true", help="a gait trainer or harness carries the body")
    group.add_argument("--sex", choices=("female", "male"), help="needed for the training impulse only")
    group.add_argument("--date", metavar="YYYY-MM-DD", help="day of the trial, if no file gives it")


def _add_trial(parser: argparse.ArgumentParser) -> None:
    """Options about the trial."""
    group = parser.add_argument_group(
        "the trial", "Times are MM:SS or HH:MM:SS from the start, or a clock time as @HH:MM:SS."
    )
    group.add_argument("--work", metavar="A-B", help="the work phase; without it the whole recording is work")
    group.add_argument("--recovery", metavar="A-B", help="the recovery phase")
    group.add_argument("--laps", metavar="NAMES", help="name the laps, as in rest,work,recovery; - leaves one out")
    group.add_argument(
        "--margin", type=number, metavar="S", help="seconds looked at before the first phase and after the last (120)"
    )
    group.add_argument("--distance", type=number, metavar="M", help="meters covered at work")
    group.add_argument(
        "--target",
        metavar="LOW-HIGH",
        help="target band: 40-60%% is of reserve, 110-130bpm is beats; bare numbers up to 100 are read as %%",
    )
    group.add_argument("--dip", type=number, metavar="S", help="seconds outside the band that do not break a stay (5)")
    group.add_argument(
        "--offset", action="append", default=[], metavar="FILE=S", help="a file starts S s into the trial"
    )
    add_clock_shift(group)
    group.add_argument("--ceiling", type=number, metavar="BPM", help="the therapist's upper limit")
    group.add_argument(
        "--hold", type=number, metavar="S", help="seconds that a value may stand for where the next is missing"
    )
    group.add_argument(
        "--zones-by",
        choices=("reserve", "maximum"),
        default="reserve",
        help="classes of effort by %% of the reserve or of the maximum (reserve)",
    )
    group.add_argument(
        "--pulse-from",
        choices=("heart_rate", "rr_interval"),
        default="heart_rate",
        help="which stream to use where a file holds both (heart_rate)",
    )


def _add_movement(parser: argparse.ArgumentParser) -> None:
    """Options about a movement sensor."""
    group = parser.add_argument_group("a movement sensor")
    group.add_argument("--placement", choices=PLACEMENTS, help="where it was")
    group.add_argument(
        "--floor", metavar="A-B|FILE", help="when, or in which file, the chair stood still with its power on"
    )
    group.add_argument(
        "--assisted", action="append", default=[], metavar="A-B", help="when someone else moved the student"
    )
    group.add_argument("--pause", type=number, metavar="S", help="seconds of pause that do not break a movement (1)")
    group.add_argument(
        "--pulse-sensor",
        choices=PULSE_SENSORS,
        help="what measured heart rate; an optical sensor can follow the movement",
    )


def run(args: argparse.Namespace) -> int:
    """Read the files, work out the sheet, print it."""
    hints = hints_from(args)
    offsets = offsets_from(args)
    shifts = shifts_from(args, args.files)
    recordings, refused = read_all(args.files, hints)
    if not recordings:
        return 1
    if shifts:
        from ..ingest.clock_shift import shift_of, shifted

        recordings = [shifted(each, shift_of(each.sources[0].path, shifts)) for each in recordings]
    sheet = sheet_from(
        args, recordings, hints, offsets, [unread_file(each.reason.code, str(each.reason)) for each in refused]
    )
    if args.json:
        say_json(sheet.to_json())
    else:
        from ..reports.render.text import to_text
        from ..reports.sheets.effort_sheet import effort_of_files
        from ..reports.words import Words

        say(to_text(effort_of_files(sheet, Words(args.lang, terminal=True))))
    return 1 if refused or sheet.provenance.refused else 0


def sheet_from(
    args: argparse.Namespace,
    recordings: "list[Recording]",
    hints: "Hints",
    offsets: dict[str, float],
    notes: "list[Message]",
) -> "EffortSheet":
    """One sheet out of the recordings of one trial and the options."""
    from ..ingest.combine import combine
    from ..ingest.files import finished
    from ..metrics import align, effort
    from ..metrics.phases import MARGIN_S

    aligned = align(recordings, offsets)
    whole = combine(recordings, offsets, aligned)
    try:
        phases = phases_from(args, whole, hints)
        asked = asked_from(args, whole, hints)
        others = [*asked.assisted, *([asked.floor_span] if asked.floor_span else [])]
        span = phases.span(others, MARGIN_S if args.margin is None else max(args.margin, 0.0))
        recording = _assumed_day(args, finished(recordings, offsets, aligned, span)).with_notes(notes)
        basis = basis_from(args, recording)
        recording = recording.with_notes(_assumed_zone(args, recording, hints))
    except BasisError as contradiction:
        raise UsageError(contradiction.what, mend=contradiction.mend) from contradiction
    sheet = effort(recording, basis, phases, asked)
    _tell_unseen(sheet, whole, args.zone)
    return sheet


def _tell_unseen(sheet: "EffortSheet", whole: "Recording", zone: str | None) -> None:
    """Say what of the phases the recording did not see."""
    used = sheet.provenance.phases
    spans = [span for span in (used.rest, used.work, used.recovery) if span is not None]
    if all(whole.first_s <= span[0] and span[1] <= whole.last_s for span in spans):
        return  # what tells of it costs every other command its import
    from ..records.guards import unseen

    for each in unseen(sheet, whole, zone):
        complain(english(each))


def basis_from(args: argparse.Namespace, recording: "Recording") -> "Basis":
    """Rest and maximum from the options."""
    from ..metrics import choose_basis

    return choose_basis(
        rest_bpm=args.rest,
        measured_max_bpm=args.max,
        age_years=_age(args, day_of(args, recording)),
        equation=args.equation,
        conditions=args.condition,
        arms_only=args.arms_only,
        power_chair=args.power_chair,
        walking=not args.gait_trainer,
        sex=args.sex,
    )


def day_of(args: argparse.Namespace, recording: "Recording") -> date:
    """Day of the trial: as given, as the recording states it, else today."""
    if args.date is not None:
        try:
            return date.fromisoformat(args.date)
        except ValueError:
            raise UsageError(f"“{args.date}” is not a date.", mend="Write --date YYYY-MM-DD.") from None
    return recording.start.date() if recording.start is not None else datetime.now().astimezone().date()


def _age(args: argparse.Namespace, day: date) -> float | None:
    """Age at the trial in years, from two months."""
    if args.born is None:
        return None
    found = re.fullmatch(r"(\d{4})-(\d{1,2})", args.born)
    if found is None or not 1 <= int(found[2]) <= 12:
        raise UsageError(f"“{args.born}” is not a month of birth.", mend="Write --born YYYY-MM, as in 2012-04.")
    years = (day.year - int(found[1])) + (day.month - int(found[2])) / 12
    if not 0 < years < 120:
        raise UsageError(f"born {args.born} and tested {english_date(day)} gives no age.", mend="Check both dates.")
    return years


def _assumed_day(args: argparse.Namespace, recording: "Recording") -> "Recording":
    """Say so where the age rests on today's date."""
    if args.born is None or args.date is not None or recording.start is not None:
        return recording
    return recording.with_notes([taken_today(day_of(args, recording))])


def _assumed_zone(args: argparse.Namespace, recording: "Recording", hints: "Hints") -> "list[Message]":
    """Say so where a clock time was taken in the file's own UTC, which is seldom the wall clock of a school."""
    spans = [text for text in (args.work, args.recovery, args.rest_phase) if text]
    clock = any(uses_clock(text, recording) for text in spans)
    start = recording.start
    if not clock or hints.zone is not None or start is None or start.utcoffset() != timedelta(0):
        return []
    return [taken_utc(f"{start:%H:%M:%S}")]


def phases_from(args: argparse.Namespace, recording: "Recording", hints: "Hints") -> "Phases":
    """Phases from the options or the laps."""
    from ..metrics import Phases, from_laps

    if args.laps is not None:
        if args.work or args.recovery or args.rest_phase:
            raise UsageError("--laps and times for phases cannot be mixed.", mend="Use one of them.")
        return from_laps(recording.marks, [name.strip() for name in args.laps.split(",")])
    spans = {
        name: resolve_span(text, recording, hints.zone) if text else None
        for name, text in (("rest", args.rest_phase), ("work", args.work), ("recovery", args.recovery))
    }
    return Phases(spans["rest"], spans["work"], spans["recovery"], wall=wall_of(recording, hints.zone))


def asked_from(args: argparse.Namespace, recording: "Recording", hints: "Hints") -> "Asked":
    """What else was stated."""
    from ..metrics import Asked, Band

    floor = _floor(args, recording, hints)
    optional = {"dip_s": args.dip, "pause_s": args.pause}
    return Asked(
        distance_m=args.distance,
        target=Band.of(args.target) if args.target else None,
        ceiling_bpm=args.ceiling,
        hold_s=args.hold,
        zones_by=args.zones_by,
        pulse_from=args.pulse_from,
        placement=args.placement,
        floor_mg=floor if isinstance(floor, float) else None,
        floor_span=floor if isinstance(floor, tuple) else None,
        assisted=tuple(resolve_span(text, recording, hints.zone) for text in args.assisted),
        pulse_sensor=args.pulse_sensor,
        **{name: value for name, value in optional.items() if value is not None},
    )


def _floor(args: argparse.Namespace, recording: "Recording", hints: "Hints") -> tuple[float, float] | float | None:
    """The chair's own level: a stretch of the recording, or the level of a file of its own [mg]."""
    if args.floor is None:
        return None
    if args.placement is None:
        raise UsageError("--floor needs to know where the sensor was.", mend="Add --placement.")
    if not Path(args.floor).exists():
        return resolve_span(args.floor, recording, hints.zone)
    from ..ingest.files import finished
    from ..metrics.motion_figures import level_of

    recordings, _ = read_all([args.floor], hints)
    level = level_of(finished(recordings), args.placement) if recordings else None
    if level is None:
        raise UsageError(
            f"{args.floor} holds no movement to set the floor with.", mend="Give a stretch, as in 00:00-01:00."
        )
    return level


def offsets_from(args: argparse.Namespace) -> dict[str, float]:
    """Seconds by which files are laid into the trial."""
    found = {}
    for pair in args.offset:
        path, equals, seconds = pair.rpartition("=")
        if not equals or path not in args.files:
            raise UsageError(f"--offset {pair} names none of the files.", mend="Write --offset wrist.csv=12.5.")
        try:
            found[path] = number(seconds)
        except argparse.ArgumentTypeError as mistake:
            raise UsageError(f"--offset {pair}: {mistake}.", mend="Write --offset wrist.csv=12.5.") from None
    return found
