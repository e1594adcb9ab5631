"""The empty class table: every column that is read, each explained, and nothing else."""

import pytest
from ownmark.records.class_table import read_class
from ownmark.records.class_template import columns, explained, template_csv, template_xlsx
from ownmark.records.entry import TYPED, field_named
from ownmark.records.spreadsheet import rows_of


def test_every_field_that_can_be_typed_has_a_column_and_every_column_is_read():
    beyond = {"files", "strap", "laps", "columns", "offset", "clock_shift", "check"}
    assert {field_named(name) for name in columns() if name not in beyond} == set(TYPED)
    assert len(set(columns())) == len(columns())
    assert columns()[:3] == ("code", "protocol", "files")


@pytest.mark.parametrize("language", ["en", "es"])
def test_every_column_is_explained_and_both_forms_hold_the_same(tmp_path, language):
    told = explained(language)
    assert all(len(why) > 10 for _, why in told)
    (tmp_path / "a.csv").write_bytes(template_csv(language))
    (tmp_path / "a.xlsx").write_bytes(template_xlsx(language))
    header, lines = rows_of(tmp_path / "a.csv")
    assert header[1] == [name for name, _ in told]
    assert lines[1][1:] == [why for _, why in told][1:]
    assert rows_of(tmp_path / "a.xlsx") == [(1, header[1])]


def test_the_line_that_explains_is_no_row(tmp_path):
    path = tmp_path / "a.csv"
    path.write_bytes(template_csv() + b"TH-11,slalom-gym,a.fit\r\n")
    (row,) = read_class(path)
    assert (row.number, row.texts) == (3, {"code": "TH-11", "protocol": "slalom-gym"})
