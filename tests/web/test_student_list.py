"""A list of students on the page: chosen or pasted, told row by row, mended in its field, nothing kept but students."""

import io
import re
from datetime import date
from html import unescape

import openpyxl
import pytest
from ownmark.records.spreadsheet import rows_in
from ownmark.records.student import Ceiling, Student
from ownmark.records.student_table import COLUMNS

LIST = """\
code,born,conditions,ceiling,set_by,notes
TH-31,Mar-14,epilepsy,150,therapist,new chair
TH-32,2013-07-19,,,,
Maria,2014-03,,,,
TH-33,,,,,ask Mrs. Lopez
"""


def plain(answer):
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", answer.text)).split())


def field(answer):
    return unescape(re.search(r"<textarea[^>]*>\n?(.*?)</textarea>", answer.text, re.DOTALL)[1])


def give(teacher, text="", file=None, do="add", **more):
    files = {"file": file or ("", b"")}
    return teacher.post("/students/list", data={"list": text, "do": do, **more}, files=files)


def test_a_pasted_list_goes_in_row_by_row_and_is_mended_in_its_field(teacher, parts):
    answer = give(teacher, LIST)
    told = plain(answer)
    assert answer.status_code == 200
    assert "One student is new in the logbook. One row is to be confirmed. 2 rows could not be kept." in told
    assert "2 TH-31 Added. Kept: born 2014-03, epilepsy, ceiling 150 /min, set by the therapist, a note." in told
    assert "3 TH-32 Not kept. The cell born holds a day of birth" in told
    assert "4 no code Not kept. This cannot be a student's code" in told
    assert "5 TH-33 To confirm. Someone may be named" in told
    assert "Write the answer into the row's column confirm" in told
    assert "--" not in told.replace(field(answer), "")
    assert field(answer).splitlines() == LIST.splitlines()
    assert parts.logbook().student("TH-31").ceiling == Ceiling(bpm=150, set_by="therapist")
    told = plain(give(teacher, LIST.replace("2013-07-19", "2013-07")))
    assert "One student is new in the logbook. One row says what the logbook says." in told
    assert "TH-31 There" not in told
    assert [each.code for each in parts.logbook().students()] == ["TH-31", "TH-32"]


def test_rows_that_somebody_has_to_look_at_stand_above_those_that_went_in(teacher):
    told = plain(give(teacher, f"{LIST}TH-34,,,,,\n"))
    rows = re.findall(r"(\d) (?:TH-3\d|no code) (To confirm|Not kept|Added)", told)
    assert rows == [("5", "To confirm"), ("3", "Not kept"), ("4", "Not kept"), ("2", "Added"), ("6", "Added")]


def test_beside_a_column_that_can_be_left_out_stands_what_it_may_have_meant(teacher):
    """Who ticked all of them would have lost the rest of a whole class."""
    answer = give(teacher, "code,Full name,Resting HR\nTH-31,x,80\n")
    labels = re.findall(r"<label>.*?</label>", answer.text)
    assert [" ".join(unescape(re.sub(r"<[^>]+>", " ", each)).split()) for each in labels] == [
        *("The column “full_name”", "The column “resting_hr” (did you mean rest?)"),
    ]
    assert re.findall(r'name="leave_out" value="([^"]*)"', answer.text) == ["full_name", "resting_hr"]
    assert "To keep one, give it its right name in the first line below." in plain(answer)


def test_tabs_as_a_spreadsheet_copies_them_and_an_empty_first_cell(teacher, parts):
    text = "\tcode\tborn\r\n\tTH-31\tMar-14\r\n"
    assert "One student is new" in plain(give(teacher, text))
    assert parts.logbook().student("TH-31").born == "2014-03"


@pytest.mark.parametrize("kind", ["csv", "xlsx"])
def test_a_file_goes_before_what_is_pasted_and_its_rows_stand_in_the_field(teacher, parts, kind):
    data = "code;notes\nTH-31;à l’école; más\n".encode("cp1252").replace(b"; m", b" m")
    if kind == "xlsx":
        book = openpyxl.Workbook()
        book.active.append(["code", "notes", "measured_on", "rest"])
        book.active.append(["TH-31", "à l’école más", date(2026, 9, 1), 70])
        held = io.BytesIO()
        book.save(held)
        data = held.getvalue()
    answer = give(teacher, "code\nTH-99\n", (f"a.{kind}", data))
    assert "One student is new" in plain(answer)
    (student,) = parts.logbook().students()
    assert (student.code, student.notes) == ("TH-31", "à l’école más")
    assert rows_in(field(answer).encode(), "")[1][1][:2] == ["TH-31", "à l’école más"]
    assert "One row says what the logbook says." in plain(give(teacher, field(answer)))


