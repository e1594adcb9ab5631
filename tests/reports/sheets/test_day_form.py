"""The form of a day: a line a student and strap, room to write, the columns that it is typed into, and no name."""

import io
import re

import pypdf
import pytest
from ownmark.records.class_template import columns
from ownmark.records.plan.day_form import TYPED, FormRow
from ownmark.reports.page import Table
from ownmark.reports.render.html import to_html
from ownmark.reports.render.pdf import to_pdf
from ownmark.reports.sheets.day_form import COLUMNS, SPARE, day_form
from ownmark.reports.words import Words

ROWS = tuple(FormRow(f"TH-{number}", "slalom-small-gym", f"S{number}") for number in range(11, 41))


def tables(page):
    return [block for block in page.blocks if isinstance(block, Table)]


@pytest.mark.parametrize("language", ["en", "es"])
def test_every_column_that_is_typed_names_its_column_of_a_table(language):
    _, table = tables(day_form(ROWS, Words(language)))
    named = [found[1] for head in table.header if (found := re.search(r"\((\w+)\)$", head))]
    assert named == ["code", "protocol", "strap", "from", "until", "start", "work", "work", "work", "notes"]
    assert set(named) <= set(TYPED)
    assert {"code", "protocol", "strap", "work", "notes"} <= set(columns())


def test_a_line_each_and_three_to_spare_with_nothing_filled_in_that_is_written_by_hand():
    page = day_form((FormRow("TH-11", "crank", "S1"), FormRow("TH-11", "crank", "S2")), Words("en"))
    day, table = tables(page)
    assert page.subtitle == "1 student"
    assert [row[:3] for row in table.rows] == [("TH-11", "crank", "S1"), ("TH-11", "crank", "S2"), *[("",) * 3] * SPARE]
    assert SPARE == 3
    assert not any(cell for row in table.rows for cell in row[3:])
    assert len(table.header) == len(COLUMNS) == 10
    assert day.rows == (("", "", ""),)
    assert all(each.by_hand for each in (day, table))
    assert day_form(ROWS, Words("en")).subtitle == "30 students"


@pytest.mark.parametrize("language", ["en", "es"])
def test_thirty_students_take_two_sheets_across_with_the_header_on_both(language):
    sheets = pypdf.PdfReader(io.BytesIO(to_pdf(day_form(ROWS, Words(language))))).pages
    assert len(sheets) == 2
    texts = [" ".join(sheet.extract_text().split()) for sheet in sheets]
    for sheet, text in zip(sheets, texts, strict=True):
        assert (round(sheet.mediabox.width), round(sheet.mediabox.height)) == (792, 612)
        assert "(until)" in text
        assert "(notes)" in text
    found = re.findall(r"TH-\d\d", " ".join(texts))
    assert found == [row.code for row in ROWS]
    assert min(text.count("TH-") for text in texts) >= 10


def test_a_table_by_hand_is_told_from_one_to_read():
    html = to_html(day_form(ROWS[:1], Words("en"))).decode()
    assert html.count('class="by-hand"') == 2
