"""What removed trials keep of minutes that turn out to be another student's goes, and looking for it costs little."""

import pytest
from ownmark.errors import LogbookDamaged
from ownmark.records.removing import put_back, remove_trial
from ownmark.records.store import history as past
from ownmark.records.store.history import history_of
from ownmark.records.store.many_trials import add_trials
from sqlalchemy import text

from tests.records.store import made

DATA = {name: made.recording(seed) for name, seed in (("a", 1), ("b", 2), ("c", 3))}


def of(code, *names, **more):
    """A trial out of these recordings, whole, or the part of each."""
    files = tuple(made.kept(f"{name}.csv", DATA[name]).model_copy(update=more) for name in names)
    return made.trial(code, files=files), [(f"{name}.csv", DATA[name]) for name in names]


@pytest.fixture
def removed(logbook):
    """Trials 1 and 2 of TH-11 were removed, out of a and out of b; of c nothing was."""
    made.filled(logbook, trials_each=0)
    add_trials(logbook, [of("TH-11", "a"), of("TH-11", "b")])
    for number in (1, 2):
        remove_trial(logbook, number, why="by mistake")
    return logbook


@pytest.fixture
def read(monkeypatch):
    """The numbers of the removed trials that are read."""
    numbers = []
    real = past.removed_trial
    monkeypatch.setattr(past, "removed_trial", lambda change: numbers.append(change.thing) or real(change))
    return numbers


def held(logbook):
    return [bool(history_of(logbook, "trial", number)[0].held) for number in (1, 2)]


def test_trials_of_other_recordings_read_no_removed_one(removed, read):
    add_trials(removed, [of("BF-07", "c")])
    assert read == []
    assert held(removed) == [True, True]


def test_of_many_trials_in_a_transaction_each_takes_its_own_minutes_and_no_others(removed, read):
    add_trials(removed, [of("BF-07", "c"), of("BF-07", "b")])
    assert read == ["2"]
    assert held(removed) == [True, False]
    assert put_back(removed, 1).id == 1


def test_the_students_own_removed_trial_keeps_its_minutes(removed):
    add_trials(removed, [of("TH-11", "b")])
    assert held(removed) == [True, True]


@pytest.mark.parametrize(("before", "after", "stays"), [((0, 60), (60, 90), True), ((0, 60), (59, 90), False)])
def test_minutes_of_an_excerpt_are_told_by_the_recording_that_it_was_cut_out_of(before, after, stays, logbook):
    made.filled(logbook, trials_each=0)
    whole = "f" * 64
    add_trials(logbook, [of("TH-11", "a", of=whole, part_s=before)])
    remove_trial(logbook, 1, why="by mistake")
    add_trials(logbook, [of("BF-07", "b", of=whole, part_s=after)])
    assert bool(history_of(logbook, "trial", 1)[0].held) is stays


def test_a_removed_trial_whose_row_was_changed_by_something_else_is_told(removed):
    with removed.writing() as connection:
        connection.execute(text("UPDATE history SET why = 'another' WHERE thing = '1'"))
    with pytest.raises(LogbookDamaged, match="a change of the trial 1"):
        add_trials(removed, [of("BF-07", "c")])
