"""The coordinator's screens: what the terminal's table and exports say, in parts, with filters, safe as formulas."""

import csv
import io
import re
import zipfile
from datetime import date

import pytest
from ownmark.records.student import Student
from ownmark.reports.exports import export
from ownmark.reports.exports.plans import plans
from ownmark.reports.exports.run import FORMATS

from tests.records.store import made


@pytest.fixture
def book(parts):
    """TH-11 and BF-07 with two days each, C-3 with one of another test."""
    logbook = parts.logbook()
    made.filled(logbook)
    logbook.add_student(Student(code="C-3"))
    logbook.add_protocol(made.protocol("reach", component="flexibility", primary_figure="heart_rate_mean"))
    logbook.add_trial(
        made.trial("C-3", date(2026, 9, 20), "reach", sheet=made.sheet(4), notes='=HYPERLINK("http://x")')
    )
    return logbook


def codes(page):
    return re.findall(r'<th scope="row" role="rowheader"><a class="row-way" href="[^"]*">([^<]*)</a>', page)


def test_a_row_for_each_student_and_test_by_code_with_the_way_to_each(teacher, book, parts):
    page = teacher.get("/district").text
    assert codes(page) == ["BF-07", "C-3", "TH-11"]
    assert "3 students and tests, by code." in page
    assert f'href="/student/{parts.ids.of("TH-11")}/change/slalom-gym"' in page
    assert f'href="/student/{parts.ids.of("C-3")}/change' not in page
    assert not [each for each in re.findall(r'(?:href|action)="([^"]*)"', page) if "TH-11" in each]


@pytest.mark.parametrize(
    ("query", "found"),
    [
        ("protocol=reach", ["C-3"]),
        ("component=aerobic", ["BF-07", "TH-11"]),
        ("component=aerobic&protocol=reach", []),
        ("from=2026-09-12", ["C-3"]),
        ("to=2026-09-10", ["BF-07", "TH-11"]),
        ("protocol=no-such&component=x", ["BF-07", "C-3", "TH-11"]),
    ],
)
def test_the_filters_take_the_rows_that_they_name(teacher, book, query, found):
    page = teacher.get(f"/district?{query}").text
    assert codes(page) == found
    assert ("<table" in page) == bool(found)


def test_days_that_are_none_are_told(teacher, book):
    for address in ("/district", "/district/plans"):
        refused = teacher.get(f"{address}?from=2026-09-12&to=2026-09-01")
        assert refused.status_code == 422
        assert "The last day is before the first." in refused.text


def test_a_long_table_comes_in_parts_that_keep_the_filters(teacher, parts):
    logbook = parts.logbook()
    logbook.add_protocol(made.protocol())
    logbook.add_students([Student(code=f"S-{number:02d}") for number in range(30)])
    for number in range(30):
        logbook.add_trial(made.trial(f"S-{number:02d}", sheet=made.sheet(number)))
    first = teacher.get("/district?component=aerobic").text
    assert codes(first) == [f"S-{number:02d}" for number in range(25)]
    assert 'href="/district?component=aerobic&amp;page=2"' in first
    assert codes(teacher.get("/district?component=aerobic&page=2").text) == [f"S-{n:02d}" for n in range(25, 30)]


def test_sentences_are_those_of_the_terminal_in_the_language_asked_for(teacher, book):
    for language in ("en", "es"):
        page = teacher.get(f"/district/plans?lang={language}").text
        expected = [text for _, text in plans(book, language=language)]
        shown = re.findall(r'<p class="sentence"[^>]*>(.*?)</p>', page, re.DOTALL)
        assert sorted(map(plain, shown)) == sorted(map(plain, expected))
        assert page.count("data-copies") == 3
    assert 'class="second copy" type="button" hidden' in page  # there only where the script is


def plain(text):
    found = re.sub("<[^>]*>", " ", text)
    for sign, stands_for in (("&amp;", "&"), ("&#39;", "'"), ("&#34;", '"'), ("&lt;", "<"), ("&gt;", ">")):
        found = found.replace(sign, stands_for)
    return " ".join(found.split())


