"""What was found already, in one file outside the tree, so that a run that was ended goes on where it stood.

A change that was noticed counts until its module changes; one that was not, until its module or its tests change.
"""

import hashlib
import json
import os
from pathlib import Path

from platformdirs import user_cache_path

from tests.mutants.module_tests import ROOT

PLACE = "OWNMARK_MUTANTS"  # another file for the results


def _digest(*texts):
    return hashlib.sha256("\0".join(texts).encode()).hexdigest()[:20]


class Kept:
    """Results by module, its text, its tests' text and the change."""

    def __init__(self, *, afresh=False):
        self.path = Path(os.environ.get(PLACE) or user_cache_path("ownmark-tests") / "mutants.jsonl")
        self.path.parent.mkdir(parents=True, exist_ok=True)
        self.found = {}
        if self.path.exists() and not afresh:
            for line in self.path.read_text().splitlines():
                try:
                    row = json.loads(line)
                    self.found[row["at"]] = row["by"]
                except (ValueError, KeyError, TypeError):
                    continue  # a line that was cut when a run was ended

    @staticmethod
    def places(module, source, tests, mutant):
        """The two places of a result: with the tests' text, and without."""
        texts = [(ROOT / each).read_text() for each in tests]
        return _digest(module, source, mutant.key), _digest(module, source, mutant.key, *texts)

    def get(self, places):
        """``(known, by)``: by which test the change was noticed, None if by none."""
        for place in places:
            if place in self.found:
                return True, self.found[place]
        return False, None

    def put(self, places, by):
        """Keep one result at once."""
        place = places[0] if by else places[1]
        self.found[place] = by
        with self.path.open("a") as file:
            file.write(json.dumps({"at": place, "by": by}) + "\n")
