"""A class day of the demo's school, as a bag of straps brings it: one worn by two, one put on late, one typed wrong.

``python -m ownmark.sample_streams.class_day`` writes the recordings and the tables. ``written.csv`` is the form of the
day as it was typed in; in ``mended.csv`` the wrong time is put right; ``checked.csv`` is the class table after somebody
looked at what the plan asked. Seeded: what they hold stays.
"""

from dataclasses import dataclass
from datetime import datetime, timedelta, timezone
from pathlib import Path

import numpy as np

from . import FOLDER, writers
from .hearts import Effort, heart

SEED = 20261117
DAY = FOLDER / "day"
_LOCAL = timezone(timedelta(hours=-7))
NINE = datetime(2026, 11, 17, 9, 0, tzinfo=_LOCAL)
_UTC_OFFSET_S = -25_200
REST_S, WORK_S, RECOVERY_S = 300, 480, 120

STUDENTS = """\
code,born,conditions,rest,posture,ceiling,set_by,set_on,notes
TH-31,2014-03,cerebral-palsy,82,in the own chair,150,therapist,2026-09-02,new chair
TH-32,Nov-13,spina-bifida; shunt,76,in the own chair,,,,
TH-33,2013-07-19,,,,,,,
TH-34,2012-10,rate-limiting-medicine,64,in the own chair,135,,2026-09-02,
TH-35,2015-01,,88,in the own chair,,,,ask Mrs. Lopez first
TH-21,,,79,,,,,
"""
"""A list of students as a new class brings it: a month that a spreadsheet made another text of, a day of birth, a
ceiling that nobody set, a name, and a student who is there already with another rest."""

SET_UP = """\
student add TH-21 --rest 76
student add TH-22 --rest 83
student add TH-23 --rest 79
student add TH-24 --rest 88
student add TH-25 --rest 72
protocol copy arm-crank-steady crank-8-min
protocol edit crank-8-min --set rest_s=300 --set work_s=480 --set recovery_s=120 --set duration_s=900
"""


@dataclass(frozen=True, slots=True)
class Turn:
    """One student's turn: the rest began ``start_s`` after nine o'clock; where the heart heads for at work [/min]."""

    code: str
    start_s: int
    rest_bpm: float
    work_bpm: float


@dataclass(frozen=True, slots=True)
class Strap:
    """A strap's file from ``begin_s`` to ``end_s`` after nine o'clock, and who wore it in turn."""

    label: str
    begin_s: int
    end_s: int
    turns: tuple[Turn, ...]
    laps: bool = False


STRAPS = (
    Strap("S1", 60, 2_460, (Turn("TH-21", 180, 76, 128), Turn("TH-22", 1_440, 83, 139))),
    Strap("S2", 570, 1_260, (Turn("TH-23", 180, 79, 124),)),
    Strap("S3", 3_660, 4_740, (Turn("TH-24", 3_720, 88, 141),)),
    Strap("S4", 180, 1_080, (Turn("TH-25", 180, 72, 117),), laps=True),
)
"""S2 was put on 90 s into the work of its student."""
TAKEN_OFF_S, PUT_ON_S = 1_170, 1_380
"""Between these, nobody wore the shared strap [s after nine o'clock]."""

WRITTEN = """\
code,protocol,strap,from,until,start,notes
TH-21,crank-8-min,S1,9:01,9:19,9:03,
TH-22,crank-8-min,S1,9:23,9:41,9:24,
TH-23,crank-8-min,S2,9:09,9:21,9:03,strap forgotten at first
TH-24,crank-8-min,S3,9:01,9:19,9:02,
TH-25,crank-8-min,S4,9:03,9:18,9:03,
"""
"""The form as it was typed in: TH-24 had the strap at ten, not at nine."""
MENDED = WRITTEN.replace("S3,9:01,9:19,9:02", "S3,10:01,10:19,10:02")
LOOKED = "Somebody looks: TH-24 wore S3 at ten, not at nine; S1 was handed on at 9:19; TH-23's strap was late."
CHECKED = """\
code,protocol,files,date,rest,work,recovery,notes
TH-21,crank-8-min,straps/S1.fit,2026-11-17,@09:03:00-@09:08:00,@09:08:00-@09:16:00,@09:16:00-@09:18:00,
TH-22,crank-8-min,straps/S1.fit,2026-11-17,@09:24:00-@09:29:00,@09:29:00-@09:37:00,@09:37:00-@09:39:00,
TH-23,crank-8-min,straps/S2.fit,2026-11-17,,@09:08:00-@09:16:00,@09:16:00-@09:18:00,strap forgotten at first
TH-24,crank-8-min,straps/S3.fit,2026-11-17,@10:02:00-@10:07:00,@10:07:00-@10:15:00,@10:15:00-@10:17:00,
TH-25,crank-8-min,straps/S4.fit,2026-11-17,@09:03:00-@09:08:00,@09:08:00-@09:16:00,@09:16:00-@09:18:00,
"""


def main(folder: Path = DAY) -> None:
    """Write everything."""
    (folder / "straps").mkdir(parents=True, exist_ok=True)
    rng = np.random.default_rng(SEED)
    for strap in STRAPS:
        (folder / "straps" / f"{strap.label}.fit").write_bytes(recording(strap, rng))
    for name, text in (("written", WRITTEN), ("mended", MENDED), ("checked", CHECKED), ("students", STUDENTS)):
        (folder / f"{name}.csv").write_text(text, encoding="utf-8")


def recording(strap: Strap, rng: np.random.Generator, nine: datetime = NINE) -> bytes:
    """A strap's file: before and between turns the heart is as at rest, or there is no contact.

    nine : nine o'clock of the day, by the strap's clock
    """
    begin = min((strap.begin_s, *(turn.start_s for turn in strap.turns)))
    bpm = np.zeros(strap.end_s - begin, dtype=np.int64)
    for turn in strap.turns:
        since = turn.start_s - begin
        before = min(since, 60)
        end = REST_S + WORK_S + RECOVERY_S
        after = min(60, len(bpm) - since - end)
        efforts = (
            Effort(before + REST_S, turn.rest_bpm),
            Effort(WORK_S, turn.work_bpm),
            Effort(RECOVERY_S + after, turn.rest_bpm + 12),
        )
        bpm[since - before : since + end + after] = heart(efforts, turn.rest_bpm, rng)
    start = nine + timedelta(seconds=strap.begin_s)
    kept = bpm[strap.begin_s - begin :]
    laps = (REST_S, WORK_S, RECOVERY_S) if strap.laps else (len(kept),)
    return writers.fit(start, kept, laps, _UTC_OFFSET_S)


if __name__ == "__main__":
    main()
