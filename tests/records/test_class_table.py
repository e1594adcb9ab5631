"""A class's table, and who wore which strap."""

from datetime import date
from pathlib import Path

import pytest
from ownmark.errors import NotATrial, UnreadableFile
from ownmark.records.class_table import kind_of, lacking_of, read_class, read_straps


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
    with pytest.raises(NotATrial, match="no column protocol"):
        read_class(table(tmp_path, "code,files\nA1,x\n"))
    with pytest.raises(NotATrial, match="list of straps"):
        read_class(table(tmp_path, "code,protocol\nA1,p\n"), table(tmp_path, "a,b\n", "straps.csv"))


def test_a_date_whose_day_and_month_can_change_places_is_settled_by_another_or_left_open(tmp_path):
    first, second = read_class(table(tmp_path, "code,protocol,date\nA1,p,5/12/2026\nA2,p,5/13/2026\n"))
    assert (first.texts["on"], second.texts["on"], first.days) == ("2026-05-12", "2026-05-13", ())
    (alone,) = read_class(table(tmp_path, "code,protocol,date\nA1,p,5/12/2026\n"))
    assert ("on" in alone.texts, alone.days) == (False, (date(2026, 12, 5), date(2026, 5, 12)))
    (wrong,) = read_class(table(tmp_path, "code,protocol,date\nA1,p,tuesday\n"))
    assert (wrong.texts["on"], wrong.days) == ("tuesday", ())


def test_the_column_of_files_may_be_called_file(tmp_path):
    (row,) = read_class(table(tmp_path, "Code,Protocol,File\nA1,p,a.fit\n"))
    assert row.files == (tmp_path / "a.fit",)


@pytest.mark.parametrize(
    ("header", "lacking"),
    [
        ("code,protocol", ()),
        ("Student,Protocol,Work", ()),
        ("Student,Test", ("protocol",)),
        ("name,protocol", ("code",)),
        ("time,heart rate", None),
        ("", None),
    ],
)
def test_what_a_table_lacks_to_be_a_class_table(header, lacking):
    assert lacking_of(header.split(",")) == lacking
    assert kind_of(header.split(",")) == ("class" if lacking == () else "")


def test_a_list_of_straps_is_known_by_its_straps_and_other_names_of_its_columns_are_read(tmp_path):
    for header in ("strap,code", "Strap,Student,From,To", "strap,name", "strap,to", "from,strap"):
        assert kind_of(header.split(",")) == "straps"
    assert kind_of(["strap", "code", "protocol"]) == "class"
    assert kind_of(["time", "heart rate", "strap"]) == kind_of(["code", "from"]) == ""
    (worn,) = read_straps(table(tmp_path, "Strap,Student,From,To\nS1,th-11,9:00,9:10\n"))
    assert (worn.strap, worn.code, worn.since, worn.until) == ("S1", "TH-11", "9:00", "9:10")
    with pytest.raises(NotATrial, match="no time of day"):
        read_straps(table(tmp_path, "strap,student,to\nS1,TH-11,noon\n"))
    with pytest.raises(NotATrial, match="no column strap, or none named code"):
        read_straps(table(tmp_path, "strap,who\nS1,TH-11\n"))
    with pytest.raises(NotATrial, match="two columns code"):
        read_straps(table(tmp_path, "strap,student,code\nS1,TH-11,TH-12\n"))


def test_a_folder_that_goes_away_while_straps_are_looked_for_is_told(tmp_path, monkeypatch):
    (tmp_path / "day.csv").write_text("code,protocol,strap\nTH-11,slalom,blue\n")

    def gone(_):
        raise OSError(5, "Input/output error")

    monkeypatch.setattr(Path, "iterdir", gone)
    with pytest.raises(UnreadableFile, match="input/output error"):
        read_class(tmp_path / "day.csv")


def test_a_column_of_days_is_one_of_dates_and_both_beside_each_other_are_told_by_their_names(tmp_path):
    place = tmp_path / "t.csv"
    place.write_text("Code,Protocol,Day\nTH-11,slalom-gym,2026-10-06\n")
    (row,) = read_class(place)
    assert row.texts["on"] == "2026-10-06"
    place.write_text("Code,Protocol,Date,Day\nTH-11,slalom-gym,2026-10-06,Tue\n")
    with pytest.raises(NotATrial) as refused:
        read_class(place)
    assert str(refused.value) == f"{place}: two columns say the same: Date and Day. Take one of them away."


def test_however_many_rows_look_for_a_strap_s_files_the_folder_is_listed_once(tmp_path, monkeypatch):
    for number in range(5):
        (tmp_path / f"strap-{number}.fit").write_bytes(b"x")
    (tmp_path / "t.csv").write_text("code,protocol,strap\n" + "".join(f"TH-1{n},slalom,{n}\n" for n in range(5)))
    real, listed = Path.iterdir, []
    monkeypatch.setattr(Path, "iterdir", lambda self: listed.append(self) or real(self))
    rows = read_class(tmp_path / "t.csv")
    assert [[each.name for each in row.files] for row in rows] == [[f"strap-{n}.fit"] for n in range(5)]
    assert listed == [tmp_path]
