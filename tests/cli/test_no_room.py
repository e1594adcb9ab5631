"""Folders that cannot be written and full disks: the sentence names what could not be written, not the logbook."""

import errno
import os
import shutil
from functools import lru_cache

import pytest
from ownmark.cli import demo
from ownmark.cli.main import main
from ownmark.errors import DiskFull, LogbookReadOnly, NoLogbook, UnreadableFile
from ownmark.records.store import backup, disclose
from ownmark.records.store.failures import told
from ownmark.reports.render import pdf


@pytest.fixture
def run(capsys, tmp_path, monkeypatch):
    monkeypatch.setenv("OWNMARK_LOGBOOK", str(tmp_path / "logbook.db"))
    assert main(["student", "add", "TH-11"]) == 0

    def call(*words, code=1):
        capsys.readouterr()
        assert main([str(word) for word in words]) == code
        return capsys.readouterr().err

    return call


def failing(number):
    def fail(*_, **__):
        raise OSError(number, os.strerror(number), "there")

    return fail


@pytest.mark.parametrize("number", [errno.EROFS, errno.EACCES, errno.EPERM])
def test_a_copy_that_may_not_be_written_is_not_told_of_the_logbook(number):
    with (
        pytest.raises(
            UnreadableFile, match=r"^out: this account may not write here\. Name another place\. The logbook is as"
        ),
        told("out", writing=True, beside=True),
    ):
        raise OSError(number, "no", "there")
    with pytest.raises(LogbookReadOnly), told("out", writing=True):
        raise OSError(number, "no", "there")


def test_any_other_error_of_the_disk_at_a_copy_is_said():
    with pytest.raises(UnreadableFile, match=r"^out: is a directory\."), told("out", writing=True, beside=True):
        raise OSError(errno.EISDIR, "Is a directory", "there")
    with pytest.raises(UnreadableFile, match=r"^out: it cannot be written\."), told("out", writing=True, beside=True):
        raise OSError
    for number in (errno.ENOSPC, errno.EDQUOT, errno.EFBIG):
        with pytest.raises(DiskFull, match=r"^out: there is no room"), told("out", writing=True, beside=True):
            raise OSError(number, "no")


def test_a_logbook_that_may_not_be_opened_is_not_said_to_be_readable(tmp_path, monkeypatch):
    shut = tmp_path / "logbook.db"
    shut.touch()
    monkeypatch.setattr(os, "access", lambda path, mode: (path, mode) != (str(shut), os.R_OK))
    with pytest.raises(NoLogbook, match="this account may not open it"), told("here", writing=True):
        raise PermissionError(errno.EACCES, "no", str(shut))
    with pytest.raises(LogbookReadOnly), told("here", writing=True):  # that is not there yet: its folder is shut
        raise PermissionError(errno.EACCES, "no", str(tmp_path / "other.db"))


def test_a_backup_and_a_disclosure_name_the_folder(run, tmp_path, monkeypatch):
    monkeypatch.setattr(backup, "whole_files", failing(errno.EROFS))
    assert "b.zip: this account may not write here. Name another place." in run("backup", tmp_path / "b.zip")
    monkeypatch.setattr(disclose, "_Paper", failing(errno.EACCES))
    told = run("disclose", "TH-11", "--out", tmp_path / "record")
    assert "record: this account may not write here. Name another place." in told
    assert not list(tmp_path.glob("record*"))


@pytest.mark.parametrize("what", ["copyfile", "TemporaryDirectory"])
def test_a_page_that_needs_temporary_files_says_so(run, tmp_path, monkeypatch, what):
    monkeypatch.setattr(pdf if what == "TemporaryDirectory" else shutil, what, failing(errno.ENOSPC))
    for made_once in ("_compiler", "_fonts"):  # what another page made is not used here, and stays as it is
        if hasattr(pdf, made_once):
            monkeypatch.setattr(pdf, made_once, lru_cache(getattr(pdf, made_once).__wrapped__))
    told = run("protocol", "find", "--can", "arms", "--pdf", "--out", tmp_path)
    assert "needs the folder of temporary files" in told
    assert "TMPDIR" in told


@pytest.mark.parametrize(
    ("failure", "why"),
    [
        (OSError(errno.EACCES, "Permission denied"), "permission denied"),
        (shutil.Error([("a", "b", "c")]), "it cannot be"),
    ],
)
def test_the_demo_in_a_folder_that_cannot_be_written_is_a_sentence(run, tmp_path, monkeypatch, failure, why):
    def fail(*_, **__):
        raise failure

    monkeypatch.setattr(demo, "_shown", fail)
    assert f"here: {why}" in run("demo", "--out", "here")
