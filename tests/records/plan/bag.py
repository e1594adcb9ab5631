"""A bag of files and the tables beside it, planned without a command: what is to look at, by file or by student."""

from datetime import timedelta

import numpy as np
from ownmark.records.plan.day import plan_day
from ownmark.records.plan.known import with_roster
from ownmark.records.plan.seen import see
from ownmark.records.plan.sources import Listed, Sources
from ownmark.records.wearing import Worn

from tests.makers.class_days import NINE, RECOVERY_S, REST_S, WORK_S, clock, heart, seconds_of_day, table
from tests.records.plan.judged import codes_of
from tests.records.store import made

BEFORE_S, AFTER_S = 30.0, 40.0


def trial_bpm(seed=1, before_s=BEFORE_S, after_s=AFTER_S):
    """One student's trial, one value a second."""
    return heart(np.random.default_rng([seed, 5]), before_s, after_s)[0]


class Bag:
    """Files in a folder; ``trial`` also writes the start into the time table."""

    def __init__(self, folder, *codes):
        self.folder, self.codes, self.starts, self.worn = folder, codes or ("TH-11",), {}, []
        self.more = {}
        folder.mkdir(parents=True, exist_ok=True)

    def write(self, name, data):
        (self.folder / name).write_bytes(data)

    def trial(self, name, code=None, start=NINE, seed=1, **more):
        self.write(name, table(trial_bpm(seed, **more), start))
        if code is not None:
            self.begun(code, (start or NINE) + timedelta(seconds=more.get("before_s", BEFORE_S)))

    def begun(self, code, moment):
        self.starts[code] = seconds_of_day(moment)

    def sources(self):
        roster = tuple(Listed(code, "slalom") for code in self.codes)
        known = {
            "roster": roster,
            "worn": with_roster(tuple(Worn(*each) for each in self.worn), roster),
            "starts": self.starts,
            "known": frozenset(self.codes),
            "protocols": {"slalom": made.protocol("slalom", rest_s=REST_S, work_s=WORK_S, recovery_s=RECOVERY_S)},
        }
        return Sources(**{**known, **self.more})

    def plan(self, holders=lambda _: ()):
        sources = self.sources()
        return plan_day(list(see(sorted(self.folder.iterdir()), sources.zone, holders)), sources)

    def row(self, code="TH-11", **more):
        (found,) = [row for row in self.plan(**more).rows if row.code == code]
        return found

    def told(self, code="TH-11", **more):
        return codes_of(self.row(code, **more).checks)


def begun_text(moment=NINE, before_s=BEFORE_S):
    """The start of a trial as people write it."""
    return clock(seconds_of_day(moment) + before_s)
