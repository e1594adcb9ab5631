"""Class tables are found in folders, and nothing else is taken for one."""

import os
from pathlib import Path

import pytest
import xlsxwriter
from ownmark.errors import NotATrial, UnreadableFile
from ownmark.records.batch import tables as found_by
from ownmark.records.batch.tables import read_table, row_count, tables_in

from tests.records.batch.district import strap, write, zipped

CLASS = "code,protocol,files\nTH-11,slalom,S1.csv\n"
STRAPS = "strap,code,from,until\nS1,TH-11,9:00,9:10\n"


def names(tables):
    return [each.path.name for each in tables]


def straps(tables):
    return {each.path.name: each.straps and each.straps.name for each in tables if each.refused is None}


def refused(tables):
    return [each.path.name for each in tables if each.refused is not None]


def test_a_folder_is_walked_by_name_and_recordings_lists_and_what_is_aside_are_passed_over(tmp_path):
    for place in ("b/two.csv", "b/one.CSV", "a/x/deep.csv", "top.csv"):
        write((tmp_path / place).parent, Path(place).name, CLASS)
    write(tmp_path / "b", "strap.csv", strap(1))
    write(tmp_path / "b", "bag.zip", zipped(("x.csv", CLASS.encode())))
    write(tmp_path / "b", "notes.txt", CLASS)
    write(tmp_path / "b", ".hidden.csv", CLASS)
    write(tmp_path / "b", "list.csv", STRAPS)
    write(tmp_path / "b" / "one-aside", "reasons.csv", CLASS)
    write(tmp_path / ".trash", "old.csv", CLASS)
    write(tmp_path, "empty.csv", "")
    write(tmp_path, "rubbish.xlsx", b"PK\x03\x04 no book")
    assert names(tables_in([tmp_path])) == ["top.csv", "deep.csv", "one.CSV", "two.csv"]


def test_links_are_not_followed_out_of_the_folder_nor_in_circles(tmp_path):
    write(tmp_path / "in", "class.csv", CLASS)
    write(tmp_path / "out", "secret.csv", CLASS)
    (tmp_path / "in" / "way-out").symlink_to(tmp_path / "out")
    (tmp_path / "in" / "circle").symlink_to(tmp_path / "in")
    (tmp_path / "in" / "file.csv").symlink_to(tmp_path / "out" / "secret.csv")
    (tmp_path / "in" / "nowhere.csv").symlink_to(tmp_path / "nothing")
    assert names(tables_in([tmp_path / "in"])) == ["class.csv"]
    (tmp_path / "link").symlink_to(tmp_path / "in")
    assert names(tables_in([tmp_path / "link"])) == ["class.csv"]  # it was named itself


def test_a_table_that_is_named_twice_is_taken_once_in_the_order_of_the_arguments(tmp_path):
    write(tmp_path / "a", "one.csv", CLASS)
    write(tmp_path / "b", "two.csv", CLASS)
    given = [tmp_path / "b" / "two.csv", tmp_path, tmp_path / "a" / ".." / "a" / "one.csv"]
    assert names(tables_in(given)) == ["two.csv", "one.csv"]


def test_a_table_that_is_named_is_taken_whatever_it_holds(tmp_path):
    write(tmp_path, "any.csv", "a,b\n1,2\n")
    (table,) = tables_in([tmp_path / "any.csv"])
    with pytest.raises(NotATrial, match="no column code"):
        read_table(table)


def test_what_is_not_there_or_holds_no_table_is_said(tmp_path):
    with pytest.raises(UnreadableFile, match="no such file or folder"):
        tables_in([tmp_path / "nothing"])
    write(tmp_path, "strap.csv", strap(1))
    with pytest.raises(UnreadableFile, match="holds no class table"):
        tables_in([tmp_path])


def test_a_folder_that_cannot_be_listed_is_refused_by_itself(tmp_path, monkeypatch):
    write(tmp_path, "one.csv", CLASS)
    write(tmp_path / "shut", "two.csv", CLASS)
    real = Path.iterdir

    def listed(path):
        if path.name == "shut":
            raise PermissionError(13, "Permission denied")
        return real(path)

    monkeypatch.setattr(Path, "iterdir", listed)
    one, shut = tables_in([tmp_path])
    assert (one.path.name, one.refused, shut.path.name) == ("one.csv", None, "shut")
    with pytest.raises(UnreadableFile, match="permission denied"):
        read_table(shut)
    assert (row_count(shut), row_count(one)) == (0, 1)


