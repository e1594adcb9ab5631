"""The page over a small logbook, asked without a socket."""

import json

import pytest
from ownmark.records.store.logbook import open_logbook
from ownmark.web.app import build
from ownmark.web.jobs.state import State
from ownmark.web.measuring import Measuring
from ownmark.web.parts import OnFirstUse, Parts
from ownmark.web.pipe import line_of
from ownmark.web.session import Sessions
from ownmark.web.worker import answer_of
from starlette.testclient import TestClient

from tests.records.conftest import new_logbooks_by_kept_sql  # noqa: F401

PORT = 8417
BASE = f"http://127.0.0.1:{PORT}"


class Here(Measuring):
    """The worker's jobs in this process, through the same lines: a process of its own for each test takes a second.

    ``test_measuring``, ``test_jobs``, ``test_killed`` and most tests of a class's day in a browser have the real one.
    """

    def __init__(self, place):
        super().__init__(place)
        self.state = State(place)

    def _asked(self, line):
        job = json.loads(line)
        return json.loads(line_of(answer_of(self.state, job["job"], job["values"], trace=True)))

    def close(self):
        self.state.close()


def here(parts):
    """The same page with the worker's jobs in this process."""
    object.__setattr__(parts, "measuring", Here(parts.place))
    return parts


class Clock:
    """A clock that is set by hand [s]."""

    def __init__(self):
        self.now = 1000.0

    def __call__(self):
        return self.now


@pytest.fixture
def clock():
    return Clock()


@pytest.fixture
def place(tmp_path):
    """Where the logbook of these tests lies."""
    return str(tmp_path / "logbook.db")


@pytest.fixture
def parts(place, clock):
    """What the screens work with, over a new logbook."""
    found = Parts(place, OnFirstUse(lambda: open_logbook(place)), Sessions("en", clock))
    yield here(found)
    found.close()


@pytest.fixture
def faults():
    """What went wrong inside while a test ran."""
    return []


@pytest.fixture
def stranger(parts, faults):
    """A browser without a session."""
    return browser(parts, faults.append)


@pytest.fixture
def teacher(parts, faults):
    """A browser that opened the link. Nothing may go wrong inside while it looks around."""
    client = browser(parts, faults.append)
    answer = client.get(f"/start/{parts.sessions.new_link()}")
    assert answer.status_code == 200
    yield client
    assert faults == []


def browser(parts, fault=None):
    """A client that sends what a browser sends from a page of ours."""
    app = build(parts, PORT, fault or (lambda _found: None))
    client = TestClient(app, base_url=BASE, follow_redirects=False)
    client.headers["Sec-Fetch-Site"] = "same-origin"
    return client
