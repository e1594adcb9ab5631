"""Killed at any moment, or started twice at once: whole rows only, nothing doubled, and a second call completes it."""

import os
import random
import signal
import time
from contextlib import suppress

from ownmark.records import open_logbook

from tests.records.batch.district import contents, school, simple
from tests.records.store.whole import assert_whole

ROWS = 14


def undisturbed(place, folder):
    """What a batch leaves that nothing disturbs."""
    from tests.records.batch.district import batch

    with open_logbook(place) as logbook:
        batch(school(logbook), folder)
        return contents(logbook)


def killed_until_done(zygote, place, folder, kills, draw, longest_s=0.25):
    """Kill batches at random moments, look at the logbook after each, and let the last one end; rows after each."""
    with open_logbook(place) as logbook:
        school(logbook)
    there = [0]
    for turn in range(kills):
        writer = zygote.begin("batch", place, 0, 0, folder)
        if turn % 2:
            zygote.wait_for_one()
        time.sleep(draw.random() * longest_s)
        with suppress(ProcessLookupError):  # on a fast machine it may have come to its end
            os.kill(writer, signal.SIGKILL)
        zygote.rest()
        with open_logbook(place) as logbook:
            notes = assert_whole(logbook)
        assert notes == [f"turn {each}" for each in range(len(notes))]
        assert len(notes) >= there[-1]
        there.append(len(notes))
    zygote.begin("batch", place, 0, 0, folder)
    assert zygote.rest()[-1] == ["counts", str(ROWS - there[-1]), str(there[-1]), str(ROWS)]
    return there


def test_a_killed_batch_leaves_whole_rows_and_a_second_call_completes_it(place, another_place, tmp_path, zygote):
    simple(tmp_path, ROWS)
    killed_until_done(zygote, place, tmp_path, 4, random.Random(3))
    with open_logbook(place) as logbook:
        assert contents(logbook)[:2] == undisturbed(another_place, tmp_path)[:2]


def test_the_same_batch_twice_at_once_doubles_nothing(place, another_place, tmp_path, zygote, another_zygote):
    simple(tmp_path, ROWS)
    with open_logbook(place) as logbook:
        school(logbook)
    for each in (zygote, another_zygote):
        each.begin("batch", place, 0, 0, tmp_path)
    ends = [each.rest()[-1] for each in (zygote, another_zygote)]
    assert [end[0] for end in ends] == ["counts", "counts"], ends
    assert sum(int(end[1]) for end in ends) == ROWS
    assert [int(end[3]) for end in ends] == [ROWS, ROWS]
    with open_logbook(place) as logbook:
        assert sorted(assert_whole(logbook)) == sorted(f"turn {turn}" for turn in range(ROWS))
        found = sorted((each["notes"], each["sheet"]["figures"]) for each in contents(logbook)[0].values())
    trials = undisturbed(another_place, tmp_path)[0].values()
    assert [each[0] for each in found] == sorted(each["notes"] for each in trials)
    assert dict(found) == {each["notes"]: each["sheet"]["figures"] for each in trials}
