"""What a list of straps gives to a student: its times limit what is kept, to the minute to which they are written."""

import math

import pytest
from ownmark.records.wearing import Wearing, Worn, holds, margins_by, seconds, wearings_of

NINE = 9 * 3600.0
OWN = (NINE + 300, NINE + 900)  # 9:05:00 to 9:15:00, with rest and recovery
WORK = (NINE + 420, NINE + 780)  # 9:07:00 to 9:13:00
NEVER = (-math.inf, math.inf)
ANOTHER = Wearing("", "", by_another=True)  # nobody wrote down when


def at(minutes, more=0):
    return NINE + 60 * minutes + more


@pytest.mark.parametrize(
    ("since", "until", "span"),
    [
        ("9:04", "9:16", (at(4), at(17))),  # all of the minute in which it ended
        ("9:04:00", "9:16:00", (at(4), at(16))),
        ("@9:04:30", "9:16:59", (at(4, 30), at(16, 59))),
        ("9:04 AM", "9:16:20 am", (at(4), at(16, 20))),
        ("9:04", "", (at(4), math.inf)),
        ("", "9:16", (-math.inf, at(17))),
        ("9:06", "9:14", (at(5), at(15))),  # the trial's own phases stay
        ("9:08", "9:12", (at(5), at(15))),  # the work, to the minute
        ("9:08:01", "9:12", NEVER),  # it does not hold the work: a person was asked
        ("9:08", "9:11:59", NEVER),
        ("later", "9:16", (-math.inf, at(17))),
        ("9:16", "9:04", NEVER),
    ],
)
def test_the_student_s_own_wearing(since, until, span):
    own = Wearing(since, until)
    assert margins_by([own, ANOTHER], OWN, WORK) == span
    assert margins_by([ANOTHER, own], OWN, WORK) == span
    assert margins_by([own], OWN, WORK) == NEVER  # nobody else wore the strap


@pytest.mark.parametrize(
    ("since", "until", "span"),
    [
        ("8:50", "9:03", (at(4), math.inf)),  # may have ended at any second of that minute
        ("8:50:00", "9:03:00", (at(3), math.inf)),
        ("8:50", "9:04", (at(5), math.inf)),
        ("8:50", "9:04:30", (at(4, 30), math.inf)),
        ("8:50", "9:10", (at(5), math.inf)),  # over the trial's begin: its phases stay
        ("9:17", "9:30", (-math.inf, at(17))),
        ("9:17:20", "9:30", (-math.inf, at(17, 20))),
        ("9:15", "9:30", (-math.inf, at(15))),
        ("9:10", "9:30", (-math.inf, at(15))),
        ("8:50", "9:30", (at(5), at(15))),
        ("9:05", "9:15", NEVER),  # within the trial
        ("", "9:03", (at(4), math.inf)),
        ("9:17", "", (-math.inf, at(17))),
        ("", "9:30", NEVER),  # behind the trial, and nobody wrote from when
        ("", "9:15", NEVER),
        ("", "9:14:59", (at(5), math.inf)),
        ("8:50", "", NEVER),
        ("9:05", "", NEVER),
        ("9:05:01", "", (-math.inf, at(15))),
        ("9:30", "8:50", NEVER),
        ("", "", NEVER),
    ],
)
def test_another_one_s_wearing(since, until, span):
    assert margins_by([Wearing(since, until, by_another=True)], OWN, WORK) == span


def test_several_lines_limit_together():
    lines = [Wearing("9:02", "9:17"), Wearing("8:30", "9:02", by_another=True), Wearing("9:16:30", "", by_another=True)]
    assert margins_by(lines, OWN, WORK) == (at(3), at(16, 30))
    assert margins_by([Wearing("9:01", "9:20"), Wearing("9:02", "9:30"), ANOTHER], OWN, WORK) == (at(2), at(21))
    assert margins_by([Wearing("8:00", "8:30"), Wearing("9:02", "9:17"), ANOTHER], OWN, WORK) == (at(2), at(18))
    assert margins_by([], OWN, WORK) == NEVER


@pytest.mark.parametrize(
    ("since", "until", "held"),
    [
        (None, None, True),
        (at(8), None, True),
        (at(8, 0.1), None, False),
        (None, at(12), True),
        (None, at(11, 59.9), False),
        (at(8), at(11), False),
    ],
)
def test_a_wearing_holds_the_work_to_the_minute(since, until, held):
    assert holds(since, until, WORK) is held


def test_a_written_time():
    assert seconds(" @9:05 ") == at(5)
    assert seconds("12:00 AM") == 0.0
    assert seconds("") is None
    assert seconds("noon") is None


def test_lines_of_the_student_and_of_others_of_the_same_strap():
    worn = [
        Worn("S1", "TH-11", "9:00", "9:10"),
        Worn("s1", "BF-07", "9:10"),
        Worn("S1", "S014"),  # nobody wrote a time
        Worn("S2", "BF-07", "9:20"),
        Worn("", "S014", "9:00", "9:30"),
    ]
    assert wearings_of("TH-11", worn[:1], worn) == (
        Wearing("9:00", "9:10"),
        Wearing("9:10", "", by_another=True),
        ANOTHER,
    )
    assert wearings_of("BF-07", [worn[1], worn[3]], worn) == (
        Wearing("9:10", ""),
        Wearing("9:20", ""),
        Wearing("9:00", "9:10", by_another=True),
        ANOTHER,
    )
    assert wearings_of("S014", [worn[2]], worn) == (
        Wearing("9:00", "9:10", by_another=True),
        Wearing("9:10", "", by_another=True),
    )
    assert wearings_of("S014", [worn[4]], worn) == (Wearing("9:00", "9:30"),)
    assert wearings_of("S014", [], worn) == ()