def sent(teacher, form, **more):
    return teacher.post("/district/export", data={"form": form, **more})


@pytest.mark.parametrize("form", FORMATS)
def test_an_export_is_byte_for_byte_that_of_the_terminal(teacher, book, form, tmp_path):
    answer = sent(teacher, form)
    assert answer.status_code == 200
    assert "TH-11" not in answer.headers["content-disposition"]
    written = export(book, form, tmp_path / f"ownmark-export{FORMATS[form][1]}").files
    if len(written) == 1:
        found = {written[0].name: answer.content}
    else:
        with zipfile.ZipFile(io.BytesIO(answer.content)) as archive:
            found = {name: archive.read(name) for name in archive.namelist()}
    assert list(found) == [each.name for each in written]
    if form not in ("xlsx", "parquet"):  # these hold the moment at which they were made
        assert found == {each.name: each.read_bytes() for each in written}


def test_what_looks_like_a_formula_is_none_in_an_export(teacher, book):
    with zipfile.ZipFile(io.BytesIO(sent(teacher, "csv").content)) as archive:
        rows = list(csv.DictReader(io.StringIO(archive.read("ownmark-export.csv").decode("utf-8-sig"))))
    assert [row["code"] for row in rows] == ["TH-11", "BF-07", "TH-11", "BF-07", "C-3"]
    assert not [cell for row in rows for cell in row.values() if cell.startswith(("=", "@", "+"))]


def test_all_forms_come_in_one_archive_and_the_sentences_as_text(teacher, book):
    answer = sent(teacher, "all")
    assert 'filename="ownmark-export.zip"' in answer.headers["content-disposition"]
    with zipfile.ZipFile(io.BytesIO(answer.content)) as archive:
        assert {name.rpartition(".")[2] for name in archive.namelist()} == {"csv", "xlsx", "parquet", "json", "ndjson"}
    text = sent(teacher, "plan", lang="es", protocol="reach").text
    assert "C-3" in text
    assert "TH-11" not in text


@pytest.mark.parametrize(
    "data", [{"form": "exe"}, {"form": ""}, {"form": "csv", "from": "x"}, {"form": "csv", "lang": "x"}]
)
def test_what_is_no_export_is_refused(teacher, book, data):
    assert teacher.post("/district/export", data=data).status_code == 400


def test_an_unknown_protocol_is_told(teacher, book):
    assert sent(teacher, "csv", protocol="no-such").status_code == 404


def test_nothing_is_left_on_the_disk(teacher, book, tmp_path, monkeypatch):
    import tempfile

    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path / "elsewhere"))
    (tmp_path / "elsewhere").mkdir()
    for form in ("csv", "xlsx", "plan"):
        assert sent(teacher, form).status_code == 200
    assert list((tmp_path / "elsewhere").iterdir()) == []


@pytest.mark.parametrize("form", ["html", "pdf"])
def test_the_table_is_printed(teacher, book, form):
    found = teacher.get(f"/sheet/district/{form}?lang=es&protocol=reach")
    assert found.status_code == 200
    if form == "pdf":
        assert 'filename="district-reach-es.pdf"' in found.headers["content-disposition"]
    assert teacher.get(f"/sheet/district/{form}?to=x").status_code == 400


def test_an_empty_logbook_says_so(teacher, parts):
    parts.logbook()
    for address in ("/district", "/district/plans"):
        assert teacher.get(address).status_code == 200


@pytest.mark.parametrize("language", ["es", "pseudo"])
def test_the_district_is_in_the_language_of_the_session(teacher, book, language):
    teacher.post("/language", data={"language": language})
    for address in ("/district", "/district/plans"):
        page = teacher.get(address).text
        for english in ("Sentences for plans", "Excel workbook", "Show these", "Download", "Read each one"):
            assert english not in page, (address, english)


def test_without_a_trial_there_is_nothing_to_download(teacher, parts):
    parts.logbook()
    page = teacher.get("/district").text
    assert "/district/export" not in page
    assert "/sheet/district" not in page
    assert "#export" not in page
