"""Reading: from bytes on disk to a cleaned heart rate, against the libraries that read the same."""

import tempfile
import warnings
from io import BytesIO
from pathlib import Path

import fitfast
from defusedxml import ElementTree
from fitparse import FitFile
from ownmark.ingest import read
from ownmark.ingest.fit import reader as fit_reader
from ownmark.ingest.recording import Source
from ownmark.metrics import choose_basis, effort

from tests.bench.clock import Job, median, ratio, side_by_side
from tests.bench.files import fit_file, gpx_file, tcx_file

_MINUTES_20, _HOURS_8 = 1200, 8 * 3600


def fit() -> None:
    """Heart rate from FIT against two other readers: decoded as they do, and whole with hash and cleaning."""
    print("FIT, 1 Hz, to heart rate; how many times as long the others take")
    with tempfile.TemporaryDirectory() as folder:
        for words, seconds, rounds in (("20 min", _MINUTES_20, 9), ("8 h", _HOURS_8, 3)):
            path = Path(folder) / f"{seconds}.fit"
            path.write_bytes(fit_file(seconds))
            jobs = {
                "decoded": _decoded(path),
                "whole": _own(path),
                "fitparse": _fitparse(path),
                "fitfast": _fitfast(path),
            }
            spent = side_by_side(jobs, rounds)
            for name, what in (("decoded", "decoded"), ("whole", "hashed, decoded and cleaned")):
                print(
                    f"  {words:<6} {what:<28} {1000 * median(spent[name]):6.2f} ms; "
                    f"fitparse {ratio(spent, 'fitparse', name):5.0f}, fitfast {ratio(spent, 'fitfast', name):5.2f}"
                )


def _own(path: Path) -> Job:
    return lambda: read(path)["heart_rate"].values


def _decoded(path: Path) -> Job:
    return lambda: fit_reader.read(path.read_bytes(), Source(path.name))["heart_rate"].values


def _fitparse(path: Path) -> Job:
    def job() -> list[object]:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            return [message.get_value("heart_rate") for message in FitFile(str(path)).get_messages("record")]

    return job


def _fitfast(path: Path) -> Job:
    return lambda: fitfast.records(str(path))["heart_rate"]


def xml() -> None:
    """TCX and GPX against a bare parse by the XML library that the readers use."""
    print("20 min of TCX and GPX, whole `read` over a bare iterparse by the same library")
    with tempfile.TemporaryDirectory() as folder:
        for kind, data in (("TCX", tcx_file(_MINUTES_20)), ("GPX", gpx_file(_MINUTES_20))):
            path = Path(folder) / f"{kind}.xml"
            path.write_bytes(data)
            spent = side_by_side({"ownmark": _own(path), "bare": _bare(data)}, 21)
            print(
                f"  {kind}  ownmark {1000 * median(spent['ownmark']):6.1f} ms, "
                f"{ratio(spent, 'ownmark', 'bare'):5.2f} times the bare parse"
            )


def _bare(data: bytes) -> Job:
    def job() -> None:
        for _ in ElementTree.iterparse(BytesIO(data), forbid_dtd=True):
            pass

    return job


def linear() -> None:
    """Cost against length, up to a day."""
    print("Cost per hour of recording, file to sheet (1 h = 1)")
    basis = choose_basis(rest_bpm=70, measured_max_bpm=195)
    with tempfile.TemporaryDirectory() as folder:
        for kind, make in (("FIT", fit_file), ("TCX", tcx_file)):
            jobs: dict[str, Job] = {}
            for hours in (1, 6, 24):
                path = Path(folder) / f"{hours}.{kind}"
                path.write_bytes(make(3600 * hours))
                jobs[str(hours)] = lambda path=path: effort(read(path), basis)
            spent = side_by_side(jobs, 5 if kind == "FIT" else 2)
            cost = {hours: median(spent[hours]) / float(hours) for hours in spent}
            print(f"  {kind}  " + ", ".join(f"{hours} h: {cost[hours] / cost['1']:.2f}" for hours in cost))
