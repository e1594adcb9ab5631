"""From kept originals to a picture: what is shown is what the sheet says."""

import subprocess
import sys
from functools import cache

import numpy as np
import pytest
from ownmark.errors import IngestError, NothingMeasured
from ownmark.metrics.timeline import hold, whole_span
from ownmark.records.measuring import measured, recording_of
from ownmark.records.student import Student
from ownmark.records.trial import KeptFile, Trial
from ownmark.reports import pictures
from ownmark.reports.pictures.series import length_within
from ownmark.reports.pictures.trial import trial_figure
from ownmark.sample_streams import FOLDER
from ownmark.words.render import english

from .. import pages_made
from .pictures_made import EN, shape, spans

WHICH = pytest.mark.parametrize("which", pages_made.TRIALS)


def originals(which):
    return [(file.path, (FOLDER / file.path).read_bytes()) for file in pages_made.trial(which).files]


@cache
def series(which):
    trial = pages_made.trial(which)
    student, protocol = pages_made.STUDENTS[trial.code], pages_made.protocol(trial.protocol)
    return pictures.series_of(trial, student, protocol, originals(which), trial.sheet)


@WHICH
def test_the_mean_is_the_sheets_and_that_of_the_rows(which):
    sheet = pages_made.trial(which).sheet
    begin, end = sheet.provenance.phases.work
    found = series(which)
    assert found.mean_bpm == sheet.figures["heart_rate_mean"].value
    length = np.clip(np.minimum(found.until_s, end) - np.maximum(found.time_s, begin), 0, None) * found.measured
    assert np.average(np.nan_to_num(found.bpm), weights=length) == pytest.approx(found.mean_bpm)


@WHICH
def test_gaps_at_work_are_those_of_the_sheet(which):
    stated = pages_made.trial(which).sheet.provenance
    work = stated.phases.work
    found = series(which)
    cut = [(max(a, work[0]), min(b, work[1])) for a, b in found.unmeasured]
    shown = np.reshape([each for each in cut if each[1] - each[0] > 1e-6], (-1, 2))
    assert np.allclose(shown, np.reshape(stated.unmeasured, (-1, 2)))


@WHICH
def test_rows_lie_end_to_end_over_the_recording(which):
    found = series(which)
    assert np.allclose(found.until_s[:-1], found.time_s[1:], atol=1e-6)
    assert found.time_s[0] == pytest.approx(found.begin_s, abs=1e-6)
    assert found.until_s[-1] == pytest.approx(found.end_s, abs=1e-6)


@pytest.mark.parametrize("which", ["chair", "crank"])
def test_moving_time_and_crossings_are_those_of_the_sheet(which):
    sheet, found = pages_made.trial(which).sheet, series(which)
    work = sheet.provenance.phases.work
    assert length_within(found.moving, work) == pytest.approx(sheet.figures["moving_time"].value)
    above = sheet.figures["time_above_ceiling"].value
    if which == "chair":
        assert found.placement == "frame"
        assert above > 0
        whole = found.begin_s, found.end_s
        assert length_within(found.crossings, whole) >= above  # short dips included
        assert length_within(sheet.provenance.above_ceiling, whole) == pytest.approx(above)
    else:
        assert above is None
        assert found.crossings == ()
        rates = [rate for time, rate in found.cadence if work[0] <= time <= work[1]]
        assert np.mean(rates) == pytest.approx(sheet.figures["cadence_mean"].value, abs=1)


def test_zones_are_drawn_by_the_rest_and_maximum_of_the_sheet():
    stated = pages_made.trial("crank").sheet.provenance.basis
    rest, top = stated.rest_bpm, stated.maximum_bpm
    # 40 and 60 % of reserve, Karvonen
    moderate = {name: (low, high) for name, low, high in series("crank").zones}["moderate"]
    assert moderate == pytest.approx((rest + 0.4 * (top - rest), rest + 0.6 * (top - rest)))
    assert series("spinal").zones is None
    assert "spinal cord injury" in pictures.trial_picture(series("spinal"), EN).alt


def _table(bpm):
    return "\n".join(["Seconds,Heart Rate (bpm)", *(f"{second},{rate}" for second, rate in enumerate(bpm))]).encode()


def _picture_of(data, *, conditions=(), rest=70.0, maximum=180.0):
    """What a picture shows of a trial of one table, and its sheet."""
    student = Student(code="TH-12", conditions=conditions, rests=({"bpm": rest},), maxima=({"bpm": maximum},))
    protocol = pages_made.protocol("arm-crank-steady")
    file = KeptFile(path="strap.csv", sha256="0" * 64, size=1)
    trial = Trial(id=1, code="TH-12", protocol=protocol.name, protocol_version=1, on=pages_made.DAY, files=(file,))
    sheet, _ = measured(trial, student, protocol, [("strap.csv", data)])
    return pictures.series_of(trial, student, protocol, [("strap.csv", data)], sheet), sheet


LEVEL_BPM = np.concatenate((100 + np.arange(300) % 3, np.full(300, 60), 100 + np.arange(300) % 3))


@pytest.mark.parametrize("conditions", [(), ("pacemaker",)])
def test_a_level_rate_is_drawn_where_the_sheet_uses_it_and_hatched_where_it_does_not(conditions):
    found, sheet = _picture_of(_table(LEVEL_BPM), conditions=conditions)
    gaps = ((300 + 1, 600),) if not conditions else ()
    assert sheet.provenance.unmeasured == gaps
    assert found.unmeasured == gaps


@pytest.mark.parametrize(("maximum", "drawn"), [(89.5, False), (90.0, True)])
def test_no_classes_are_drawn_where_the_reserve_is_too_small_to_divide(maximum, drawn):
    found, sheet = _picture_of(_table(75 + np.arange(600) % 3), maximum=maximum)
    assert (sheet.figures["time_moderate"].value is not None) is drawn
    assert (found.zones is not None) is drawn
    assert (found.no_zones is None) is drawn
    assert drawn or "too little to divide" in english(found.no_zones)


def test_the_loose_strap_is_hatched_where_nothing_was_measured():
    found = series("loose")
    drawn = trial_figure(found, EN)
    recording = recording_of(pages_made.trial("loose"), originals("loose"))
    pulse = recording["heart_rate"]
    gaps = hold(pulse, *whole_span(pulse)).gaps()
    hatched = shape(drawn.figure, "heart-rate-not-measured")
    assert len(gaps) > 2
    assert np.allclose(spans(hatched, drawn.pulse), gaps)


def test_a_trial_without_readable_files_is_refused():
    trial = pages_made.trial("loose")
    with pytest.raises(NothingMeasured):
        recording_of(trial, [])
    with pytest.raises(IngestError):
        recording_of(trial, [("torn.fit", b"no recording")])


def test_the_drawing_library_is_loaded_only_when_something_is_drawn():
    code = "import sys, ownmark.reports.pictures as p; p.series_of; p.trial_picture; print('matplotlib' in sys.modules)"
    found = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert found.stdout.strip() == "False"


def test_no_module_of_the_pictures_loads_the_drawing_librarys_global_state():
    code = (
        "import pkgutil, sys, importlib, ownmark.reports.pictures as p\n"
        "for each in pkgutil.iter_modules(p.__path__): importlib.import_module(f'{p.__name__}.{each.name}')\n"
        "import matplotlib.figure, matplotlib.backends.backend_svg, matplotlib.backends.backend_agg\n"
        "print('matplotlib.pyplot' in sys.modules)"
    )
    found = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert found.stdout.strip() == "False"
