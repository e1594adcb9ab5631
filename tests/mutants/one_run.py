"""One run of the tests in a forked process, in which a module may be another than its file says.

Everything of others is imported once, before the fork; ownmark and its tests are imported after it, so that a changed
module is changed wherever it is used. The change is in memory: whatever ends this process, no file is touched. What the
tests start as programs of their own is not changed.
"""

import importlib
import importlib.util
import json
import os
import resource
import signal
import sys
import time
import traceback
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryFile

import pytest

MEMORY = 6 << 30
OURS = ("ownmark", "tests", "__main__", "conftest")


@dataclass(frozen=True, slots=True)
class Ended:
    """How a run ended: ``green``, ``red``, ``no tests`` or ``too long``, the first test that failed, seconds."""

    how: str
    by: str | None
    took_s: float
    durations: dict[str, float]  # of each test that passed
    modules: tuple[str, ...]  # of others, that the run imported


class _Other:
    """Finds one module as compiled code."""

    def __init__(self, name, path, code):
        self.name, self.path, self.code = name, path, code

    def find_spec(self, name, path=None, target=None):
        if name == self.name:
            return importlib.util.spec_from_file_location(name, self.path, loader=self)
        return None

    def create_module(self, spec):
        return None

    def exec_module(self, module):
        exec(self.code, module.__dict__)


class _Watch:
    """Puts the tests that are quick to notice first, leaves the slow ones out and tells how they went."""

    def __init__(self, first, left_out):
        self.first, self.left_out = first, left_out
        self.durations, self.failed = {}, None

    @pytest.hookimpl(trylast=True)
    def pytest_configure(self, config):
        from hypothesis import settings

        settings.register_profile("mutants", deadline=None, derandomize=True, database=None)
        settings.load_profile("mutants")

    def pytest_collection_modifyitems(self, items):
        items[:] = [each for each in items if each.nodeid not in self.left_out]
        order = {name: at for at, name in enumerate(self.first)}
        items.sort(key=lambda item: order.get(item.nodeid, len(order)))

    def pytest_runtest_logreport(self, report):
        if report.failed and self.failed is None:
            self.failed = report.nodeid
        self.durations[report.nodeid] = self.durations.get(report.nodeid, 0.0) + report.duration


def run(tests, *, root, scratch, other=None, limit_s, first=(), left_out=frozenset()):
    """Run the tests in a fork and wait for it; ``other`` is ``(name, path, code)`` of the module that is another."""
    with TemporaryFile(dir=scratch) as told:
        began = time.monotonic()
        child = os.fork()
        if child == 0:
            _child(tests, root, scratch, other, _Watch(first, left_out), told, int(limit_s) + 10)
        in_time = _wait(child, limit_s)
        took = time.monotonic() - began
        told.seek(0)
        text = told.read()
    if not in_time:
        return Ended("too long", None, took, {}, ())
    if not text:
        return Ended("red", "ended without a word", took, {}, ())
    answer = json.loads(text)
    how = {0: "green", 5: "no tests"}.get(answer["code"], "red")
    return Ended(how, answer["failed"] or answer["why"], took, answer["durations"], tuple(answer["modules"]))


def _wait(child, limit_s):
    """Whether the child ended by itself in time."""
    until = time.monotonic() + limit_s
    try:
        while time.monotonic() < until:
            if os.waitpid(child, os.WNOHANG)[0]:
                return True
            time.sleep(0.01)
    except BaseException:
        _end(child)
        raise
    _end(child)
    return False


def _end(child):
    """End the child and what it started: it leads a group of its own."""
    for ending in (os.killpg, os.kill):
        try:
            ending(child, signal.SIGKILL)
        except (ProcessLookupError, PermissionError):
            continue
    os.waitpid(child, 0)


def _child(tests, root, scratch, other, watch, told, seconds):
    answer = {"code": 3, "failed": None, "why": None, "durations": {}, "modules": []}
    try:
        os.setpgid(0, 0)
        os.chdir(root)
        quiet = os.open(os.devnull, os.O_RDWR)
        for stream in (0, 1, 2):
            os.dup2(quiet, stream)
        resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
        resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
        resource.setrlimit(resource.RLIMIT_CPU, (seconds, seconds))  # it ends even if nobody is left to end it
        if other:
            sys.meta_path.insert(0, _Other(*other))
        words = [
            "-x",
            "-q",
            "--assert=plain",
            "-p",
            "no:cacheprovider",
            "-p",
            "no:xdist",
            f"--basetemp={scratch}/tests",
        ]
        answer["code"] = int(pytest.main([*words, *tests], plugins=[watch]))
        answer |= {"failed": watch.failed, "durations": watch.durations, "why": "the tests could not be loaded"}
        answer["modules"] = [name for name in sys.modules if name.split(".")[0] not in OURS]
    except BaseException:  # noqa: BLE001 whatever a changed module does, it is told
        answer["why"] = traceback.format_exc()[-500:]
    finally:
        try:
            told.write(json.dumps(answer).encode())
            told.flush()
        finally:
            os._exit(0)


def warm(names):
    """Import the modules of others that the tests will ask for; each fork then has them."""
    for name in names:
        try:
            importlib.import_module(name)
        except Exception:  # noqa: BLE001 what cannot be imported alone is imported by the tests
            continue


def module_name(path: str) -> str:
    """``metrics/bounds.py`` as ``ownmark.metrics.bounds``."""
    return ".".join(("ownmark", *Path(path).with_suffix("").parts))
