"""Make every file of the demo again: ``python -m ownmark.sample_streams.generate``. Seeded: what they hold stays.

Tern Hollow School is invented, and so are its students. Each row of the scenario is a trial: who, on what, which
file, and the options with which ``ownmark effort`` is called. Faults of sensors are put in after the truth is taken.
"""

import itertools
import json
from collections.abc import Sequence
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from . import FOLDER, movement, truth, writers
from .hearts import Effort, beats, heart

SEED = 20260512
_DAY = datetime(2026, 5, 12, 14, 5, tzinfo=UTC)
_LOCAL = timezone(timedelta(hours=-6))

Rates = NDArray[np.int64]


def main(folder: Path = FOLDER) -> None:
    """Write the recordings, their truths, and the scenario."""
    scenario = [make(folder, np.random.default_rng(SEED + number)) for number, make in enumerate(TRIALS)]
    _json(folder / "scenario.json", {"school": "Tern Hollow School (invented)", "trials": scenario})


def _json(path: Path, content: Any) -> None:  # noqa: ANN401 whatever JSON holds
    path.write_text(json.dumps(content, indent=1, ensure_ascii=False) + "\n", encoding="utf-8")


def _moved(
    folder: Path, name: str, data: bytes, row: dict[str, Any], place: str, true: dict[str, float]
) -> dict[str, Any]:
    """Add a movement file and its truth to a row of the scenario."""
    (folder / name).write_bytes(data)
    _json(folder / f"{name}.truth.json", {key: round(value, 6) for key, value in true.items()})
    return row | {"files": [*row["files"], name], "options": [*row["options"], "--placement", place]}


def _lasting(moving: list[tuple[float, float]], work: tuple[float, float]) -> dict[str, float]:
    """Moving time, the longest movement and the stops of a work phase, from when movement began and ended."""
    inside = [(max(begin, work[0]), min(end, work[1])) for begin, end in moving]
    lengths = [end - begin for begin, end in inside if end > begin]
    pauses = [after[0] - before[1] for before, after in itertools.pairwise(inside)]
    return {
        "moving_time": sum(lengths),
        "longest_moving": max(lengths),
        "stop_count": float(sum(pause >= 3 for pause in pauses)),
    }


def _save(
    folder: Path, name: str, data: bytes, story: str, options: Sequence[str], true: dict[str, float]
) -> dict[str, Any]:
    """Write one recording with its truth; give back its row of the scenario."""
    (folder / name).write_bytes(data)
    _json(folder / f"{name}.truth.json", {key: round(value, 6) for key, value in true.items()})
    return {"files": [name], "story": story, "options": list(options)}


def power_chair_slalom(folder: Path, rng: np.random.Generator) -> dict[str, Any]:
    """A motor does the moving, and the heart still answers; no maximum is predicted, the rise over rest tells it."""
    efforts = (Effort(300, 84), Effort(120, 112), Effort(240, 104), Effort(240, 109), Effort(120, 116), Effort(180, 86))
    bpm = heart(efforts, 86, rng)
    moving = [(302.0, 461.0), (469.0, 640.0), (652.0, 846.0), (851.0, 1018.0)]
    turns = [(310.0 + 12 * number, 90.0 if number % 2 else -90.0) for number in range(58)]
    turns = [turn for turn in turns if any(begin + 3 < turn[0] < end - 3 for begin, end in moving)]
    row = _save(
        folder,
        "TH-11-power-chair-slalom.fit",
        writers.fit(_DAY, bpm, (300, 720, 180), -21_600),
        "TH-11 drives a power chair through the figure-of-eight slalom in the small gym; muscular dystrophy; the "
        "therapist set a ceiling of 140.",
        "--laps rest,work,recovery --born 2011-09 --condition muscular-dystrophy --power-chair --ceiling 140".split(),
        truth.of_work(bpm.tolist(), (300, 1020), float(bpm[240:300].mean()), None),
    )
    sides = {"turns_left": sum(turn[1] > 0 for turn in turns), "turns_right": sum(turn[1] < 0 for turn in turns)}
    data = movement.table(_DAY, movement.chair(1200, moving, turns, rng))
    return _moved(folder, "TH-11-chair-frame.csv.gz", data, row, "frame", _lasting(moving, (300, 1020)) | sides)


def arm_crank(folder: Path, rng: np.random.Generator) -> dict[str, Any]:
    """Arm work with a maximum that was measured in arm work."""
    efforts = (Effort(300, 78), Effort(180, 118), Effort(240, 131), Effort(240, 137), Effort(60, 150), Effort(180, 92))
    bpm = heart(efforts, 79, rng)
    moving = [(300.0, 704.0), (713.0, 1020.0)]
    turning, rounds = movement.circling(1200, moving, 55.0, -4.0, rng)
    row = _save(
        folder,
        "TH-12-arm-crank.tcx",
        writers.tcx(_DAY + timedelta(minutes=40), bpm, (300, 720, 180)),
        "TH-12 turns the arm crank at 55 turns a minute, load mark 3; spina bifida; maximum measured on it.",
        "--laps rest,work,recovery --max 176 --arms-only --condition spina-bifida --sex female --target 40-60%".split(),
        truth.of_work(bpm.tolist(), (300, 1020), float(bpm[240:300].mean()), 176.0),
    )
    true = _lasting(moving, (300, 1020)) | {"cycle_count": rounds, "cadence_mean": 60 * rounds / 711}
    data = movement.table(_DAY + timedelta(minutes=40), turning)
    return _moved(folder, "TH-12-crank-sensor.csv.gz", data, row, "crank", true)


