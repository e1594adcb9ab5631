"""A list of students as a spreadsheet saves it: its columns, and what is not one."""

import io
import random
import zipfile
from datetime import date

import openpyxl
import pytest
from ownmark.errors import NotAStudent, NotConfirmed, OwnmarkError, UnreadableFile
from ownmark.records.class_template import explained, template_csv, template_xlsx
from ownmark.records.spreadsheet import rows_of
from ownmark.records.student_table import CALLED, COLUMNS, OTHER, read_students


def saved(folder, data, name="students.csv"):
    path = folder / name
    path.write_bytes(data if isinstance(data, bytes) else data.encode())
    return path


def asked_of(path, leave_out=()):
    with pytest.raises(NotConfirmed) as found:
        read_students(path, leave_out)
    return found.value


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
@pytest.mark.parametrize("sign", [",", ";", "\t"])
def test_every_encoding_and_delimiter_is_the_same_list(tmp_path, encoding, sign):
    text = sign.join(("Code", "Set by", "note")) + "\r\n" + sign.join(("th-11", "therapist", "à l’école")) + "\r\n"
    (row,) = read_students(saved(tmp_path, text.encode(encoding)))
    assert (row.number, row.code, row.too_many) == (2, "TH-11", False)
    assert row.texts == {"code": "th-11", "set_by": "therapist", "notes": "à l’école"}


def test_other_names_of_columns_are_those_of_the_students_fields(tmp_path):
    head = "STUDENT,condition,Maximum,measured-on,Confirmed\nA1,x,1,2,keep-text; Yes\n"
    (row,) = read_students(saved(tmp_path, f"sep=,\n{head}"))
    assert set(row.texts) == {"code", "conditions", "max", "measured_on", "confirm"}
    assert row.answers == {"keep-text", "yes"}
    assert set(OTHER.values()) | set(CALLED.values()) <= set(COLUMNS)
    assert not (set(OTHER) | set(CALLED)) & set(COLUMNS)


def test_a_workbook_is_read_and_a_month_that_it_made_a_date_of_stays_that_month(tmp_path):
    book = openpyxl.Workbook()
    book.active.append(["code", "born", "set_on", "rest"])
    book.active.append(["TH-11", date(2014, 3, 1), date(2026, 9, 1), 78])
    book.active["B2"].number_format = "mmm-yy"
    held = io.BytesIO()
    book.save(held)
    (row,) = read_students(saved(tmp_path, held.getvalue(), "a.xlsx"))
    assert row.texts == {"code": "TH-11", "born": "2014-03-01", "set_on": "2026-09-01", "rest": "78"}
    assert row.days == {"set_on": (date(2026, 9, 1),)}


def test_a_column_of_dates_settles_its_own_order(tmp_path):
    text = "code,rest,measured_on,set_on\nA1,70,9/1/2026,\nA2,70,9/30/2026,9/1/2026\nA3,70,soon,\n"
    one, two, three = read_students(saved(tmp_path, text))
    assert one.days == {"measured_on": (date(2026, 9, 1),)}
    assert two.days == {"measured_on": (date(2026, 9, 30),), "set_on": (date(2026, 1, 9), date(2026, 9, 1))}
    assert three.days == {"measured_on": ()}


def test_a_code_that_is_none_is_not_repeated(tmp_path):
    rows = read_students(saved(tmp_path, "code,rest\nMaria Lopez,70\n,71\n"))
    assert [each.code for each in rows] == ["", ""]


def test_columns_that_are_nothing_of_a_student_are_asked_about_with_what_they_may_be(tmp_path):
    path = saved(tmp_path, "code,Name,Date of Birth,ceilling,\nA1,x,y,z,\nA2,x,y,z,loose\n")
    reason = asked_of(path)
    assert [each.asked.code for each in reason.questions] == [
        "student_table.column",
        "student_table.near",
        "student_table.near",
        "student_table.unnamed",
    ]
    assert [each.answers for each in reason.questions] == [("name",), ("date_of_birth",), ("ceilling",), ()]
    near = [[one.text for one in each.asked["near"]] for each in reason.questions[1:3]]
    assert near == [["born"], ["ceiling"]]
    assert reason.questions[3].asked["number"] == 5
    reason = asked_of(path, ("NAME", "date of birth"))
    assert [each.answers for each in reason.questions] == [("ceilling",), ()]


@pytest.mark.parametrize(
    ("column", "called"),
    [
        ("born", "Birth, Birthday, birthdate, birth date, Date of Birth, DOB, birth-month"),
        ("code", "ID, Student ID, student_code"),
        ("sex", "Gender"),
        ("conditions", "Diagnosis, disability, Disabilities, health"),
        ("rest", "resting, Resting HR, rest hr, HR rest, resting heart rate"),
        ("max", "max hr, HR max, Maximum heart rate, HRmax"),
        ("ceiling", "limit, Upper limit, HR limit"),
    ],
)
def test_what_others_call_a_column_is_said_and_never_taken_for_it(tmp_path, column, called):
    headers = called.split(", ")
    path = saved(tmp_path, f"code,{','.join(headers)}\nA1,{','.join('x' for _ in headers)}\n")
    near = [[one.text for one in each.asked["near"]] for each in asked_of(path).questions]
    assert near == [[column]] * len(headers)


