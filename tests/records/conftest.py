"""The logbook on both databases."""

import pytest
from ownmark.records import open_logbook
from ownmark.records.store import opening

from tests.records.store.replayed import Replayed
from tests.records.store.zygote import Zygote


@pytest.fixture(scope="session", autouse=True)
def new_logbooks_by_kept_sql():
    """Going through the steps of a new logbook takes longer than most tests that need one (``store/replayed.py``)."""
    with pytest.MonkeyPatch.context() as patch:
        if not isinstance(opening._migrate, Replayed):
            patch.setattr(opening, "_migrate", Replayed(opening._migrate))
        yield


@pytest.fixture(scope="session")
def zygote():
    """What forks writers that are to be killed: getting ready takes it longer than most of them live."""
    running = Zygote()
    yield running
    running.stop()


@pytest.fixture(scope="session")
def another_zygote():
    """A second one, for two writers at once."""
    running = Zygote()
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