def test_the_one_list_belongs_to_the_one_table(tmp_path):
    write(tmp_path, "monday.csv", CLASS)
    write(tmp_path, "who-wore-what.csv", STRAPS)
    assert straps(tables_in([tmp_path])) == {"monday.csv": "who-wore-what.csv"}
    assert straps(tables_in([tmp_path / "monday.csv"])) == {"monday.csv": "who-wore-what.csv"}


def test_a_list_belongs_to_the_table_with_whose_name_it_begins_in_its_own_folder(tmp_path):
    for name in ("monday.csv", "monday-2.csv", "friday.csv"):
        write(tmp_path, name, CLASS)
    for name in ("Monday straps.csv", "monday-2_straps.csv"):
        write(tmp_path, name, STRAPS)
    write(tmp_path / "other", "friday-straps.csv", STRAPS)
    expected = {"monday.csv": "Monday straps.csv", "monday-2.csv": "monday-2_straps.csv", "friday.csv": None}
    assert straps(tables_in([tmp_path])) == expected


@pytest.mark.parametrize(
    ("tables", "lists", "open_ones"),
    [
        (["monday.csv", "friday.csv"], ["straps.csv"], ["friday.csv", "monday.csv"]),
        (["monday.csv"], ["a.csv", "b.csv"], ["monday.csv"]),
        (["monday.csv"], ["monday-a.csv", "monday-b.csv"], ["monday.csv"]),
        (["monday.csv", "friday.csv"], ["monday-straps.csv", "straps.csv"], ["friday.csv"]),
        (["mon.csv", "friday.csv"], ["monday-straps.csv"], ["friday.csv", "mon.csv"]),
        (["2026-11-10.csv", "2026-11-11.csv"], ["2026-11-12.csv"], ["2026-11-10.csv", "2026-11-11.csv"]),
    ],
)
def test_where_it_is_not_clear_whose_a_list_is_the_table_is_refused(tables, lists, open_ones, tmp_path):
    for name in tables:
        write(tmp_path, name, CLASS)
    for name in lists:
        write(tmp_path, name, STRAPS)
    found = tables_in([tmp_path])
    assert refused(found) == open_ones
    with pytest.raises(NotATrial, match="which list of straps"):
        read_table(next(each for each in found if each.refused))


def test_the_bad_files_of_two_tables_never_mix(tmp_path):
    for place in ("north/day.csv", "south/day.csv", "south/x/day.csv"):
        write((tmp_path / "drive" / place).parent, "day.csv", CLASS)
    with xlsxwriter.Workbook(tmp_path / "drive" / "north" / "day.xlsx") as book:
        sheet = book.add_worksheet()
        sheet.write_row(0, 0, ("code", "protocol", "files"))
        sheet.write_row(1, 0, ("TH-11", "slalom", "S1.csv"))
    beside = [each.aside.relative_to(tmp_path / "drive") for each in tables_in([tmp_path / "drive"])]
    assert [str(each) for each in beside] == [
        "north/day-aside",
        "north/day-2-aside",
        "south/day-aside",
        "south/x/day-aside",
    ]
    away = [each.aside.relative_to(tmp_path / "bad") for each in tables_in([tmp_path / "drive"], tmp_path / "bad")]
    assert [str(each) for each in away] == [
        "drive/north/day-aside",
        "drive/north/day-2-aside",
        "drive/south/day-aside",
        "drive/south/x/day-aside",
    ]
    named = [tmp_path / "drive" / "north" / "day.csv", tmp_path / "drive" / "south" / "day.csv"]
    away = [each.aside.relative_to(tmp_path / "bad") for each in tables_in(named, tmp_path / "bad")]
    assert [str(each) for each in away] == ["north/day-aside", "south/day-aside"]


def test_two_folders_of_one_name_get_two_places_for_bad_files(tmp_path):
    write(tmp_path / "a" / "day", "class.csv", CLASS)
    write(tmp_path / "b" / "day", "class.csv", CLASS)
    both = tables_in([tmp_path / "a" / "day", tmp_path / "b" / "day"], tmp_path / "bad")
    assert len({each.aside for each in both}) == 2


