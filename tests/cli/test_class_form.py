"""``ownmark class form``: the page and the table that it is typed into."""

import pytest


@pytest.fixture
def run(typed):
    typed("student", "add", "TH-11")
    typed("protocol", "copy", "arm-crank-steady", "crank")
    return typed


def test_a_form_is_a_pdf_unless_told_otherwise(run, tmp_path):
    assert run("class", "form") == "class-form.pdf"
    assert (tmp_path / "class-form.pdf").read_bytes().startswith(b"%PDF")
    assert run("class", "form", "--html", "--lang", "es", "--out", "pages").endswith("class-form-es.html")
    assert '<html lang="es">' in (tmp_path / "pages" / "class-form-es.html").read_text()


def test_a_name_beside_the_code_is_not_printed(run, tmp_path):
    (tmp_path / "roster.csv").write_text("name,code,protocol\nAnne Example,TH-12,crank\n")
    run("class", "form", "--roster", "roster.csv", "--html", "--table", "typed.csv")
    assert "TH-12" in (tmp_path / "class-form.html").read_text()
    for path in ("class-form.html", "typed.csv"):
        assert "Anne" not in (tmp_path / path).read_text()


def test_the_table_is_never_written_over(run, tmp_path):
    (tmp_path / "typed.csv").write_text("what somebody typed")
    assert "such a file already" in run("class", "form", "--table", "typed.csv", code=1)
    assert (tmp_path / "typed.csv").read_text() == "what somebody typed"
    assert not (tmp_path / "class-form.pdf").exists()
    told = run("class", "form", "--table", "none/typed.csv", code=1)
    assert "--table" in told


def test_students_since_a_day_are_those_of_the_logbook(run, tmp_path):
    (tmp_path / "roster.csv").write_text("code\nTH-12\n")
    for option in ("--roster", "--straps"):
        told = run("class", "form", option, "roster.csv", "--from", "2026-05-01", code=2)
        assert "for the students of the logbook" in told
    assert "no student" in run("class", "form", "--from", "2026-05-01", code=1)
    assert "not a date" in run("class", "form", "--from", "soon", code=2)
