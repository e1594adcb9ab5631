"""A batch is class add, whoever does the work: every trial, field by field, and all that is told."""

import shutil
from contextlib import nullcontext
from itertools import zip_longest

import pytest
from ownmark.executors.opening import opened
from ownmark.executors.serial import Serial
from ownmark.records import open_logbook
from ownmark.records.batch.tables import tables_in
from ownmark.records.batch.work import done

from tests.records.batch.district import batch, by_class_add, contents, district, school, told

ENGINES = {
    "serial": lambda: nullcontext(Serial()),
    "pool": lambda: opened(2, preload=(done.__module__,)),
    "cluster": lambda: opened(cluster="local:2", preload=(done.__module__,)),
}


class Elsewhere(Serial):
    """Whoever works does not see this machine's files."""

    shares_disk = False


NORTH, ROUND, DATES, SAVED = "north/monday.csv", "round/tuesday-2.csv", "dates/dates.csv", "saved/office.csv"
CORRECTED = (
    (
        NORTH,
        "TH-11,slalom-gym,S1.csv,2026-11-10,@09:01:00-@09:04:00,first",
        "TH-11,slalom-gym,S1.csv,2026-11-10,@09:01:20-@09:04:00,first again",
    ),
    (ROUND, "red-strap", "red-strap"),
    (DATES, "S41.csv,11/3/2026,01:00-04:00", "S41.csv,11/3/2026,01:10-04:00"),
    (SAVED, "nothing", "nothing"),
)
"""Of a table: what stands there, and what is written over it."""


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    """The district as its schools sent it."""
    return district(tmp_path_factory.mktemp("made") / "district")


@pytest.fixture(scope="module")
def place_of_all(tmp_path_factory):
    """Where the district lies for whoever reads it: what is said of it may name the place."""
    return tmp_path_factory.mktemp("all") / "district"


def laid(made, place_of_all):
    """The district as it was sent, also where a test has changed it or put files aside."""
    shutil.rmtree(place_of_all, ignore_errors=True)
    shutil.copytree(made, place_of_all)
    return place_of_all


@pytest.fixture
def folder(by_hand, made, place_of_all):  # in this order: class add has been over it, and it is laid out again
    return laid(made, place_of_all)


def tidied(folder):
    """Without the copies that were put aside, which would be tables of the next call."""
    for aside in folder.rglob("*-aside"):
        shutil.rmtree(aside)


def corrected(folder):
    for name, old, new in CORRECTED:
        path = folder / name
        path.write_bytes(path.read_bytes().replace(old.encode(), new.encode()))


@pytest.fixture(scope="module")
def by_hand(made, place_of_all, tmp_path_factory):
    """What class add tells and leaves in the logbook: at first, again, with other tables, and where it may correct.

    It is done once, on SQLite: a batch is held against it on both databases.
    """
    folder, found = laid(made, place_of_all), {}
    with open_logbook(tmp_path_factory.mktemp("by-hand") / "logbook.db") as logbook:
        school(logbook)

        def step(name, **how):
            words = told(by_class_add(logbook, tables_in([folder]), **how), logbook)
            tidied(folder)
            found[name] = words, contents(logbook)

        step("first")
        step("second")
        corrected(folder)
        step("otherwise")
        step("corrected", correct=True)
    return found


def same(some, others):
    """Equal, told at the first that is not."""
    for one, other in zip_longest(some, others):
        assert one == other


def assert_as_by_hand(report, logbook, expected):
    words, rows = expected
    same(told(report.tables, logbook), words)
    assert contents(logbook) == rows


@pytest.mark.parametrize("engine", ENGINES)
def test_every_trial_and_every_word_is_that_of_class_add(engine, folder, by_hand, tmp_path):
    with open_logbook(tmp_path / "logbook.db") as logbook, ENGINES[engine]() as executor:
        found = batch(school(logbook), folder, executor=executor)
        assert_as_by_hand(found, logbook, by_hand["first"])
        assert found.counts["added"] > 12
        assert found.counts["refused"] > 5
        assert found.counts["to confirm"] > 4
        assert found.counts["there already"] > 1
        assert not found.clean


def test_files_go_as_bytes_to_who_does_not_see_them(folder, by_hand, tmp_path):
    with open_logbook(tmp_path / "logbook.db") as logbook:
        found = batch(school(logbook), folder, executor=Elsewhere())
        assert_as_by_hand(found, logbook, by_hand["first"])


def test_later_calls_say_and_change_what_later_class_adds_do(folder, by_hand, logbook):
    assert_as_by_hand(batch(school(logbook), folder), logbook, by_hand["first"])
    tidied(folder)
    assert_as_by_hand(batch(logbook, folder), logbook, by_hand["second"])
    tidied(folder)
    corrected(folder)
    assert_as_by_hand(batch(logbook, folder), logbook, by_hand["otherwise"])  # told, and not changed
    assert by_hand["otherwise"][1] == by_hand["second"][1]
    tidied(folder)
    found = batch(logbook, folder, correct=True)
    assert_as_by_hand(found, logbook, by_hand["corrected"])
    assert found.counts["corrected"] == 2
