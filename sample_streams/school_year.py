"""A school year of the demo class, for the logbook: two baseline days in May and a re-test day in October.

``python -m ownmark.sample_streams.school_year`` writes the recordings, a class table for each day, and ``set-up.txt``
with the commands that put students and protocols into a logbook. Seeded: what they hold stays.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta, timezone
from pathlib import Path

import numpy as np

from . import FOLDER, writers
from .hearts import Effort, heart

SEED = 20261020
YEAR = FOLDER / "year"
DAYS = (date(2026, 5, 12), date(2026, 5, 19), date(2026, 10, 20))
_LOCAL = timezone(timedelta(hours=-6))

SET_UP = """\
student add TH-11 --born 2011-09 --condition muscular-dystrophy --rest 84 --posture "seated in the own chair" \
--ceiling 140 --set-by therapist
student add TH-12 --condition spina-bifida --sex female --rest 79 --max 176 --exercise arms
student add TH-13 --born 2009-11 --condition spinal-injury-t6-or-above --rest 66
student add TH-14 --born 2014-02 --condition cerebral-palsy --rest 92
student add TH-15 --born 2010-06 --condition rate-limiting-medicine --rest 61
student add TH-16 --born 2011-09 --condition down-syndrome --rest 81 --ceiling 165 --set-by "cardiology team"
student add TH-17 --born 2012-12
student add TH-18 --born 2013-03 --condition cerebral-palsy
student add TH-19 --born 2012-05 --condition spina-bifida
protocol copy power-chair-slalom slalom-small-gym
protocol edit slalom-small-gym --set gates=8 --set gate_spacing_m=2.5 --set "speed_setting=profile 2" \
--set assistance=independent --set "set_up=Eight cones in a line, 2.5 m apart. Battery charged, speed setting locked; \
one minute parked with the power on before the start."
protocol copy arm-crank-steady crank-55
protocol edit crank-55 --set cadence_target_per_min=55 --set "resistance=load mark 3" --set "device=table crank" \
--set assistance=independent --set duration_s=480 --set work_s=480 \
--set "task=Turn an arm crank at a set rhythm and one resistance for eight minutes."
protocol copy hand-cycle-distance yard-hand-cycle
protocol edit yard-hand-cycle --set duration_s=480 --set work_s=480 --set device=none \
--set "task=Ride the hand-cycle in one gear round the yard for eight minutes."
protocol copy gait-trainer-walk corridor-walk
protocol edit corridor-walk --set duration_s=480 --set work_s=480
protocol copy tethered-run track-with-guide
protocol edit track-with-guide --set duration_s=480 --set work_s=480
protocol copy seated-forward-reach reach-from-seat
protocol copy seated-band-press band-press
protocol edit band-press --set "resistance=band with two marks, 60 cm apart" --set assistance=independent
protocol copy lean-and-return lean-each-side
protocol edit lean-each-side --set assistance=independent --set "device=own chair, belt at the hips"
"""

WITH_MOVEMENT = """\
protocol copy arm-movement-sustained arm-circles
protocol edit arm-circles --set placement=wrist --set target=80-95bpm --set rest_s=180 --set work_s=480
student edit TH-15 --ceiling 87 --set-by physician --set-on 2026-05-04
trial add TH-15 arm-circles TH-15-arm-circles-packets.csv TH-15-wrist.csv.gz --rest-phase 00:00-03:00 \
--work 03:00-11:00 --recovery 11:00-13:00 --assistance independent --set medicines=beta-blocker --zone -06:00
recompute TH-15
"""
"""One more trial, of heart rate and movement, out of the recordings of the test day."""


@dataclass(frozen=True, slots=True)
class Sitting:
    """One student on one day: what is written in the row, and where the heart heads for at work [/min].

    strap : label of the strap worn; None for results entered by hand
    fault : "cut" ends the file in the middle, "loose" loses a stretch of the work
    """

    code: str
    protocol: str
    strap: str | None
    rest_bpm: float
    work_bpm: float
    facts: str = ""
    fault: str = ""


def _slalom(work_bpm: float, facts: str) -> Sitting:
    return Sitting("TH-11", "slalom-small-gym", "S1", 84, work_bpm, facts)


def _crank(code: str, strap: str, rest_bpm: float, work_bpm: float, medicines: str = "none") -> Sitting:
    facts = f"assistance=independent;medicines={medicines};temperature=21"
    return Sitting(code, "crank-55", strap, rest_bpm, work_bpm, facts)


def _press(code: str, left: int, right: int) -> Sitting:
    facts = f"assistance=independent;chest presses left={left};chest presses right={right}"
    return Sitting(code, "band-press", None, 0, 0, facts)


def _lean(code: str, left: int, right: int) -> Sitting:
    facts = f"assistance=independent;leans left={left};leans right={right}"
    return Sitting(code, "lean-each-side", None, 0, 0, facts)


PLAN: tuple[tuple[Sitting, ...], ...] = (
    (
        _slalom(108, "assistance=independent;medicines=none;battery_start=96;battery_end=90"),
        _crank("TH-12", "S2", 79, 131),
        _crank("TH-15", "S6", 61, 88, "beta-blocker"),
        _crank("TH-16", "S7", 81, 118),
        Sitting("TH-13", "yard-hand-cycle", "S3", 66, 94, "distance=640;device=hand-cycle with the small wheels"),
        Sitting("TH-14", "corridor-walk", "S4", 92, 132, "distance=168"),
        Sitting("TH-16", "track-with-guide", "S5", 81, 152, "distance=1150", "loose"),
        Sitting("TH-17", "reach-from-seat", None, 0, 0, "forward reach left=21.5;forward reach right=19"),
        _press("TH-18", 16, 8),
        _lean("TH-19", 10, 7),
        _press("TH-17", 18, 17),
        _press("TH-19", 12, 12),
    ),
    (
        _slalom(111, "assistance=independent;medicines=none;battery_start=92;battery_end=85"),
        _crank("TH-12", "S2", 79, 134),
        _crank("TH-15", "S6", 61, 87, "beta-blocker"),
        _crank("TH-16", "S7", 81, 121),
        Sitting("TH-13", "yard-hand-cycle", "S3", 66, 97, "distance=655;device=hand-cycle with the small wheels"),
        Sitting("TH-15", "slalom-small-gym", "S4", 61, 80, "", "cut"),
        Sitting("TH-17", "reach-from-seat", None, 0, 0, "forward reach left=22.5;forward reach right=18.5"),
        _press("TH-18", 17, 9),
        _lean("TH-19", 11, 7),
        _press("TH-17", 19, 18),
        _press("TH-19", 11, 13),
    ),
    (
        _slalom(109, "assistance=independent;medicines=none;battery_start=94;battery_end=88"),
        _crank("TH-12", "S2", 79, 117),
        _crank("TH-15", "S6", 61, 86, "beta-blocker"),
        _crank("TH-16", "S7", 81, 117),
        Sitting("TH-13", "yard-hand-cycle", "S3", 66, 98, "distance=790;device=hand-cycle with the large wheels"),
        Sitting("TH-16", "track-with-guide", "S5", 81, 149, "distance=1210"),
        Sitting("TH-17", "reach-from-seat", None, 0, 0, "forward reach left=27;forward reach right=19.5"),
        _press("TH-18", 17, 15),
        _lean("TH-19", 15, 8),
        _press("TH-17", 20, 19),
        _press("TH-19", 12, 13),
    ),
)
"""Who was tested on which day."""


def main(folder: Path = YEAR) -> None:
    """Write everything."""
    folder.mkdir(exist_ok=True)
    (folder / "set-up.txt").write_text(SET_UP, encoding="utf-8")
    for number, (day, sittings) in enumerate(zip(DAYS, PLAN, strict=True)):
        _day(folder, day, sittings, np.random.default_rng(SEED + number))


def _day(folder: Path, day: date, sittings: Sequence[Sitting], rng: np.random.Generator) -> None:
    """Recordings and class table of a day."""
    facts = [dict(part.split("=", 1) for part in each.facts.split(";") if part) for each in sittings]
    columns = list(dict.fromkeys(name for row in facts for name in row))
    lines = [",".join(["code", "protocol", "files", "date", "rest_phase", "work", "recovery", *columns])]
    for place, (each, row) in enumerate(zip(sittings, facts, strict=True)):
        name = ""
        if each.strap is not None:
            name = f"{day.isoformat()}-{each.strap}.fit"
            start = datetime(day.year, day.month, day.day, 9, 0, tzinfo=_LOCAL) + timedelta(minutes=25 * place)
            (folder / name).write_bytes(_recording(each, start, rng))
        phases = ["00:00-05:00", "05:00-13:00", "13:00-15:00"] if name else ["", "", ""]
        cells = [each.code, each.protocol, name, day.isoformat(), *phases, *(row.get(column, "") for column in columns)]
        lines.append(",".join(cells))
    (folder / f"{day.isoformat()}.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")


def _recording(each: Sitting, start: datetime, rng: np.random.Generator) -> bytes:
    """A strap's file: five minutes of rest, eight of work, two of recovery."""
    efforts = (Effort(300, each.rest_bpm), Effort(480, each.work_bpm), Effort(120, each.rest_bpm + 12))
    bpm = heart(efforts, each.rest_bpm, rng)
    if each.fault == "loose":
        bpm[430:520] = 0
    data = writers.fit(start, bpm, (300, 480, 120), -21_600)
    return data[:40] if each.fault == "cut" else data


if __name__ == "__main__":
    main()
