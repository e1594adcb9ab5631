"""Made students of one class, as outlines and as trials, without a logbook."""

from datetime import timedelta

from ownmark.records.classmates import Classmates
from ownmark.records.pooling import spreads_of
from ownmark.records.store.student_overview import Outline

from tests.records.makers import CRANK, FIRST, trial


class Class:
    """Made students: (code, day, value, facts) of each trial, numbered from 1."""

    def __init__(self, *trials, protocol=CRANK, made=trial):
        self.protocol, self.loaded = protocol, []
        self.rows, self._trials, self.marks = [], {}, lambda numbers: {}
        for number, (code, day, value, facts) in enumerate(trials, start=1):
            on, version, practice = FIRST + timedelta(days=day), facts.pop("version", 1), facts.get("practice", False)
            self.rows.append(Outline(number, code, protocol.name, version, on, practice))
            values = value if isinstance(value, tuple) else (value,)
            self._trials[number] = made(day, *values, protocol=protocol, id=number, **facts)

    def load(self, numbers):
        self.loaded.append(list(numbers))
        return [self._trials[number] for number in numbers]

    def spreads(self, fits=None, chosen=None, known=None):
        fits = {1: True} if fits is None else fits
        found = spreads_of(self.rows, self.protocol, fits, self.load, on_basis, chosen or {}, known, self.marks)
        return None if found is None else dict(found.by_code)

    def mates(self, fits=None):
        return Classmates(self.rows, self.protocol, fits or {1: True}, self.load, on_basis)

    def seen(self, *numbers):
        return [self._trials[number] for number in numbers]


def on_basis(first, other):
    return other