def test_two_columns_that_are_near_are_both_said(tmp_path):
    (question,) = asked_of(saved(tmp_path, "code,set_o\nA1,x\n")).questions
    assert [each.text for each in question.asked["near"]] == ["set_on", "set_by"]


def test_what_is_left_out_is_not_read_and_a_column_of_nothing_asks_nothing(tmp_path):
    path = saved(tmp_path, "code,Full name,,\nA1,Maria Lopez,,\n")
    (row,) = read_students(path, ("full_name",))
    assert row.texts == {"code": "A1"}


def test_a_long_header_is_shortened(tmp_path):
    (question,) = asked_of(saved(tmp_path, f"code,{'n' * 41}\nA1,x\n")).questions
    assert question.asked["column"].text == f"{'n' * 40}…"
    (question,) = asked_of(saved(tmp_path, f"code,{'n' * 40}\nA1,x\n")).questions
    assert question.asked["column"].text == "n" * 40


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("TH-11,2014-03\n", "student_table.no_code"),
        ("code,rest\n", "student_table.no_row"),
        ("code,rest\n# explained,x\n", "student_table.no_row"),
        ("code,rest,student\nA1,70,A2\n", "student_table.twice"),
        ("code,max,maximum\nA1,70,71\n", "student_table.twice"),
    ],
)
def test_a_table_that_is_no_list_is_refused(tmp_path, text, code):
    with pytest.raises(NotAStudent) as found:
        read_students(saved(tmp_path, text))
    assert (found.value.what.code, found.value.where) == (code, str(tmp_path / "students.csv"))
    assert "70" not in str(found.value)


def test_more_cells_than_columns_are_told_and_empty_ones_are_not(tmp_path):
    one, two = read_students(saved(tmp_path, "code,notes\nA1,tall, and more\nA2,tall,,\n"))
    assert (one.too_many, two.too_many) == (True, False)


@pytest.mark.parametrize("language", ["en", "es"])
def test_the_empty_list_explains_every_column_and_can_be_read_once_it_is_filled(tmp_path, language):
    told = explained(language, students=True)
    assert [name for name, _ in told] == list(COLUMNS)
    assert all(len(why) > 10 for _, why in told)
    data = template_csv(language, students=True)
    assert rows_of(saved(tmp_path, data))[1][1][1:] == [why for _, why in told][1:]
    (row,) = read_students(saved(tmp_path, data + b"TH-11,2014-03\r\n"))
    assert (row.number, row.texts) == (3, {"code": "TH-11", "born": "2014-03"})
    book = openpyxl.load_workbook(io.BytesIO(template_xlsx(language, students=True)))
    assert [cell.value for cell in book.worksheets[0][1]] == list(COLUMNS)
    columns = book.worksheets[0].column_dimensions["A"]
    assert (columns.min, columns.max, columns.number_format) == (1, len(COLUMNS), "@")
    assert [[cell.value for cell in row] for row in book.worksheets[1]] == [list(each) for each in told]


def test_any_bytes_give_rows_or_a_refusal(tmp_path):
    draw = random.Random(20261128)
    good = template_csv(students=True) + b"TH-11,2014-03,female,epilepsy,70,,,,9/1/2026,150,nurse,,see,none,x,\r\n"
    book = template_xlsx(students=True)
    for turn in range(300):
        data = bytearray(book if turn % 3 == 0 else good)
        for _ in range(draw.randint(1, 12)):
            at = draw.randrange(len(data))
            match draw.randrange(3):
                case 0:
                    data[at] = draw.randrange(256)
                case 1:
                    del data[at : at + draw.randint(1, 40)]
                case _:
                    data[at:at] = draw.randbytes(draw.randint(1, 8))
        try:
            rows = read_students(saved(tmp_path, bytes(data)))
        except OwnmarkError:
            continue
        assert all(set(row.texts) <= set(COLUMNS) and all(row.texts.values()) for row in rows)


def test_a_sheet_that_claims_a_cell_beyond_any_sheet_is_no_list(tmp_path):
    book = openpyxl.Workbook()
    book.active.append(["code"])
    held = io.BytesIO()
    book.save(held)
    out = io.BytesIO()
    with zipfile.ZipFile(held) as old, zipfile.ZipFile(out, "w") as new:
        for name in old.namelist():
            data = old.read(name)
            new.writestr(name, data.replace(b'r="A1"', b'r="ZZZZ1"') if name.endswith("sheet1.xml") else data)
    with pytest.raises(UnreadableFile, match="no spreadsheet that can be read"):
        read_students(saved(tmp_path, out.getvalue(), "a.xlsx"))