def test_what_says_otherwise_is_corrected_only_by_its_own_button(teacher, parts):
    parts.logbook().add_student(Student(code="TH-31", born="2014-04", conditions=("shunt",)))
    answer = give(teacher, LIST.splitlines()[0] + "\n" + LIST.splitlines()[1])
    assert "The row says otherwise: born 2014-03 (kept: born 2014-04)" in plain(answer)
    assert "Correct one student as the list says" in plain(answer)
    assert parts.logbook().student("TH-31").born == "2014-04"
    answer = give(teacher, field(answer), do="correct")
    assert "One student was corrected." in plain(answer)
    assert "Correct one student" not in plain(answer)
    student = parts.logbook().student("TH-31")
    assert (student.born, student.conditions) == ("2014-03", ("shunt", "epilepsy"))


def test_a_column_that_is_nothing_is_asked_about_and_left_out_by_a_box(teacher, parts):
    text = "code,Full name,dob\nTH-31,Maria Lopez,2014-03\n"
    answer = give(teacher, text)
    assert answer.status_code == 422
    assert "the column “full_name”; the column “dob” (did you mean born?). Nothing was added." in plain(answer)
    assert re.findall(r'type="checkbox" name="leave_out" value="([^"]+)"', answer.text) == ["full_name", "dob"]
    assert parts.logbook().students() == ()
    answer = give(teacher, text, leave_out="full_name")
    assert re.findall(r'type="hidden" name="leave_out" value="([^"]+)"', answer.text) == ["full_name"]
    assert re.findall(r'type="checkbox" name="leave_out" value="([^"]+)"', answer.text) == ["dob"]
    answer = give(teacher, text, leave_out=["full_name", "dob"])
    assert "One student is new" in plain(answer)
    assert parts.logbook().students() == (Student(code="TH-31"),)


@pytest.mark.parametrize(
    ("text", "file", "told"),
    [
        ("", None, "Choose a file, or paste the rows."),
        ("", ("a.xlsx", b"PK\x03\x04 nothing"), "This is no table that can be read."),
        (" \n \n", ("a.csv", b"\n"), "This is no table that can be read."),
        ("TH-31\n", None, "The list has no column named code."),
        ("code\n", None, "The list has no row under its header."),
        ("code,student\na,b\n", None, "The list has two columns code."),
    ],
)
def test_what_is_no_list_is_told_at_its_field_and_what_was_pasted_stays(teacher, parts, text, file, told):
    answer = give(teacher, text, file)
    assert answer.status_code == 422
    assert plain(answer).count(told) == 2
    assert field(answer).strip() == text.strip()
    assert parts.logbook().students() == ()


def test_more_than_a_list_holds_and_what_is_no_form_are_refused(teacher):
    assert give(teacher, "code\n" + "x" * 2**20).status_code == 413
    assert (
        teacher.post("/students/list", content=b"x", headers={"content-type": "multipart/form-data"}).status_code == 400
    )


def test_the_empty_list_comes_in_the_language_of_the_page(teacher):
    csv, book = teacher.get("/students/empty/csv"), teacher.get("/students/empty/xlsx")
    assert csv.headers["content-disposition"] == 'attachment; filename="students.csv"'
    assert rows_in(csv.content, "")[0][1] == rows_in(book.content, "")[0][1] == list(COLUMNS)
    assert "never a name" in csv.text
    assert teacher.get("/students/empty/ods").status_code == 404


def test_all_of_it_is_said_in_spanish(teacher, parts):
    teacher.post("/language", data={"language": "es"})
    parts.logbook().add_student(Student(code="TH-34", born="2014-04", conditions=("shunt",)))
    more = "TH-34,2014-05,,,,\nTH-35,,epilepsi,,,\nTH-36,,,150,,\nTH-37,,,150,Maria,\n"
    told = plain(give(teacher, LIST + more))
    for said in (
        *("Un estudiante es nuevo", "5 TH-33 Por confirmar.", "4 sin código No guardado. Esto no puede ser"),
        *("La fila dice otra cosa: nacimiento 2014-05 (guardado: nacimiento 2014-04)", "¿Quiso decir epilepsy?"),
        *("Un límite y quien lo fijó van juntos.", "Quien fijó el límite debe ser una función, no un nombre."),
        "Corregir un estudiante como dice la lista",
    ):
        assert said in told
