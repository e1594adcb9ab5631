"""What may never be written over: a logbook, its journal, a kept recording, an input of the command."""

import os
import shutil
from datetime import date
from pathlib import Path

import pytest
from ownmark.cli.main import main
from ownmark.errors import AlreadyThere
from ownmark.records import back_up, disclose, open_logbook
from ownmark.records.store.outputs import refuse_own
from ownmark.reports.exports import export
from ownmark.reports.exports.plans import write_plans

from tests.records.store import made


@pytest.fixture
def school(tmp_path):
    with open_logbook(tmp_path / "logbook.db") as logbook:
        made.filled(logbook)
        yield logbook


def links(path):
    """A hard link, a symbolic one, and one over a linked folder."""
    os.link(path, path.with_name("hard.csv"))
    path.with_name("soft.csv").symlink_to(path)
    path.with_name("around").symlink_to(path.parent, target_is_directory=True)
    return [path.with_name("hard.csv"), path.with_name("soft.csv"), path.with_name("around") / path.name]


def test_the_logbook_is_no_output_by_whatever_name(school, tmp_path):
    file = tmp_path / "logbook.db"
    before = file.read_bytes()
    names = [file, *links(file), tmp_path / "x" / ".." / "logbook.db", Path(os.path.relpath(file))]
    for path in names:
        with pytest.raises(AlreadyThere, match="the logbook itself"):
            refuse_own(school, [path])
        for form in ("csv", "json", "fhir", "xlsx", "parquet"):
            with pytest.raises(AlreadyThere):
                export(school, form, path, replace=True)
        with pytest.raises(AlreadyThere):
            write_plans(school, path, replace=True)
        with pytest.raises(AlreadyThere):
            back_up(school, path)
        with pytest.raises(AlreadyThere):
            disclose(school, "TH-11", path)
    assert file.read_bytes() == before
    assert len(school.students()) == 2


@pytest.mark.parametrize("end", ["-journal", "-wal", "-shm"])
def test_what_sqlite_keeps_beside_the_logbook_is_no_output_before_it_is_there(school, tmp_path, end):
    for write in (back_up, lambda *words: export(words[0], "csv", words[1])):
        with pytest.raises(AlreadyThere, match="belongs to it"):
            write(school, tmp_path / f"logbook.db{end}")
    with pytest.raises(AlreadyThere):
        refuse_own(school, [tmp_path / "nowhere.csv", tmp_path / f"LOGBOOK.DB{end}"])
    assert [each.name for each in tmp_path.iterdir()] == ["logbook.db"]


def test_a_file_beside_an_export_is_no_output_either(school, tmp_path):
    (tmp_path / "a-columns.csv").symlink_to(tmp_path / "logbook.db")
    with pytest.raises(AlreadyThere, match="the logbook itself"):
        export(school, "csv", tmp_path / "a.csv", replace=True)
    (tmp_path / "b.json").symlink_to(tmp_path / "logbook.db")
    with pytest.raises(AlreadyThere, match="the logbook itself"):
        export(school, "all", tmp_path / "b", replace=True)


def test_another_logbook_is_no_output(school, tmp_path):
    open_logbook(tmp_path / "other.db").close()
    with pytest.raises(AlreadyThere, match="this is a logbook"):
        export(school, "csv", tmp_path / "other.db", replace=True)


def test_a_recording_that_is_kept_is_no_output_and_one_that_differs_is(school, tmp_path):
    strap = tmp_path / "strap.csv"
    strap.write_bytes(made.recording(1))
    for path in (strap, *links(strap)):
        with pytest.raises(AlreadyThere, match="keeps as an original"):
            export(school, "csv", path, replace=True)
    assert strap.read_bytes() == made.recording(1)
    strap.write_bytes(made.recording(1) + b"\n")
    assert export(school, "json", strap, replace=True).rows == 4


def test_an_input_is_no_output(school, tmp_path):
    table = tmp_path / "table.csv"
    table.write_text("x")
    for path in (table, *links(table)):
        with pytest.raises(AlreadyThere, match="read by the same command"):
            refuse_own(school, [path], [tmp_path / "none", table])
    refuse_own(school, [tmp_path / "new.csv"], [table])


def test_a_page_never_takes_the_place_of_the_logbook(tmp_path, capsys):
    day = date(2026, 9, 11)
    folder = tmp_path / "pages"
    folder.mkdir()
    place = folder / f"class-{day.isoformat()}.html"
    with open_logbook(place) as logbook:
        made.filled(logbook)
    before = place.read_bytes()
    words = ["class", "page", "--html", "--out", str(folder), "--logbook", str(place)]
    assert main(words) == 1
    assert "the logbook itself" in capsys.readouterr().err
    assert place.read_bytes() == before
    shutil.copy(place, tmp_path / "logbook.db")
    assert main([*words[:-1], str(tmp_path / "logbook.db")]) == 1  # another logbook, it is
    place.unlink()
    assert main([*words[:-1], str(tmp_path / "logbook.db")]) == 0


def test_the_reasons_of_a_class_never_take_the_place_of_its_table(school, tmp_path, capsys):
    day = tmp_path / "day"
    day.mkdir()
    table = day / "reasons.csv"
    table.write_text("code,protocol,files\nTH-11,slalom-gym,none.fit\n")
    before = table.read_bytes()
    words = ["class", "add", str(table), "--aside", str(day), "--logbook", str(tmp_path / "logbook.db")]
    assert main(words) == 1
    assert "read by the same command" in capsys.readouterr().err
    assert table.read_bytes() == before
    assert [each.name for each in day.iterdir()] == ["reasons.csv"]


def test_the_reasons_of_a_class_are_private_and_no_formula_or_control_character_stands_in_them(school, tmp_path):
    (tmp_path / "=1+1\x1b.fit").write_bytes(b"nothing at all")
    (tmp_path / "day.csv").write_text("code,protocol,files\nTH-11,slalom-gym,=1+1\x1b.fit\n")
    main(["class", "add", str(tmp_path / "day.csv"), "--logbook", str(tmp_path / "logbook.db")])
    reasons = tmp_path / "day-aside" / "reasons.csv"
    assert reasons.stat().st_mode & 0o077 == 0
    text = reasons.read_text()
    assert "\x1b" not in text
    assert ",'=1+1\ufffd.fit," in text
