"""What lies in the folders of a batch and no table names is told, folder by folder."""

from pathlib import Path

import pytest
import xlsxwriter
from ownmark.records.batch.tables import tables_in
from ownmark.records.batch.unused import name_of, unused_in

from tests.records.batch.district import write

CLASS = "code,protocol,files\nTH-11,slalom,S1.csv\n"
STRAPS = "strap,code\nS1,TH-11\n"


def told(root, *, unread=(), more=()):
    """By folder: whether it has a table, what is nearly one, other files, links."""
    tables = tables_in([root])
    named = {name_of(each.path) for each in tables if each.path.name not in unread}
    named |= {name_of(each.straps) for each in tables if each.straps} | {name_of(root / each) for each in more}
    return {
        each.folder.relative_to(root).as_posix(): (
            each.has_table,
            {near.path.name: near.lacking for near in each.nearly},
            [file.name for file in each.files],
            [link.name for link in each.links],
        )
        for each in unused_in([root], tables, named)
    }


def test_what_a_table_names_is_not_told_however_the_way_to_it_is_written(tmp_path):
    write(tmp_path / "a", "class.csv", CLASS)
    write(tmp_path / "a", "straps.csv", STRAPS)
    write(tmp_path / "b", "S1.fit", b"123")
    write(tmp_path / "b", "S2.fit", b"123")
    assert told(tmp_path, more=["a/../b/S1.fit"]) == {"b": (False, {}, ["S2.fit"], [])}
    assert told(tmp_path, more=["b/S1.fit", "b/S2.fit"]) == {}


def test_what_is_nearly_a_table_is_told_with_what_it_lacks(tmp_path):
    write(tmp_path, "class.csv", CLASS)
    write(tmp_path, "a.csv", "Student;Test\nTH-11;slalom\n")
    write(tmp_path, "b.tsv", "name\tprotocol\n")
    write(tmp_path, "c.TXT", "code\tprotocol\n")
    write(tmp_path, "d.csv", "time,heart rate\n1,80\n")
    write(tmp_path, "e.doc", CLASS)
    with xlsxwriter.Workbook(tmp_path / "f.xlsx") as book:
        book.add_worksheet().write_row(0, 0, ["Code", "Work"])
    nearly = {"a.csv": ("protocol",), "b.tsv": ("code",), "c.TXT": (), "f.xlsx": ("protocol",)}
    assert told(tmp_path) == {".": (True, nearly, ["d.csv", "e.doc"], [])}


def test_the_smallest_files_come_first_and_links_are_not_looked_into(tmp_path):
    write(tmp_path, "class.csv", CLASS)
    write(tmp_path, "a.fit", b"12345")
    write(tmp_path, "b.pdf", b"1")
    write(tmp_path, "c.fit", b"123")
    (tmp_path / "away").symlink_to(tmp_path.parent)
    (tmp_path / "link.csv").symlink_to(tmp_path / "class.csv")
    assert told(tmp_path) == {".": (True, {}, ["b.pdf", "c.fit", "a.fit"], ["away", "link.csv"])}


def test_a_table_that_was_not_read_hides_only_the_files_that_may_be_its_own(tmp_path):
    write(tmp_path / "a", "class.csv", CLASS)
    write(tmp_path / "a", "S1.fit", b"123")
    write(tmp_path / "a", "near.csv", "code,work\n")
    write(tmp_path / "b", "class.csv", CLASS.replace("S1", "S2"))
    write(tmp_path / "b", "S1.fit", b"123")
    found = told(tmp_path)
    assert found == {"a": (True, {"near.csv": ("protocol",)}, ["S1.fit"], []), "b": (True, {}, ["S1.fit"], [])}
    assert told(tmp_path, unread=["class.csv"]) == {"a": (True, {"near.csv": ("protocol",)}, [], [])}


def test_what_programs_leave_on_a_drive_and_what_was_put_aside_or_deleted_is_not_told(tmp_path):
    write(tmp_path, "class.csv", CLASS)
    for name in ("Thumbs.db", "desktop.ini", "~$class.xlsx", ".DS_Store"):
        write(tmp_path, name, b"123")
    for folder in ("class-aside", "$RECYCLE.BIN", "System Volume Information", "__MACOSX", ".Trash"):
        write(tmp_path / folder, "old.csv", CLASS)
    (tmp_path / "empty").mkdir()
    assert [each.path.name for each in tables_in([tmp_path])] == ["class.csv"]
    assert told(tmp_path) == {}


def test_a_folder_in_two_arguments_is_told_once_and_one_that_cannot_be_listed_not_at_all(tmp_path, monkeypatch):
    write(tmp_path / "in", "class.csv", CLASS)
    write(tmp_path / "in", "x.fit", b"1")
    write(tmp_path / "in" / "shut", "y.fit", b"1")
    real = Path.iterdir

    def listed(path):
        if path.name == "shut":
            raise PermissionError(13, "Permission denied")
        return real(path)

    monkeypatch.setattr(Path, "iterdir", listed)
    tables = tables_in([tmp_path / "in" / "class.csv"])
    arguments = [tmp_path, tmp_path / "in", tmp_path / "in" / "class.csv"]
    found = unused_in(arguments, tables, {name_of(tables[0].path)})
    assert [(each.folder.name, each.as_json()["files"]) for each in found] == [("in", ["x.fit"])]


@pytest.mark.parametrize(("text", "name"), [("s3://a/b/../c", "s3://a/b/../c"), ("/a/b/../c", "/a/c")])
def test_an_address_stays_as_it_is(text, name):
    class Named:
        def __str__(self):
            return text

    assert name_of(Named()) == name
