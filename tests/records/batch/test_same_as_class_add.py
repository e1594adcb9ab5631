"""A batch is class add, whoever does the work: every trial, field by field, and all that is told."""

import shutil
from itertools import zip_longest

import pytest
from ownmark.executors.serial import Serial
from ownmark.records import open_logbook
from ownmark.records.batch.tables import tables_in
from ownmark.records.batch.whole import Batch
from ownmark.records.batch.writer import How, Writer

from tests.records.batch.district import TODAY, by_class_add, contents, district, school, told


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


def batch(logbook, folder, executor=None, **how):
    writer = Writer(logbook, How(None, TODAY, **how))
    return Batch(executor or Serial(), writer, tables_in([folder])).run()


def test_every_trial_and_every_word_is_that_of_class_add(folder, logbook, another_place, tmp_path):
    with open_logbook(another_place) as other:
        expected = by_class_add(school(other), tables_in([folder]))
        for aside in folder.rglob("*-aside"):
            shutil.rmtree(aside)
        found = batch(school(logbook), folder)
        same(told(found.tables, logbook), told(expected, other))
        assert contents(logbook) == contents(other)
    states = found.counts
    assert states["added"] > 12
    assert states["refused"] > 5
    assert states["to confirm"] > 4
    assert states["there already"] > 1
