"""What of a file is kept: the file itself where it is one recording of the trial, an excerpt where it is more."""

import gzip
import hashlib
import io
import zipfile
from datetime import date

import pytest
from ownmark.ingest import containers
from ownmark.records import Trial
from ownmark.records.measuring import files_of, sheet_of
from ownmark.records.trial_span import kept_files

from tests.records.store.made import protocol, recording, student

TABLE = recording(1)
TRIAL = Trial(code="TH-11", protocol="slalom-gym", protocol_version=1, on=date(2026, 10, 6), work="01:00-09:00")


def archive(**files):
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w") as zipped:
        for name, data in files.items():
            zipped.writestr(name, data)
    return made.getvalue()


def kept(name, data, shared=()):
    """What is kept of one file, with its bytes."""
    originals = [(name, data)]
    files = files_of(TRIAL, originals)
    found = sheet_of(TRIAL, student(), protocol(), files)
    assert found is not None
    return kept_files(found[1], files, originals, shared)


@pytest.mark.parametrize("data", [TABLE, gzip.compress(TABLE, mtime=0)], ids=["plain", "gzip"])
def test_a_file_of_one_recording_is_kept_byte_for_byte_under_its_own_hash(data):
    ((file, held),) = kept("strap.csv", data)
    assert held is data
    assert (file.path, file.sha256, file.size) == ("strap.csv", hashlib.sha256(data).hexdigest(), len(data))
    assert file.recording == hashlib.sha256(TABLE).hexdigest()


def test_of_an_archive_the_recordings_are_kept_and_never_the_archive():
    data = archive(a=TABLE)
    ((file, held),) = kept("bag.zip", data)
    assert held != data
    assert containers.is_zip(data)
    assert file.recording == hashlib.sha256(TABLE).hexdigest()
    assert file.sha256 == hashlib.sha256(held).hexdigest() != file.recording
    assert file.size == len(held)


def test_of_a_file_that_another_trial_is_in_an_excerpt_is_kept():
    of = hashlib.sha256(TABLE).hexdigest()
    ((file, held),) = kept("strap.csv", TABLE, shared=(of,))
    assert file.recording == of
    assert file.sha256 == hashlib.sha256(held).hexdigest() != of


def test_a_whole_file_is_not_hashed_again(monkeypatch):
    from ownmark.records import trial_span

    originals = [("strap.csv", TABLE)]
    files = files_of(TRIAL, originals)
    found = sheet_of(TRIAL, student(), protocol(), files)
    monkeypatch.setattr(trial_span, "hashlib", None)
    ((file, _),) = kept_files(found[1], files, originals, ())
    assert file.sha256 == files.recordings[0].sources[0].sha256
