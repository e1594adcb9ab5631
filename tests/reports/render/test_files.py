"""Pages into a folder: whole or not at all, and a folder that cannot be written is a sentence."""

import errno
import os
import stat
from pathlib import Path

import pytest
from ownmark.errors import DiskFull, UnreadableFile
from ownmark.reports.page import Page, Paragraph
from ownmark.reports.render.files import FORMATS, write_page

PAGE = Page("Title", "en", "Subtitle", (Paragraph("text"),))
LONG = Page("Title", "en", "Subtitle", (Paragraph("word " * 3000),))


def test_each_form_is_written_under_the_pages_name_and_the_folder_is_made(tmp_path):
    paths = write_page(PAGE, tmp_path / "a" / "b", "TH-11-effort", FORMATS)
    assert [path.name for path in paths] == ["TH-11-effort.pdf", "TH-11-effort.html", "TH-11-effort.png"]
    heads = [path.read_bytes()[:5] for path in paths]
    assert heads == [b"%PDF-", b"<!DOC", b"\x89PNG\r"]
    assert sorted(path.name for path in (tmp_path / "a" / "b").iterdir()) == sorted(path.name for path in paths)


def test_a_picture_of_several_sheets_has_their_numbers_in_its_names(tmp_path):
    paths = write_page(LONG, tmp_path, "x", ("png",))
    assert [path.name for path in paths] == [f"x-{number}.png" for number in range(1, len(paths) + 1)]
    assert len(paths) > 1


def test_only_the_owner_may_read_a_page(tmp_path):
    path = write_page(PAGE, tmp_path, "x", ("html",))[0]
    assert stat.S_IMODE(path.stat().st_mode) & 0o077 == 0


def test_a_page_made_again_replaces_the_old_one(tmp_path):
    (tmp_path / "x.html").write_text("old")
    write_page(PAGE, tmp_path, "x", ("html",))
    assert "Title" in (tmp_path / "x.html").read_text()


@pytest.mark.parametrize("place", ["file", "file/below"])
def test_a_folder_that_is_none_is_a_sentence_that_names_the_place_and_the_remedy(tmp_path, place):
    (tmp_path / "file").write_text("in the way")
    with pytest.raises(UnreadableFile, match=r"x\.html: .*\. Choose another folder: --out FOLDER\."):
        write_page(PAGE, tmp_path / place, "x", ("html",))


@pytest.mark.parametrize(("number", "kind"), [(errno.EACCES, UnreadableFile), (errno.EROFS, UnreadableFile)])
def test_a_folder_that_may_not_be_written_is_a_sentence(tmp_path, monkeypatch, number, kind):
    def refuse(*args, **more):
        raise OSError(number, os.strerror(number))

    monkeypatch.setattr(os, "open", refuse)
    with pytest.raises(kind, match="Choose another folder"):
        write_page(PAGE, tmp_path, "x", ("html",))


def test_a_full_disk_leaves_the_old_page_and_no_piece_of_the_new(tmp_path, monkeypatch):
    (tmp_path / "x.html").write_text("old")

    def full(self, target):
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(Path, "replace", full)
    with pytest.raises(DiskFull, match="no room"):
        write_page(PAGE, tmp_path, "x", ("html",))
    assert [path.name for path in tmp_path.iterdir()] == ["x.html"]
    assert (tmp_path / "x.html").read_text() == "old"
