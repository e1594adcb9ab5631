"""How far a row's margins may reach: half way to the other trials of its recording, kept ones and rows of the day."""

import math
from dataclasses import replace

import pytest
from ownmark.records.adding import keep
from ownmark.records.day.as_rows import DayRow
from ownmark.records.day.free_of_row import free_of_row
from ownmark.records.plan.seen import see
from ownmark.records.store.logbook import open_logbook
from ownmark.records.wearing import Wearing

from tests.records.store import made
from tests.records.test_clock_shifts import dated
from tests.records.test_shared_files import FIRST, PHASES, written

ONE, TWO = ("a" * 64,), ("b" * 64,)


@pytest.fixture
def logbook(tmp_path):
    with open_logbook(tmp_path / "logbook.db") as found:
        found.add_protocol(made.protocol())
        found.add_student(made.student("TH-11"))
        yield found


@pytest.fixture
def path(tmp_path):
    return written(tmp_path, "strap.csv", FIRST)


@pytest.fixture
def recording(path):
    (found,) = see([path], None, lambda _: ())
    return found.recording


def row(code, files=ONE, state="asked", turn=1, **texts):
    return DayRow(code, turn, state, files, texts)


MINE = row("BF-07", work="10:00-12:00")


@pytest.mark.parametrize(
    ("other", "free"),
    [
        (row("S014", work="14:00-15:00"), (-math.inf, 780.0)),  # half way from 720 to 840
        (row("S014", work="4:00-8:00"), (540.0, math.inf)),  # half way from 480 to 600
        (row("S014", work="4:00-8:00", recovery="8:00-9:00"), (570.0, math.inf)),
        (row("S014", rest_phase="13:00-14:00", work="14:00-15:00"), (-math.inf, 750.0)),
        (row("BF-07", turn=2, work="14:00-15:00"), (-math.inf, 780.0)),
        (row("S014", files=TWO, work="14:00-15:00"), None),
        (row("S014", state="stored", work="14:00-15:00"), None),
        (row("S014", work="11:00-15:00"), None),
        (row("S014", work="nonsense"), None),
        (row("S014", rest_phase="13:00-14:00"), None),
        (MINE, None),
    ],
)
def test_half_way_to_another_row_of_the_same_recording(logbook, recording, other, free):
    assert free_of_row(logbook, MINE, [MINE, other], recording, None) == free


def test_between_two_rows(logbook, recording):
    others = [row("S014", work="14:00-15:00"), row("TH-11", work="4:00-8:00")]
    assert free_of_row(logbook, MINE, others, recording, None) == (540.0, 780.0)


def test_a_row_without_work_or_with_several_files_is_free(logbook, recording):
    other = row("S014", work="14:00-15:00")
    assert free_of_row(logbook, row("BF-07", rest_phase="1:00-2:00"), [other], recording, None) is None
    mine = row("BF-07", files=(*ONE, *TWO), work="10:00-12:00")
    assert free_of_row(logbook, mine, [row("S014", files=(*ONE, *TWO), work="14:00-15:00")], recording, None) is None


def test_half_way_to_a_trial_that_is_kept(logbook, recording, path):
    keep(logbook, made.trial("TH-11", **PHASES), [path])  # until 14:30
    mine = row("BF-07", work="19:00-20:00")
    assert free_of_row(logbook, mine, [mine], recording, None) == (1005.0, math.inf)


def test_the_list_of_straps_limits_what_is_drawn(logbook, tmp_path):
    (found,) = see([dated(tmp_path, "S1.csv", FIRST)], None, lambda _: ())  # from 8:00:00
    worn = (Wearing("8:00", "8:13:30"), Wearing("7:30", "7:59", by_another=True))
    mine = replace(row("BF-07", work="@8:10-@8:12"), worn=worn)
    assert free_of_row(logbook, mine, [mine], found.recording, None) == (0.0, 810.0)
    other = row("S014", work="@8:12:30-@8:14")  # half way lies at 8:12:15
    assert free_of_row(logbook, mine, [mine, other], found.recording, None) == (0.0, 735.0)
    over = row("S014", work="@8:11-@8:14")
    assert free_of_row(logbook, mine, [mine, over], found.recording, None) == (0.0, 810.0)
    unclear = replace(row("BF-07", rest_phase="@8:05-@8:10", work="nonsense"), worn=worn)
    assert free_of_row(logbook, unclear, [unclear], found.recording, None) is None
