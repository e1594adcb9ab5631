"""RFC 4180, formulas, and files that are whole or not there."""

import csv
import os
import resource
import stat
import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from ownmark.errors import AlreadyThere, DiskFull, OwnmarkError, UnknownProtocol, UnreadableFile, UsageError
from ownmark.reports.exports import FORMATS, export
from ownmark.reports.exports.columns import trial_columns
from ownmark.reports.exports.output_files import output_files
from ownmark.words.plain import neutral
from ownmark.words.plain import without_apostrophe as plain

BEGINS = "=+-@\t\r"
"""Signs at which spreadsheet programs take a CSV field for a formula, or hide that it is one; the OWASP page on CSV
injection names these six, from memory."""


def test_no_text_field_begins_like_a_formula_and_numbers_stay_numbers(filled, tmp_path):
    logbook, _ = filled
    export(logbook, "csv", tmp_path / "d.csv")
    number = {each.header for each in trial_columns() if each.kind == "number"}
    negative = 0
    with (tmp_path / "d.csv").open(newline="", encoding="utf-8") as file:
        for row in csv.DictReader(file):
            for header, field in row.items():
                if header in number:
                    negative += field.startswith("-")
                    assert not field or float(field) == float(field)
                else:
                    assert not field.lstrip(" ").startswith(tuple(BEGINS)), (header, field)
    assert negative > 10


@given(st.text(st.sampled_from("=+-@\t\r\n' aＺ＝0"), max_size=6))
def test_the_apostrophe_comes_off_again_whatever_was_typed(text):
    assert plain(neutral(text)) == text
    assert not neutral(text).lstrip(" ").startswith(tuple(BEGINS))


def test_lines_end_with_crlf_and_there_is_no_byte_order_mark(filled, tmp_path):
    logbook, _ = filled
    export(logbook, "csv", tmp_path / "d.csv")
    data = (tmp_path / "d.csv").read_bytes()
    assert data.startswith(b"trial,code,protocol,")
    assert data.endswith(b"\r\n")
    assert b'"a ""quoted"", comma\r\nand a second line"' in data  # RFC 4180, rules 6 and 7
    assert data.replace(b"\r\n", b"").count(b"\n") == 0
    assert b"heart_rate_mean [/min]" in data
    assert "שלום → 🦽 ñ".encode() in data


@pytest.mark.parametrize("form", [*FORMATS, "all"])
def test_only_the_owner_can_read_an_export_and_no_part_is_left(filled, form, tmp_path):
    logbook, _ = filled
    found = export(logbook, form, tmp_path / "d")
    assert sorted(tmp_path.iterdir()) == sorted(found.files)
    assert {stat.S_IMODE(each.stat().st_mode) for each in found.files} == {0o600}


def test_a_file_is_replaced_only_when_that_is_said(filled, tmp_path):
    logbook, _ = filled
    beside = tmp_path / "d-hand-results.csv"
    beside.write_text("mine")
    with pytest.raises(AlreadyThere, match="nothing was written"):
        export(logbook, "csv", tmp_path / "d.csv")
    assert [each.name for each in tmp_path.iterdir()] == ["d-hand-results.csv"]
    assert beside.read_text() == "mine"
    export(logbook, "csv", tmp_path / "d.csv", replace=True)
    assert beside.read_text().startswith("trial,")
    (tmp_path / "folder.csv").mkdir()
    with pytest.raises(AlreadyThere, match="folder"):
        export(logbook, "csv", tmp_path / "folder.csv", replace=True)


def test_a_failure_in_the_middle_leaves_nothing(filled, tmp_path):
    logbook, _ = filled
    (tmp_path / "d.out").write_text("older")

    def stop(done, _total):
        if done == 3:
            raise KeyboardInterrupt

    for form in (*FORMATS, "all"):
        with pytest.raises(KeyboardInterrupt):
            export(logbook, form, tmp_path / "d.out", replace=True, progress=stop)
    assert [each.name for each in tmp_path.iterdir()] == ["d.out"]
    assert (tmp_path / "d.out").read_text() == "older"


def test_a_place_that_cannot_be_written_is_a_sentence(filled, tmp_path):
    logbook, _ = filled
    with pytest.raises(UnreadableFile, match="no such folder"):
        export(logbook, "csv", tmp_path / "nowhere" / "d.csv")
    with pytest.raises(UnreadableFile, match="name is too long"):
        export(logbook, "json", tmp_path / ("d" * 300))
    for bad in ("", "/", "."):
        with pytest.raises(OwnmarkError):
            export(logbook, "csv", bad)
    if os.geteuid():
        tmp_path.chmod(0o500)
        with pytest.raises(UnreadableFile, match="cannot be written to"):
            export(logbook, "csv", tmp_path / "d.csv")


def test_a_full_disk_is_a_sentence_and_nothing_is_left(filled, tmp_path):
    # A limit on the size of a file stands for the full disk: the system refuses the write in the same way.
    logbook, _ = filled
    code = (
        "import resource, sys\n"
        "from ownmark.errors import DiskFull\n"
        "from ownmark.records import open_logbook\n"
        "from ownmark.reports.exports import export\n"
        "with open_logbook(sys.argv[1]) as logbook:\n"
        "    next(logbook.trials())\n"
        "    resource.setrlimit(resource.RLIMIT_FSIZE, (2000, resource.RLIM_INFINITY))\n"
        "    for form in sys.argv[3:]:\n"
        "        try:\n"
        "            export(logbook, form, sys.argv[2])\n"
        "        except DiskFull as refusal:\n"
        "            print(form, refusal)\n"
    )
    words = [str(logbook.place.file), str(tmp_path / "d"), *FORMATS]
    command = [sys.executable, "-W", "error", "-c", code, *words]
    done = subprocess.run(command, check=False, capture_output=True, text=True)
    assert done.stderr == ""
    told = done.stdout.splitlines()
    assert [line.partition(" ")[0] for line in told] == list(FORMATS)
    assert all("no room left on the disk" in line for line in told)
    assert list(tmp_path.iterdir()) == []


def test_wrong_questions_are_sentences(filled, tmp_path):
    from datetime import date

    logbook, _ = filled
    with pytest.raises(UsageError, match="no form"):
        export(logbook, "docx", tmp_path / "d")
    with pytest.raises(UsageError, match="is after"):
        export(logbook, "csv", tmp_path / "d", since=date(2026, 2, 1), until=date(2026, 1, 1))
    with pytest.raises(UnknownProtocol):
        export(logbook, "csv", tmp_path / "d", protocol="slalom-gim")
    assert list(tmp_path.iterdir()) == []


def test_a_full_disk_at_the_last_moment_is_told_too(tmp_path):
    before = resource.getrlimit(resource.RLIMIT_FSIZE)
    try:
        resource.setrlimit(resource.RLIMIT_FSIZE, (100, before[1]))
        with pytest.raises(DiskFull), output_files([tmp_path / "a"]) as (handle,):
            handle.write(b"x" * 4000)  # held in memory until the end of the block
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, before)
    assert list(tmp_path.iterdir()) == []


def test_what_is_written_on_the_way_lies_beside_the_file_and_not_where_the_command_was_called(tmp_path):
    from ownmark.reports.exports.output_files import output_files

    with output_files([tmp_path / "district.xlsx"]) as (handle,):
        assert Path(str(handle.name)).parent == tmp_path
        assert Path(str(handle.name)).stat().st_mode & 0o777 == 0o600
