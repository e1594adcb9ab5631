"""Tables as spreadsheets save them, held against what another library writes."""

import io
import os
import zipfile
from datetime import date, datetime, time
from pathlib import Path

import openpyxl
import pytest
from ownmark.errors import UnreadableFile
from ownmark.records.spreadsheet import rows_of

ROWS = [["code", "notes"], ["A1", "à l’école"]]


def saved(folder, data, name="day.csv"):
    path = folder / name
    path.write_bytes(data)
    return path


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
@pytest.mark.parametrize("sign", [",", ";", "\t"])
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_csv_of_every_encoding_delimiter_and_line_end_is_the_same_table(tmp_path, encoding, sign, end):
    text = end.join(sign.join(row) for row in ROWS) + end
    assert rows_of(saved(tmp_path, text.encode(encoding))) == [(1, ROWS[0]), (2, ROWS[1])]


def test_a_line_that_says_the_delimiter_is_no_row_and_wins(tmp_path):
    assert rows_of(saved(tmp_path, b"sep=;\r\na,b,c;d\r\n1;2\r\n")) == [(2, ["a,b,c", "d"]), (3, ["1", "2"])]


def test_lines_in_another_encoding_change_no_other_line(tmp_path):
    data = "code,notes\nA1,é\n".encode() + "A2,é\n".encode("cp1252")
    assert rows_of(saved(tmp_path, data))[1:] == [(2, ["A1", "é"]), (3, ["A2", "é"])]


def test_a_quoted_text_may_hold_lines_and_its_row_ends_on_the_last(tmp_path):
    assert rows_of(saved(tmp_path, b'a,b\n1,"x\ny"\n\n2,z\n')) == [(1, ["a", "b"]), (3, ["1", "x\ny"]), (5, ["2", "z"])]


def test_a_workbook_of_another_library_is_read_cell_by_cell(tmp_path):
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.append(["code", "date", "time", "both", "number", "practice", "empty", "work"])
    moment = datetime(2026, 5, 12, 9, 5, 30)  # noqa: DTZ001 a spreadsheet knows no zone
    sheet.append(["TH-11", date(2026, 5, 12), time(9, 5), moment, 12.5, True, None, "@9:05-@9:13"])
    sheet["D2"].number_format = "m/d/yyyy h:mm AM/PM"
    sheet["AB3"] = 7
    book.create_sheet("other").append(["not", "read"])
    path = tmp_path / "day.xlsx"
    book.save(path)
    rows = rows_of(path)
    told = ["TH-11", "2026-05-12", "09:05:00", "2026-05-12 09:05:30", "12.5", "yes"]
    assert rows[1] == (2, [*told, "", "@9:05-@9:13"])
    assert (rows[2][0], len(rows[2][1]), rows[2][1][27]) == (3, 28, "7")


def test_a_workbook_that_counts_days_from_1904_is_read_by_them(tmp_path):
    book = openpyxl.Workbook()
    book.epoch = openpyxl.utils.datetime.CALENDAR_MAC_1904
    book.active.append(["date", date(2026, 5, 12)])
    path = tmp_path / "day.xlsx"
    book.save(path)
    assert rows_of(path) == [(1, ["date", "2026-05-12"])]


@pytest.mark.parametrize("kept", ["[Content_Types].xml", "xl/workbook.xml"])
def test_a_damaged_workbook_is_a_sentence(tmp_path, kept):
    data = io.BytesIO()
    with zipfile.ZipFile(data, "w") as archive:
        archive.writestr(kept, "<a")
    with pytest.raises(UnreadableFile, match="no spreadsheet"):
        rows_of(saved(tmp_path, data.getvalue()))
    with pytest.raises(UnreadableFile, match="no spreadsheet"):
        rows_of(saved(tmp_path, b"PK\x03\x04 and nothing"))


def test_nothing_is_a_sentence(tmp_path):
    with pytest.raises(UnreadableFile, match="holds no line"):
        rows_of(saved(tmp_path, b"\n , \n"))
    with pytest.raises(UnreadableFile, match="no such file"):
        rows_of(tmp_path / "none.csv")


