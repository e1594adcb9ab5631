"""A bag of ten straps that twelve students of the demo's school wore on one day, as it lies there after class.

``python -m ownmark.sample_streams.bag`` writes the recordings and ``class.csv``, the list of the class with what was
written down. Two straps were handed on, one was put on late, the clock of one is a week behind, one never had contact.
Seeded: what they hold stays.
"""

from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import numpy as np

from . import FOLDER
from .class_day import NINE, Strap, Turn, recording

SEED = 20261118
BAG = FOLDER / "bag"
DAY = NINE + timedelta(days=1)
WEEK_BEHIND, NO_CONTACT = "S4", "S5"
STRAPS = (
    Strap("S1", 60, 2_460, (Turn("TH-31", 180, 74, 126), Turn("TH-32", 1_440, 81, 137))),
    Strap("S2", 60, 2_520, (Turn("TH-33", 120, 85, 142), Turn("TH-34", 1_500, 77, 121))),
    Strap("S3", 570, 1_260, (Turn("TH-35", 180, 79, 124),)),
    Strap(WEEK_BEHIND, 90, 1_200, (Turn("TH-36", 180, 88, 139),)),
    Strap(NO_CONTACT, 90, 1_200, (Turn("TH-37", 180, 80, 130),)),
    Strap("S6", 180, 1_080, (Turn("TH-38", 180, 72, 117),), laps=True),
    Strap("S7", 240, 1_140, (Turn("TH-39", 240, 83, 133),), laps=True),
    Strap("S8", 1_260, 2_340, (Turn("TH-40", 1_380, 76, 128),)),
    Strap("S9", 1_260, 2_400, (Turn("TH-41", 1_440, 90, 144),)),
    Strap("S10", 1_320, 2_400, (Turn("TH-42", 1_440, 78, 119),)),
)
"""S3 was put on 90 s into the work of its student."""
LIST = """\
code,protocol,strap,from,until,start
TH-31,crank-8-min,S1,9:01,9:19,9:03
TH-32,crank-8-min,S1,9:23,9:41,9:24
TH-33,crank-8-min,S2,9:01,9:19,9:02
TH-34,crank-8-min,S2,9:24,9:42,9:25
TH-35,crank-8-min,S3,,,9:03
TH-36,crank-8-min,S4,,,9:03
TH-37,crank-8-min,S5,,,9:03
TH-38,crank-8-min,S6,,,
TH-39,crank-8-min,S7,,,
TH-40,crank-8-min,S8,,,9:23
TH-41,crank-8-min,S9,,,9:24
TH-42,crank-8-min,S10,,,9:24
"""
SET_UP = (
    "".join(f"student add {turn.code} --rest {turn.rest_bpm - 2:.0f}\n" for strap in STRAPS for turn in strap.turns)
    + """\
protocol copy arm-crank-steady crank-8-min
protocol edit crank-8-min --set rest_s=300 --set work_s=480 --set recovery_s=120 --set duration_s=900
logbook set --zone America/Denver
"""
)
"""The commands that make a logbook ready for the bag."""


def main(folder: Path = BAG) -> None:
    """Write everything."""
    folder.mkdir(parents=True, exist_ok=True)
    rng = np.random.default_rng(SEED)
    for strap in STRAPS:
        worn = replace(strap, turns=()) if strap.label == NO_CONTACT else strap
        nine = DAY - timedelta(days=7) if strap.label == WEEK_BEHIND else DAY
        (folder / f"{strap.label}.fit").write_bytes(recording(worn, rng, nine))
    (folder / "class.csv").write_text(LIST, encoding="utf-8")


if __name__ == "__main__":
    main()
