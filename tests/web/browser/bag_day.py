"""The bag of the demo's class and a page over its logbook: what the browser tests of a class's day begin with."""

import shlex
import shutil
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

from ownmark.cli.main import main
from ownmark.records.store.logbook import open_logbook
from ownmark.sample_streams import bag
from ownmark.web.parts import OnFirstUse, Parts
from ownmark.web.session import Sessions

from tests.web.browser import hand
from tests.web.conftest import here
from tests.web.served import serving

DAY = bag.DAY.date()
DAY_SCREEN = f"/day/{DAY}"
NOW = datetime.fromisoformat(f"{DAY}T14:00:00-07:00")
"""The afternoon of that day, at the school."""
LIST = bag.BAG / "class.csv"
STRAPS = tuple(sorted(bag.BAG.glob("*.fit"), key=lambda path: int(path.stem[1:])))
FILES = (LIST, *STRAPS)
_KEPT = []


@cache
def _made_ready() -> Path:
    """A logbook with the students and the protocol, made by the commands once a process."""
    folder = TemporaryDirectory(prefix="ownmark-bag-")
    _KEPT.append(folder)
    place = Path(folder.name) / "logbook.db"
    set_up(place)
    return place


def set_up(place):
    """The commands that make a logbook ready for the bag."""
    for line in bag.SET_UP.splitlines():
        if main([*shlex.split(line), "--logbook", str(place)]):
            raise AssertionError(line)


def ready(place):
    """A logbook that is ready for the bag, at a place."""
    shutil.copyfile(_made_ready(), place)
    return place


@dataclass
class School:
    """A page over a logbook.

    faults : what went wrong inside
    """

    place: str
    parts: Parts
    base: str
    faults: list

    @property
    def link(self):
        """An address that begins a session."""
        return f"{self.base}/start/{self.parts.sessions.new_link()}"

    def trials(self):
        """The stored trials by student and day."""
        with open_logbook(self.place, create=False) as logbook:
            return {(each.code, each.on): each for each in logbook.trials()}

    def enter(self, page):
        """Begin a session in a tab."""
        return hand.entered(page, self.base, self.link)


@contextmanager
def school(place, language="en", now=NOW, *, apart=True):
    """The page over a logbook while the block runs; nothing may go wrong inside.

    apart : its worker is a process of its own, as a teacher has it; else its jobs are done here, through the same lines
    """
    faults = []
    parts = Parts(str(place), OnFirstUse(lambda: open_logbook(place)), Sessions(language), now=lambda: now)
    if not apart:
        here(parts)
    try:
        with serving(parts, faults.append) as port:
            yield School(str(place), parts, f"http://127.0.0.1:{port}", faults)
    finally:
        parts.close()
    if faults:
        raise faults[0]
