"""A class's table, and who wore which strap."""

import pytest
from ownmark.errors import NotATrial, UnreadableFile
from ownmark.records.class_table import read_class


def table(folder, text, name="day.csv"):
    path = folder / name
    path.write_bytes(text.encode("utf-8-sig"))
    return path


@pytest.mark.parametrize("mark", [",", ";", "\t"])
def test_any_common_delimiter_and_a_byte_order_mark_are_read(tmp_path, mark):
    path = table(
        tmp_path, mark.join(("Code", "Protocol", "Files", "Note")) + "\n" + mark.join(("th-1", "p", "a.fit", "x"))
    )
    (row,) = read_class(path)
    assert row.texts == {"code": "th-1", "protocol": "p", "notes": "x"}
    assert row.files == (tmp_path / "a.fit",)
    assert row.number == 2


def test_empty_rows_are_passed_over_and_too_many_cells_are_told(tmp_path):
    rows = read_class(table(tmp_path, "code,protocol,notes\nA1,p,one\n\n,,\nA2,p,two, and more\n"))
    assert [row.code for row in rows] == ["A1", "A2"]
    assert "more cells" in rows[1].problem
    assert rows[1].number == 5


def test_a_strap_is_known_by_its_label_as_a_word_of_its_own(tmp_path):
    for name in ("S1.fit", "S11.fit", "day S1 frame.csv"):
        (tmp_path / name).write_bytes(b"x")
    (row,) = read_class(table(tmp_path, "code,protocol,strap\nA1,p,s1\n"))
    assert sorted(path.name for path in row.files) == ["S1.fit", "day S1 frame.csv"]
    (row,) = read_class(table(tmp_path, "code,protocol,strap\nA1,p,S2\n"))
    assert "named after the strap S2" in row.problem


def test_times_of_wearing_say_whose_a_strap_is_and_never_what_was_work(tmp_path):
    (tmp_path / "S1.fit").write_bytes(b"x")
    (tmp_path / "S2.fit").write_bytes(b"x")
    told = "strap,code,from,until\nS1,A1,09:00:00,09:10:00\nS1,A2,09:12:00,09:20:00\nS2,A3,09:00,09:30\n"
    straps = table(tmp_path, told, "straps.csv")
    first, second, third = read_class(table(tmp_path, "code,protocol,work\nA1,p,\nA2,p,01:00-02:00\nA3,p,\n"), straps)
    assert ("work" in first.texts, first.files) == (False, ())
    assert "also worn by A2: write when A1 worked" in first.problem
    assert (second.texts["work"], second.problem) == ("01:00-02:00", "")
    assert any("also worn by A1" in note for note in second.notes)
    assert ("work" in third.texts, third.problem, [each.name for each in third.files]) == (False, "", ["S2.fit"])


def test_tables_that_are_none_are_sentences(tmp_path):
    with pytest.raises(UnreadableFile, match="holds no line"):
        read_class(table(tmp_path, ""))
    path = tmp_path / "latin.csv"
    path.write_bytes("código,protocol\nA1,p\n".encode("latin-1"))
    with pytest.raises(UnreadableFile, match="UTF-8: line 1\\."):
        read_class(path)
    with pytest.raises(NotATrial, match="no column protocol"):
        read_class(table(tmp_path, "code,files\nA1,x\n"))
    with pytest.raises(NotATrial, match="list of straps"):
        read_class(table(tmp_path, "code,protocol\nA1,p\n"), table(tmp_path, "a,b\n", "straps.csv"))


def test_a_row_that_is_not_in_utf_8_is_named_and_the_others_stand(tmp_path):
    path = tmp_path / "day.csv"
    rows = [
        "code,protocol,notes,files",
        "A1,p,calm,",
        "A2,p,“wind” à l’école,a.csv",
        "A3,p,calm,",
        'A4,p,"two\nlines é",',
    ]
    path.write_bytes("\n".join(rows).encode("cp1252"))
    first, second, third, fourth = read_class(path)
    assert (first.problem, third.problem, third.code) == ("", "", "A3")
    assert (second.number, second.code, second.files) == (3, "A2", ())
    assert second.problem == (
        "The row holds letters that are not in UTF-8 (notes). In the spreadsheet, save the table as “CSV UTF-8”."
    )
    assert second.texts["notes"] == "�wind� � l��cole"
    assert (fourth.number, "(notes)" in fourth.problem) == (6, True)


def test_letters_of_another_alphabet_beyond_the_columns_are_told_too(tmp_path):
    path = tmp_path / "day.csv"
    path.write_bytes(b"code,protocol,\nA1,p,\xe9,\xe9\n")
    (row,) = read_class(path)
    assert row.problem.startswith("The row holds letters that are not in UTF-8. In")


def test_a_list_of_straps_that_is_not_in_utf_8_is_refused_with_its_lines(tmp_path):
    straps = tmp_path / "straps.csv"
    straps.write_bytes(b"strap,code,note\nS1,A1,x\n" + b"S2,A2,\xe9\n" * 2)
    with pytest.raises(UnreadableFile, match=r"UTF-8: line 3, 4\."):
        read_class(table(tmp_path, "code,protocol\nA1,p\n"), straps)
    straps.write_bytes(b"strap,code,note\n" + b"S2,A2,\xe9\n" * 6)
    with pytest.raises(UnreadableFile, match=r"UTF-8: line 2, 3, 4, 5, 6 …\."):
        read_class(table(tmp_path, "code,protocol\nA1,p\n"), straps)
