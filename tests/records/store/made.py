"""Students, protocols, trials and sheets for tests of the logbook; nothing of them is real."""

import hashlib
from datetime import date
from functools import cache

import numpy as np
from ownmark.metrics import Phases, choose_basis, effort
from ownmark.records import KeptFile, MeasuredRate, Protocol, Student, Trial

from tests.makers.recordings import every_second

DAY = date(2026, 11, 28)
"""The day on which something is mended; every trial is older."""


def student(code="TH-11", **more):
    """A student with a rest and a maximum."""
    fields = {
        "born": "2012-04",
        "rests": (MeasuredRate(bpm=72, on=date(2026, 9, 1)),),
        "maxima": (MeasuredRate(bpm=188, on=date(2026, 9, 1)),),
    }
    return Student(code=code, **{**fields, **more})


def protocol(name="slalom-gym", version=1, **more):
    """An aerobic protocol."""
    fields = {"title": "Slalom", "component": "aerobic", "primary_figure": "heart_rate_mean", "better": "lower"}
    return Protocol(name=name, version=version, **{**fields, **more})


@cache
def sheet(seed=0):
    """A sheet that ownmark worked out."""
    bpm = 110 + seed % 7 + 20 * np.sin(np.arange(600) / 40 + seed)
    basis = choose_basis(rest_bpm=72, measured_max_bpm=188)
    return effort(every_second(bpm), basis, Phases(work=(60, 500), recovery=(500, 590)))


def trial(code="TH-11", on=date(2026, 10, 6), protocol="slalom-gym", version=1, **more):
    """A trial."""
    return Trial(code=code, protocol=protocol, protocol_version=version, on=on, **more)


def recording(seed=0):
    """A table of heart rate, one a second, as bytes."""
    bpm = 100 + seed % 13 + np.round(20 * np.sin(np.arange(600) / 40 + seed)).astype(int)
    rows = "".join(f"{second},{value}\n" for second, value in enumerate(bpm))
    return f"time_s,heart_rate\n{rows}".encode()


def kept(name, data):
    """How a trial names a file."""
    return KeptFile(path=name, sha256=hashlib.sha256(data).hexdigest(), size=len(data))


def filled(logbook, codes=("TH-11", "BF-07"), trials_each=2):
    """Add students, the protocol, and trials with a file each; give the trials."""
    logbook.add_protocol(protocol())
    added = []
    for place, code in enumerate(codes):
        logbook.add_student(student(code))
        for turn in range(trials_each):
            seed = 10 * place + turn
            day = date(2026, 9, 10 + turn)
            one = trial(code, day, sheet=sheet(seed % 3), notes=f"turn {turn} of {code}")
            added.append(logbook.add_trial(one, [(f"strap-{turn}.csv", recording(seed))]))
    return added


def bare_edit(logbook, code, **changes):
    """A student's fields replaced and nothing worked out, as only an older program or a test leaves it."""
    with logbook.within() as inside:
        return inside.edit_student(code, **changes)
