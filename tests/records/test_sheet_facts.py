"""What a sheet is worked out of goes to another process, which has loaded all that it takes."""

import json
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
LATER = """
import json, sys
from datetime import date
from importlib import import_module
from pathlib import Path
from ownmark.records.sheet_facts import PRELOAD
for name in PRELOAD:
    import_module(name)
assert "sqlalchemy" not in sys.modules  # a worker has no database
from ownmark.records.protocol import Protocol
from ownmark.records.sheet_facts import SheetFacts, sheet_or_refusal
from ownmark.records.store.packing import packed
from ownmark.records.student import Student
from ownmark.records.trial import KeptFile, Trial
from ownmark.sample_streams import FOLDER
before = set(sys.modules)
student = Student(code="TH-15", rests=({"bpm": 72},), maxima=({"bpm": 190},))
protocol = Protocol(name="arms", title="Arms", component="aerobic", primary_figure="heart_rate_mean", better="lower")
loaded = {}
for name in json.loads(sys.argv[1]):
    kept = packed(name, (FOLDER / name).read_bytes())
    file = KeptFile(path=name, sha256=kept.sha256, size=kept.size)
    said = {"protocol": "arms", "protocol_version": 1, "on": date(2026, 5, 12), "work": "01:00-05:00"}
    trial = Trial(code="TH-15", files=(file,), **said)
    found = sheet_or_refusal(SheetFacts(trial, student, protocol, (kept,)))
    assert hasattr(found, "figures"), (name, found)
    loaded[name] = sorted(set(sys.modules) - before)
print(json.dumps(loaded))
"""
SAMPLES = [
    "TH-11-power-chair-slalom.fit",
    "TH-12-arm-crank.tcx",
    "TH-14-gait-trainer.gpx",
    "TH-15-wrist.csv.gz",
    "TH-13-hand-cycle.csv",
]


@pytest.fixture(scope="module")
def loaded():
    """What each sample loads in a new process that has loaded what it is told to."""
    done = subprocess.run(
        [sys.executable, "-c", LATER, json.dumps(SAMPLES)], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)


@pytest.mark.parametrize("name", SAMPLES)
def test_nothing_heavy_is_loaded_while_somebody_waits_for_a_sheet(loaded, name):
    heavy = ("ownmark.", "pandas", "scipy", "pyarrow.", "fitparse", "heartpy", "sqlalchemy", "defusedxml", "zstandard")
    late = [each for each in loaded[name] if each.startswith(heavy)]
    assert [each for each in late if not each.startswith("pyarrow.vendored")] == []  # half a millisecond