def handcycle_high_injury(folder: Path, rng: np.random.Generator) -> dict[str, Any]:
    """Heart rate that does not follow effort: no reserve, no zones, and why."""
    efforts = (Effort(240, 66), Effort(600, 94), Effort(120, 72))
    bpm = heart(efforts, 66, rng, slow_s=60.0)
    start = datetime(2026, 5, 12, 9, 31, 10, tzinfo=_LOCAL)
    return _save(
        folder,
        "TH-13-hand-cycle.csv",
        writers.semicolons(start, bpm),
        "TH-13 rides the hand-cycle round the yard; spinal cord injury at T4. Born 2009-11, and still no maximum is "
        "predicted.",
        "--rest-phase 00:00-04:00 --work 04:00-14:00 --born 2009-11 --arms-only".split()
        + ["--condition", "spinal-injury-t6-or-above"],
        truth.of_work(bpm.tolist(), (240, 840), float(bpm[180:240].mean()), None),
    )


def gait_trainer(folder: Path, rng: np.random.Generator) -> dict[str, Any]:
    """A distance is known, so the heart's cost of a metre is too."""
    efforts = (Effort(360, 132), Effort(120, 104))
    bpm = heart(efforts, 98, rng, slow_s=25.0)
    return _save(
        folder,
        "TH-14-gait-trainer.gpx",
        writers.gpx(_DAY + timedelta(minutes=75), bpm),
        "TH-14 walks the corridor in a gait trainer, 168 m in six minutes; cerebral palsy. The published maximum is of "
        "those who walk and run on their own feet, so none is predicted.",
        "--rest 92 --work 00:00-06:00 --born 2014-02 --condition cerebral-palsy --gait-trainer --distance 168".split(),
        truth.of_work(bpm.tolist(), (0, 360), 92.0, None),
    )


def arm_circles_medicine(folder: Path, rng: np.random.Generator) -> dict[str, Any]:
    """A medicine holds the rate down: age says nothing about the maximum."""
    efforts = (Effort(180, 61), Effort(480, 86), Effort(120, 66))
    bpm = heart(efforts, 61, rng, wander=1.0)
    moving = [(180.0, 402.0), (408.0, 660.0)]
    turning, rounds = movement.circling(780, moving, 38.0, 2.0, rng, radius_m=0.5)
    row = _save(
        folder,
        "TH-15-arm-circles-packets.csv",
        writers.packets(_DAY + timedelta(minutes=100), beats(bpm, rng)),
        "TH-15 keeps arm circles going; takes a beta-blocker, last dose two hours before.",
        "--rest-phase 00:00-03:00 --work 03:00-11:00 --born 2010-06 --condition rate-limiting-medicine".split()
        + ["--arms-only", "--target", "80-95bpm"],
        truth.of_work(bpm.tolist(), (180, 660), float(bpm[120:180].mean()), None),
    )
    true = _lasting(moving, (180, 660)) | {"cycle_count": rounds, "cadence_mean": 60 * rounds / 474}
    data = movement.table(_DAY + timedelta(minutes=100), turning)
    return _moved(folder, "TH-15-wrist.csv.gz", data, row, "wrist", true)


def tethered_run(folder: Path, rng: np.random.Generator) -> dict[str, Any]:
    """Only RR intervals: heart rate beat by beat. The list states no date."""
    efforts = (Effort(240, 80), Effort(420, 152), Effort(180, 104))
    bpm = heart(efforts, 81, rng, slow_s=30.0)
    rest, maximum = float(bpm[180:240].mean()), 210 - 0.56 * (14 + 8 / 12) - 15.5 * 2
    return _save(
        folder,
        "TH-16-tethered-run-rr.txt",
        writers.rr_list(beats(bpm, rng)),
        "TH-16 runs beside a guide on a tether; Down syndrome, so the maximum comes from the equation that knows it.",
        "--rest-phase 00:00-04:00 --work 04:00-11:00 --born 2011-09 --date 2026-05-12".split()
        + ["--condition", "down-syndrome", "--ceiling", "165"],
        truth.of_work(bpm.tolist(), (240, 660), rest, maximum),
    )


def loose_strap(folder: Path, rng: np.random.Generator) -> dict[str, Any]:
    """What a loose strap does to a table: zeros, spikes, a stuck value, a hole, stamps that step back, a footer."""
    efforts = (Effort(240, 74), Effort(600, 142), Effort(120, 98))
    bpm = heart(efforts, 75, rng)
    true = truth.of_work(bpm.tolist(), (240, 840), float(bpm[180:240].mean()), 186.0)
    rows = [(second, int(rate)) for second, rate in enumerate(bpm)]
    rows[300:312] = [(second, 0) for second in range(300, 312)]
    rows[430] = (430, 224)
    rows[431] = (431, 219)
    rows[610:622] = [(second, 255) for second in range(610, 622)]
    rows[845:915] = [(second, rows[845][1]) for second in range(845, 915)]
    rows[520], rows[521] = rows[521], rows[520]
    rows.insert(700, (699, rows[699][1]))
    del rows[720:740]
    lines = ["Seconds,Heart Rate (bpm)", *(f"{second},{rate}" for second, rate in rows), "End of log,"]
    return _save(
        folder,
        "TH-12-loose-strap.csv",
        ("\n".join(lines) + "\n").encode(),
        "TH-12 again, on the hand-cycle, with a strap that came loose: what the sheet says when a sensor does this.",
        "--rest-phase 00:00-04:00 --work 04:00-14:00 --max 186 --arms-only".split(),
        true,
    )


TRIALS = (
    power_chair_slalom,
    arm_crank,
    handcycle_high_injury,
    gait_trainer,
    arm_circles_medicine,
    tethered_run,
    loose_strap,
)

if __name__ == "__main__":
    main()
