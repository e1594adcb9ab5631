"""Fixtures that every test may use, and what a run says of tests that could not be run."""

import gc
import os
import signal
from contextlib import suppress
from pathlib import Path

import pytest
from hypothesis import settings

from tests.outside import parts

settings.register_profile("ownmark", deadline=None)  # no test is timed: machines are noisy
settings.load_profile("ownmark")

# Who starts a run in the background has Ctrl-C ignored, and every process of the tests would ignore it too.
if signal.getsignal(signal.SIGINT) is signal.SIG_IGN:
    with suppress(ValueError):  # only the main thread can
        signal.signal(signal.SIGINT, signal.default_int_handler)

# The longest that a test may take, with what is made ready for it; then it fails with its stack (pytest-timeout).
LONGEST_S = 300
LONGEST_SOAK_S = 3600


@pytest.fixture(scope="session")
def real_dir() -> Path:
    """Folder of the open recordings, outside the tree."""
    return parts.RECORDINGS.need()


@pytest.fixture(scope="session")
def server():
    """A PostgreSQL server; each ``url()`` of it leads to an empty schema."""
    from tests.records.store.server import Server

    running = Server(parts.POSTGRESQL.need())
    yield running
    running.stop()


def pytest_addoption(parser):
    parser.addoption("--longest", type=float, help="the longest that a test may take [s]")


def pytest_collection_modifyitems(config, items):
    for item in items:
        usual = LONGEST_SOAK_S if item.get_closest_marker("soak") else LONGEST_S
        item.add_marker(pytest.mark.timeout(config.option.longest or usual))


@pytest.hookimpl(wrapper=True)
def pytest_collection():
    """What stands until the run's end is not searched for waste again and again while it is being gathered."""
    gc.disable()
    try:
        return (yield)
    finally:
        gc.collect()
        gc.freeze()
        gc.enable()


def _skipped(config):
    """The skipped tests of a run as ``(test, reason)``."""
    reporter = config.pluginmanager.get_plugin("terminalreporter")
    reports = reporter.stats.get("skipped", []) if reporter else []
    return [(report.nodeid, str(report.longrepr[2]).removeprefix("Skipped: ")) for report in reports]


@pytest.hookimpl(trylast=True)
def pytest_sessionfinish(session):
    """In CI nothing may be left out."""
    if os.environ.get("CI") and not hasattr(session.config, "workerinput") and _skipped(session.config):
        session.exitstatus = pytest.ExitCode.TESTS_FAILED


@pytest.hookimpl(trylast=True)
def pytest_unconfigure(config):
    """The last lines of a run: what could not be checked, and how to get it."""
    if hasattr(config, "workerinput") or config.option.collectonly:
        return
    lines = parts.unchecked(_skipped(config))
    if lines and os.environ.get("CI"):
        print("In CI nothing may be left out:")
    for line in lines:
        print(f"Not checked here: {line}")
