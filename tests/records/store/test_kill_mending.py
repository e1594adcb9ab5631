"""A clock that is put right, or a class's table that corrects, killed at any moment: the state before or after."""

import os
import random
import signal
import time
from datetime import datetime, timedelta

import numpy as np
import pytest
from ownmark.records import Trial, open_logbook
from ownmark.records.adding import keep
from ownmark.records.recompute import differences, new_sheet
from ownmark.records.store.history import history_of
from ownmark.records.store.tables import files, originals
from sqlalchemy import func, select

from tests.records.store import made
from tests.records.store.zygote import SHIFT_S, WORK

AT = datetime.fromisoformat("2026-10-06T08:00:00")
LENGTH_S = 800


def filled(place, folder):
    """Two students with a trial each, its phases by the wall clock."""
    heart = np.random.default_rng(3)
    with open_logbook(place) as logbook:
        made.filled(logbook, trials_each=0)
        for code in ("TH-11", "BF-07"):
            bpm = 90 + np.arange(LENGTH_S) // 10 + heart.integers(0, 3, LENGTH_S)  # every minute has a mean of its own
            rows = "".join(f"{(AT + timedelta(seconds=n)).isoformat()},{each}\n" for n, each in enumerate(bpm))
            (folder / f"{code}.csv").write_text(f"time,heart_rate\n{rows}")
            fields = {"code": code, "protocol": "slalom-gym", "protocol_version": 1, "on": "2026-10-06"}
            keep(logbook, Trial(**fields, work="@8:03-@8:09"), [folder / f"{code}.csv"])


def assert_before_or_after(logbook, field, either):
    """Each trial is whole in one of two states, as the number of its changes says, and its figures are that one's."""
    found = list(logbook.trials())
    assert [trial.code for trial in found] == ["TH-11", "BF-07"]
    for trial in found:
        changes = history_of(logbook, "trial", trial.id)
        states = [*(each.before[field] for each in changes), getattr(trial, field)]
        assert states == [either[turn % 2] for turn in range(len(states))]
        assert differences(trial.sheet, new_sheet(logbook, trial)) == ()
        assert trial.sheet.figures["heart_rate_mean"].value is not None
    with logbook.reading() as connection:
        for table in (files, originals):
            assert connection.execute(select(func.count()).select_from(table)).scalar_one() == 2


def kills(zygote, place, folder, what, count, draw):
    """Kill a command again and again, and look at the logbook after each; give how often it was done."""
    fields = {"clock": ("clock_shifts", ({}, {"TH-11.csv": SHIFT_S})), "correct": ("work", WORK)}
    done = 0
    for turn in range(count):
        writer = zygote.begin(what, place, turn * 100, 1000, folder)
        if turn % 2:
            zygote.wait_for_one()  # however slow the machine is, some of the kills meet a writer in full work
        time.sleep(draw.random() * 0.25)
        os.kill(writer, signal.SIGKILL)
        said = zygote.rest()
        assert not [words for words in said if words[0] != "kept"]
        done += len(said)
        with open_logbook(place, create=False) as logbook:
            assert_before_or_after(logbook, *fields[what])
            if what == "clock":
                assert history_of(logbook, "trial", 2) == ()
    return done


@pytest.mark.parametrize("what", ["clock", "correct"])
def test_a_killed_command_leaves_the_state_before_or_the_one_after(place, tmp_path, zygote, what):
    filled(place, tmp_path)
    assert kills(zygote, place, tmp_path, what, 4, random.Random(31)) >= 2


@pytest.mark.soak
@pytest.mark.parametrize("what", ["clock", "correct"])
def test_a_hundred_killed_commands_leave_the_state_before_or_the_one_after(place, tmp_path, zygote, what):
    filled(place, tmp_path)
    assert kills(zygote, place, tmp_path, what, 100, random.Random(32)) >= 50
