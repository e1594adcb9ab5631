"""The logbook on both databases."""

import os

import pytest
from ownmark.records import open_logbook

from tests.records.server import Server, programs


@pytest.fixture(scope="session")
def server():
    if programs() is None:
        if os.environ.get("CI"):
            pytest.fail("PostgreSQL's server programs are missing: the logbook must be tested on them in CI")
        pytest.skip("PostgreSQL's server programs are not on this machine")
    running = Server()
    yield running
    running.stop()


@pytest.fixture(params=["sqlite", "postgresql"])
def place(request, tmp_path):
    """Where a logbook can be made."""
    if request.param == "sqlite":
        return str(tmp_path / "logbook.db")
    return request.getfixturevalue("server").url()


@pytest.fixture
def logbook(place):
    with open_logbook(place) as opened:
        yield opened


@pytest.fixture
def another_place(place, tmp_path, request):
    """A second place on the same database."""
    if place.startswith("postgresql"):
        return request.getfixturevalue("server").url()
    return str(tmp_path / "second.db")
