"""Hundreds of made class days: whose a file is and when the work was is never wrong where the plan says sure."""

import random
import subprocess
import sys
import time
from pathlib import Path

import pytest

from tests.makers.class_days import class_day
from tests.records.plan.school import CODES, School
from tests.records.plan.test_day_truth import assert_true
from tests.records.plan.test_killed import words

pytestmark = pytest.mark.soak
DAYS = 1500


def test_nothing_sure_is_wrong_on_many_days(tmp_path):
    files, sure = 0, 0
    for seed in range(1000, 1000 + DAYS):
        found = assert_true(seed, tmp_path / str(seed))
        files += len(class_day(seed).files)
        sure += len(found.sure)
    print(f"{files} files of {DAYS} made days: {sure} sure, none of them wrong")
    assert sure > 0.15 * files  # a plan that is never sure would pass all else


def test_kills_at_random_moments_leave_no_table_or_the_whole_one(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("OWNMARK_LOGBOOK", str(tmp_path / "logbook.db"))
    school = School(tmp_path)
    codes = CODES[:6]
    school.only(*codes)
    for seed, code in enumerate(codes):
        school.trial(f"{code}.csv", code, seed=seed)
    assert school.plan(out="whole.csv") == 0
    whole, out = (tmp_path / "whole.csv").read_bytes(), tmp_path / "day.csv"
    command = [str(Path(sys.executable).with_name("ownmark")), *words(school)]
    began = time.monotonic()
    subprocess.run(command, check=True, capture_output=True)
    took = time.monotonic() - began
    assert out.read_bytes() == whole
    out.unlink()
    draw, there = random.Random(30), 0
    for _ in range(100):
        with subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL) as running:
            try:
                running.wait(took * (0.3 + 0.9 * draw.random()))
            except subprocess.TimeoutExpired:
                running.kill()
        if out.exists():
            there += 1
            assert out.read_bytes() == whole
            out.unlink()
    print(f"100 kills: {there} left the whole table, the others none")
    assert 0 < there < 100
