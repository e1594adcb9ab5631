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


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    return district(tmp_path_factory.mktemp("made") / "district")


@pytest.fixture
def folder(made, tmp_path):
    shutil.copytree(made, tmp_path / "district")
    return tmp_path / "district"


def same(some, others):
    """Equal, told at the first that is not."""
    for one, other in zip_longest(some, others):
        assert one == other


def expected(other, folder, **how):
    found = told(by_class_add(other, tables_in([folder]), **how), other)
    for aside in folder.rglob("*-aside"):
        shutil.rmtree(aside)
    return found, contents(other)


@pytest.mark.parametrize("engine", ENGINES)
def test_every_trial_and_every_word_is_that_of_class_add(engine, folder, tmp_path):
    here, there = tmp_path / "here.db", tmp_path / "there.db"
    with open_logbook(here) as logbook, open_logbook(there) as other, ENGINES[engine]() as executor:
        words, rows = expected(school(other), folder)
        found = batch(school(logbook), folder, executor=executor)
        same(told(found.tables, logbook), words)
        assert contents(logbook) == rows
        assert found.counts["added"] > 12
        assert found.counts["refused"] > 5
        assert found.counts["to confirm"] > 4
        assert found.counts["there already"] > 1
        assert not found.clean


def test_a_second_call_says_and_changes_what_a_second_class_add_does(folder, logbook, another_place):
    with open_logbook(another_place) as other:
        expected(school(other), folder)
        words, rows = expected(other, folder)
        batch(school(logbook), folder)
        for aside in folder.rglob("*-aside"):
            shutil.rmtree(aside)
        found = batch(logbook, folder)
        same(told(found.tables, logbook), words)
        assert contents(logbook) == rows


def test_files_go_as_bytes_to_who_does_not_see_them(folder, tmp_path):
    with open_logbook(tmp_path / "one.db") as logbook, open_logbook(tmp_path / "other.db") as other:
        words, rows = expected(school(other), folder)
        found = batch(school(logbook), folder, executor=Elsewhere())
        same(told(found.tables, logbook), words)
        assert contents(logbook) == rows


def test_a_table_is_corrected_as_class_add_corrects_it(folder, logbook, another_place):
    with open_logbook(another_place) as other:
        expected(school(other), folder)
        batch(school(logbook), folder)
        for name, old, new in (
            (
                "north/monday.csv",
                "TH-11,slalom-gym,S1.csv,2026-11-10,@09:01:00-@09:04:00,first",
                "TH-11,slalom-gym,S1.csv,2026-11-10,@09:01:20-@09:04:00,first again",
            ),
            ("round/tuesday-2.csv", "red-strap", "red-strap"),
            ("dates/dates.csv", "S41.csv,11/3/2026,01:00-04:00", "S41.csv,11/3/2026,01:10-04:00"),
            ("saved/office.csv", "nothing", "nothing"),
        ):
            path = folder / name
            path.write_bytes(path.read_bytes().replace(old.encode(), new.encode()))
        for aside in folder.rglob("*-aside"):
            shutil.rmtree(aside)
        words, _ = expected(other, folder)
        same(told(batch(logbook, folder).tables, logbook), words)  # told, and not changed
        for aside in folder.rglob("*-aside"):
            shutil.rmtree(aside)
        words, rows = expected(other, folder, correct=True)
        found = batch(logbook, folder, correct=True)
        same(told(found.tables, logbook), words)
        assert contents(logbook) == rows
        assert found.counts["corrected"] == 2
