"""A logbook whose making was said again is the one that the steps make."""

import pytest
from ownmark.records import open_logbook
from ownmark.records.store import opening
from sqlalchemy import MetaData
from sqlalchemy.schema import CreateIndex, CreateTable

from tests.records.store.replayed import Replayed


def all_of(place):
    """Every table as it is, with its indexes and its rows."""
    with open_logbook(place, create=False) as logbook, logbook.reading() as connection:
        found = MetaData()
        found.reflect(connection)
        told = {}
        for table in found.sorted_tables:
            indexes = sorted(str(CreateIndex(each).compile(connection)) for each in table.indexes)
            rows = [tuple(row) for row in connection.execute(table.select())]
            told[table.name] = (str(CreateTable(table).compile(connection)), indexes, rows)
        if connection.dialect.name == "sqlite":
            told["sql"] = connection.exec_driver_sql("SELECT type, name, sql FROM sqlite_master ORDER BY name").all()
        assert len(told) > 8
        return told


def test_what_is_said_again_makes_the_tables_that_the_steps_make(place, another_place, request, tmp_path, monkeypatch):
    migrate = opening._migrate.migrate
    monkeypatch.setattr(opening, "_migrate", migrate)
    open_logbook(place).close()
    once = Replayed(migrate)
    monkeypatch.setattr(opening, "_migrate", once)
    last = str(tmp_path / "third.db") if place.endswith(".db") else request.getfixturevalue("server").url()
    open_logbook(another_place).close()
    once.migrate = lambda connection: pytest.fail("the steps were gone through again")
    open_logbook(last).close()
    assert all_of(place) == all_of(another_place) == all_of(last)
