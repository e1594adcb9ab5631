"""Killed at any moment, the logbook opens and holds only whole trials. The long version is in tests/soak."""

import random
import threading
import time

import pytest
from ownmark.errors import LogbookLocked
from ownmark.records import open_logbook

from tests.records.store import made
from tests.records.store.whole import assert_whole, kill_at_random


def test_a_killed_writer_leaves_only_whole_trials(place, zygote):
    assert kill_at_random(zygote, place, 10, random.Random(1)) >= 5


def test_a_writer_that_is_killed_in_its_own_line_is_waited_for_no_longer(zygote):
    zygote.begin("half", "nowhere", 7)
    assert zygote.rest() == [["kept", "1", "7"]]


def test_a_writer_that_ends_before_it_kept_one_is_waited_for_no_longer(zygote):
    zygote.begin("half", "nowhere", 7)
    zygote.wait_for_one()
    zygote.wait_for_one()
    assert zygote.rest() == [["kept", "1", "7"]]


def test_two_writers_at_once_lose_nothing(place, zygote, another_zygote):
    open_logbook(place).close()
    zygote.begin("add", place, 0, 12)
    another_zygote.begin("add", place, 500, 12)
    said = [words for each in (zygote, another_zygote) for words in each.rest()]
    assert all(words[0] == "kept" for words in said)
    with open_logbook(place) as logbook:
        assert sorted(assert_whole(logbook)) == sorted(f"turn {turn}" for turn in (*range(12), *range(500, 512)))
        assert sorted(trial.id for trial in logbook.trials()) == list(range(1, 25))


def test_a_second_writer_waits_or_gets_a_sentence(place):
    with open_logbook(place) as first, open_logbook(place, wait_s=0.2) as hasty, open_logbook(place) as patient:
        made.filled(first, trials_each=0)
        done = []
        waiting = threading.Thread(target=lambda: (patient.add_student(made.student("PA-1")), done.append(True)))
        with first.writing():
            with pytest.raises(LogbookLocked, match="another program is writing"):
                hasty.add_student(made.student("HA-1"))
            waiting.start()
            time.sleep(0.1)
            assert not done
            assert hasty.student("TH-11").code == "TH-11"  # reading goes on
        waiting.join(20)
        assert done
        assert [student.code for student in first.students()] == ["BF-07", "PA-1", "TH-11"]


def test_what_fails_half_way_is_taken_back(logbook, monkeypatch):
    made.filled(logbook)
    before = logbook.count()
    monkeypatch.setattr("ownmark.records.store.replacing.files", "no table")
    with pytest.raises(AttributeError):
        logbook.add_trial(made.trial(sheet=made.sheet()), [("new.csv", b"new")])
    assert logbook.count() == before