def workbook(folder, sheet, method=zipfile.ZIP_DEFLATED):
    """A workbook with one sheet of this XML."""
    main = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
    there = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
    held = io.BytesIO()
    with zipfile.ZipFile(held, "w", method) as book:
        sheets = '<sheets><sheet name="a" r:id="r1"/></sheets>'
        book.writestr("xl/workbook.xml", f'<workbook xmlns="{main}" xmlns:r="{there}">{sheets}</workbook>')
        book.writestr("xl/_rels/workbook.xml.rels", '<a><b Id="r1" Target="sheet.xml"/></a>')
        book.writestr("xl/sheet.xml", f'<worksheet xmlns="{main}"><sheetData>{sheet}</sheetData></worksheet>')
    return saved(folder, held.getvalue(), "day.xlsx")


@pytest.mark.parametrize(("column", "place"), [("A", 0), ("AB", 27), ("XFD", 16_383)])
def test_a_cell_stands_in_its_column_up_to_the_last_that_a_sheet_has(tmp_path, column, place):
    path = workbook(tmp_path, f'<row r="1"><c r="{column}1"><v>7</v></c></row>')
    assert rows_of(path) == [(1, [*[""] * place, "7"])]


@pytest.mark.parametrize("column", ["XFE", "ZZZZZZZZ"])
def test_a_cell_beyond_the_last_column_is_no_spreadsheet(tmp_path, column):
    path = workbook(tmp_path, f'<row r="1"><c r="{column}1"><v>7</v></c></row>')
    with pytest.raises(UnreadableFile, match="no spreadsheet that can be read"):
        rows_of(path)


def test_a_workbook_whose_packing_is_damaged_or_encrypted_is_no_spreadsheet(tmp_path):
    path = workbook(tmp_path, '<row r="1"><c r="A1"><v>7</v></c></row>')
    whole = path.read_bytes()
    with zipfile.ZipFile(io.BytesIO(whole)) as book:
        at = book.getinfo("xl/workbook.xml").header_offset + 30 + len("xl/workbook.xml")
    directory = whole.index(b"PK\x01\x02")
    encrypted = bytearray(whole)
    encrypted[6] |= 1
    encrypted[directory + 8] |= 1
    for bad in (whole[:at] + b"\xff" * 8 + whole[at + 8 :], bytes(encrypted)):
        path.write_bytes(bad)
        with pytest.raises(UnreadableFile, match="no spreadsheet that can be read"):
            rows_of(path)


def test_a_device_or_a_pipe_is_not_opened_and_a_folder_is_called_one(tmp_path):
    pipe = tmp_path / "pipe.csv"
    os.mkfifo(pipe)
    for path in (pipe, Path("/dev/zero")):
        with pytest.raises(UnreadableFile, match="a device or a pipe"):
            rows_of(path)
    with pytest.raises(UnreadableFile, match="directory"):
        rows_of(tmp_path)


def test_a_file_beyond_the_limit_is_not_read(tmp_path, monkeypatch):
    path = saved(tmp_path, b"a,b\n")
    monkeypatch.setattr("ownmark.records.spreadsheet.MOST_BYTES", 4)
    assert rows_of(path) == [(1, ["a", "b"])]
    monkeypatch.setattr("ownmark.records.spreadsheet.MOST_BYTES", 3)
    with pytest.raises(UnreadableFile, match="too large"):
        rows_of(path)


def test_a_sheet_of_too_many_cells_is_refused_before_it_fills_the_memory(tmp_path, monkeypatch):
    monkeypatch.setattr("ownmark.records.spreadsheet.MOST_CELLS", 6)
    row = '<row><c r="C1"><v>1</v></c></row>'
    assert len(rows_of(workbook(tmp_path, row * 2))) == 2
    for sheet in (row * 3, "<row/>" * 7):
        with pytest.raises(UnreadableFile, match="too large for the table"):
            rows_of(workbook(tmp_path, sheet))
    assert len(rows_of(saved(tmp_path, b"a,b,c\nd,e,f\n"))) == 2
    with pytest.raises(UnreadableFile, match="too large for the table"):
        rows_of(saved(tmp_path, b"a,b,c\nd,e,f\n,\n"))
