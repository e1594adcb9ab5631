"""Tables as spreadsheets save them, held against what another library writes."""

import io
import zipfile
from datetime import date, datetime, time

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