def test_names_that_no_terminal_shows(tmp_path):
    for name in ("a\nb.csv", "c\x1b[2J.csv", " .csv", os.fsdecode(b"\xff\xfe.csv")):
        write(tmp_path / "odd\nfolder", name, CLASS)
    found = tables_in([tmp_path])
    assert len(found) == 4
    assert all(len(read_table(each)) == 1 for each in found)


def test_a_table_that_changes_while_it_is_read_is_read_again_and_refused_if_it_never_rests(tmp_path, monkeypatch):
    write(tmp_path, "day.csv", CLASS)
    (table,) = tables_in([tmp_path])
    real, turns = found_by.read_class, []

    def changing(times):
        def read(path, list_of_straps):
            rows = real(path, list_of_straps)
            turns.append(len(rows))
            if len(turns) <= times:
                path.write_text(f"{path.read_text()}TH-{12 + len(turns)},slalom,S2.csv\n")
            return rows

        return read

    monkeypatch.setattr(found_by, "read_class", changing(2))
    assert len(read_table(table)) == 3
    assert turns == [1, 2, 3]
    turns.clear()
    monkeypatch.setattr(found_by, "read_class", changing(9))
    with pytest.raises(UnreadableFile, match="changes while it is read"):
        read_table(table)
    assert len(turns) == 3


def test_a_header_is_found_as_spreadsheets_save_it(tmp_path):
    for number, data in enumerate(
        (
            b"sep=;\r\nCode;Protocol;File\r\nTH-11;slalom;S1.csv\r\n",
            "\ufeffCode,Protocol\r\nTH-11,slalom\r\n".encode(),
            "Code\tProtocol\r\nTH-11\tslalom\r\n".encode("utf-16"),
            b"\n\nStudent,Protocol,Note\nTH-11,slalom,\xe9\n",
            b"code,protocol\n" + b"TH-11,slalom\n" * 20_000,
        )
    ):
        write(tmp_path, f"{number}.csv", data)
    assert names(tables_in([tmp_path])) == [f"{number}.csv" for number in range(5)]
    assert row_count(tables_in([tmp_path])[4]) == 20_000


def test_of_a_file_that_is_no_table_only_the_beginning_is_read(tmp_path, monkeypatch):
    from ownmark.records import spreadsheet

    write(tmp_path, "strap.csv", strap(1))
    write(tmp_path, "class.csv", CLASS)
    monkeypatch.setattr(spreadsheet, "_bytes_of", lambda _: pytest.fail("all of it was read"))
    assert names(tables_in([tmp_path])) == ["class.csv"]


@pytest.mark.parametrize("name", ["x" * 300, "x" * 5000, "no/x" * 2000])
def test_a_name_that_no_disk_can_have_is_not_there(name, tmp_path):
    with pytest.raises(UnreadableFile, match="no such file or folder"):
        tables_in([tmp_path / name])


def test_a_pipe_that_is_named_is_called_one(tmp_path):
    os.mkfifo(tmp_path / "day.csv")
    with pytest.raises(UnreadableFile, match="a device or a pipe"):
        tables_in([tmp_path / "day.csv"])


def test_only_files_of_the_named_folder_are_copied_beside_a_table_and_any_into_a_folder_of_the_persons(tmp_path):
    write(tmp_path / "drive" / "school", "one.csv", CLASS)
    (table,) = tables_in([tmp_path / "drive"])
    assert table.inside == tmp_path / "drive"
    (table,) = tables_in([tmp_path / "drive/school/one.csv"])
    assert table.inside == tmp_path / "drive/school"
    (table,) = tables_in([tmp_path / "drive"], tmp_path / "bad")
    assert table.inside is None


def test_a_folder_with_many_tables_is_listed_once_for_all_of_them(tmp_path, monkeypatch):
    # Each table looked through all recordings again: a thousand tables beside 30,000 files took minutes.
    for number in range(12):
        write(tmp_path, f"t{number:02d}.csv", CLASS)
        write(tmp_path, f"t{number:02d}-straps.csv", STRAPS)
    real, listed = Path.iterdir, []
    monkeypatch.setattr(Path, "iterdir", lambda self: listed.append(self) or real(self))
    found = tables_in([tmp_path])
    assert straps(found) == {f"t{number:02d}.csv": f"t{number:02d}-straps.csv" for number in range(12)}
    assert len(listed) == 2  # to find the tables, and to find what belongs to them
