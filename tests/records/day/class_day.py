"""A class's day in a logbook: students, presses, received files of a simulated heart, rows, as the page has them."""

from datetime import datetime, timedelta

from ownmark.records.day.as_rows import Bag, needed, planned, rows_of_day
from ownmark.records.day.as_sources import as_sources, on_the_clock
from ownmark.records.day.happened import happened
from ownmark.records.day.storing import answered, store
from ownmark.records.day_entry import FileIn, Listed, Press, entry
from ownmark.records.plan.seen import see
from ownmark.records.store.day_entries import append, entries_of
from ownmark.records.store.received import received_at

from tests.makers.class_days import NINE, RECOVERY_S, REST_S, WORK_S, table
from tests.records.plan.bag import BEFORE_S, trial_bpm
from tests.records.store import made

DAY = NINE.date()
TODAY = DAY + timedelta(days=1)
AFTER = datetime.combine(DAY, datetime.min.time()) + timedelta(hours=14)
PROTOCOL = made.protocol("slalom", rest_s=REST_S, work_s=WORK_S, recovery_s=RECOVERY_S)


class ClassDay:
    """A day that can be listed, pressed, filled with files, planned, answered and stored."""

    def __init__(self, logbook, *codes):
        self.logbook, self.received = logbook, received_at(logbook.place)
        for code in codes:
            logbook.add_student(made.student(code))
        logbook.add_protocol(PROTOCOL)

    def enter(self, what, code=None, at=AFTER):
        return append(self.logbook, entry(DAY, at.replace(tzinfo=None), what, code))[0]

    def listed(self, code, strap=None, protocol="slalom", turn=1):
        return self.enter(Listed(protocol=protocol, strap=strap, turn=turn), code)

    def pressed(self, code, begin=NINE, turn=1):
        """The phases of a trial whose recording begins at ``begin``."""
        moments = (BEFORE_S, BEFORE_S + REST_S, BEFORE_S + REST_S + WORK_S)
        for what, after in zip(("rest_begins", "work_begins", "work_ends"), moments, strict=True):
            self.enter(Press(what=what, turn=turn), code, begin + timedelta(seconds=after))

    def dropped(self, name, data):
        """A received file; its SHA-256."""
        incoming = self.received.batch(DAY).begin(name)
        incoming.write(data)
        (found,) = incoming.done()
        self.enter(FileIn(sha256=found.sha256, name=found.name, size=found.size))
        return found.sha256

    def recorded(self, name, begin=NINE, seed=1, **more):
        return self.dropped(name, table(trial_bpm(seed, **more), begin))

    @property
    def now(self):
        return happened(DAY, entries_of(self.logbook, DAY))

    @property
    def rows(self):
        day = self.now
        there = [each for each in day.files if each.put_away is None]
        paths = {each.sha256: path for each in there if (path := self.received.path(DAY, each.sha256)) is not None}
        seen = list(see(list(paths.values()), None, self.logbook.holders))
        bag = Bag(on_the_clock(day, seen, None), paths)
        sources = as_sources(self.logbook, day, bag.clock.seen, zone=None, today=TODAY, paths=paths)
        return rows_of_day(day, planned(day, bag, sources), bag, sources)

    def row(self, code, turn=1):
        (found,) = [each for each in self.rows if (each.code, each.turn) == (code, turn)]
        return found

    def asked(self, code, turn=1):
        return [each.code for each in self.row(code, turn).asked]

    def answer(self, code, asked, kind, value=None, file=None, turn=1):
        """Give the answer of a kind to a question; there must be exactly one such."""
        rows = self.rows
        (row,) = [each for each in rows if (each.code, each.turn) == (code, turn)]
        (question,) = [each for each in row.asked if each.code == asked]
        (found,) = [
            each
            for each in question.answers
            if each.kind == kind and value in (None, each.value) and file in (None, each.file)
        ]
        append(self.logbook, *answered(self.now, rows, row, found, question.mark, AFTER.replace(tzinfo=None)))
        return question

    def stored(self, code, turn=1):
        return store(self.logbook, DAY, self.row(code, turn), AFTER.replace(tzinfo=None), today=TODAY, zone=None)

    @property
    def needed(self):
        return needed(self.rows)
