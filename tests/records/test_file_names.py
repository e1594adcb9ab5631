"""A file's name often names the student: only ``trial show`` sees it as given, and originals can be left out."""

import gzip
import json
import zipfile
from datetime import UTC, datetime

import pypdf
import pytest
from ownmark.cli.main import main
from ownmark.errors import AlreadyThere, NotOneTrial
from ownmark.ingest.recording import Hints
from ownmark.records import KeptFile, back_up, disclose, open_logbook, restore
from ownmark.records.adding import keep
from ownmark.records.file_names import names_of, neutral_name, without_names
from ownmark.records.opened import opened
from ownmark.records.recompute import recompute
from ownmark.words.message import Message

from tests.makers.sheets import altered, texts, with_figure
from tests.records.store import made

NINE = datetime(2026, 5, 12, 9, 14, 59, tzinfo=UTC)


@pytest.mark.parametrize(
    ("kind", "start", "clock_s", "given", "name"),
    [
        ("FIT", NINE, None, "Maria Smith S4.fit", "fit-0914-strap-4"),
        ("FIT", NINE, 7.0, "x.fit", "fit-0914"),
        ("table", None, 33299.0, "x.csv", "table-0914"),
        ("table", None, 86400.0 + 60, "x.csv", "table-0001"),
        ("TCX", None, None, "Maria.tcx", "tcx"),
        ("RR list", None, None, "strap-007.txt", "rr-list-strap-7"),
        ("heart-rate packets", None, None, "BELT 12 Maria", "heart-rate-packets-strap-12"),
        ("FIT", None, None, "Jones4.fit", "fit"),
        ("FIT", None, None, "s1234.fit", "fit"),
        ("FIT", None, None, "sensor_5_maria.fit", "fit-strap-5"),
        ("FIT", None, None, "2026-05-12-S4.fit", "fit-strap-4"),
        ("", None, None, "maria", "file"),
    ],
)
def test_a_neutral_name_tells_kind_time_and_strap_and_nothing_else(kind, start, clock_s, given, name):
    assert neutral_name(kind, start, clock_s, given) == name


def table(start_s, seconds=600, level=100):
    """A strap's table with clock times from ``start_s`` on the test day."""
    rows = [
        f"2026-05-12 {s // 3600:02d}:{s // 60 % 60:02d}:{s % 60:02d},{level + s % 7}"
        for s in range(start_s, start_s + seconds)
    ]
    return ("Time,Heart Rate (bpm)\n" + "\n".join(rows) + "\n").encode()


NOON = 12 * 3600


def test_files_are_read_under_names_of_their_own_and_offsets_follow(tmp_path):
    archive = tmp_path / "a.zip"
    with zipfile.ZipFile(archive, "w") as found:
        found.writestr("Maria/one.csv", table(NOON))
        found.writestr("Maria/two.csv", b"nothing at all")
        found.writestr("Maria S3.csv", table(NOON + 600))
    originals = [
        ("Maria S4.csv", table(NOON)),
        ("Maria S4 again.csv", table(NOON, level=120)),
        ("Maria.zip", archive.read_bytes()),
        ("Maria.fit", b"nothing at all"),
        ("Maria.csv.gz", gzip.compress(table(NOON + 60))),
    ]
    found = opened(originals, Hints(), {"Maria S4.csv": 2.0, "Maria.zip": 5.0, "none": 1.0})
    assert [each.sources[0].path for each in found.recordings] == [
        "table-1200-strap-4",
        "table-1200-strap-4-2",
        "table-1200",
        "table-1210",
        "table-1201",
    ]
    assert [stream.source for each in found.recordings for stream in each.streams] == [
        each.sources[0].path for each in found.recordings
    ]
    assert [each.path for each in found.refused] == ["file-3-part-2", "file-4"]
    assert [each.reason.where for each in found.refused] == ["file-3-part-2", "file-4"]
    assert found.offsets == {
        "table-1200-strap-4": 2.0,
        "table-1200": 5.0,
        "table-1210": 5.0,
        "file-3-part-2": 5.0,
    }
    assert found.given["table-1201"] == "Maria.csv.gz"
    assert "Maria" not in repr((found.recordings, found.refused))


@pytest.fixture
def school(tmp_path, monkeypatch, capsys):
    """Two trials of one student whose files are all named for her; one file of the first cannot be read."""
    monkeypatch.setenv("OWNMARK_LOGBOOK", str(tmp_path / "logbook.db"))
    with open_logbook(tmp_path / "logbook.db") as logbook:
        logbook.add_student(made.student(ceilings=[{"bpm": 104, "set_by": "therapist"}]))
        logbook.add_protocol(made.protocol(placement="wrist"))
    files = tmp_path / "files"
    files.mkdir()
    (files / "Maria Smith S4.csv").write_bytes(table(NOON))
    with zipfile.ZipFile(files / "Maria.zip", "w") as archive:
        archive.writestr("Maria-2.csv", table(NOON + 30, level=110))
        archive.writestr("Maria-3.csv", b"nothing at all")
    (files / "Maria Smith.csv").write_bytes(table(NOON, level=90).replace(b"2026-05-12", b"2026-09-12"))
    first = [str(files / name) for name in ("Maria Smith S4.csv", "Maria.zip")]
    words = ["trial", "add", "--confirm", "yes", "TH-11", "slalom-gym"]
    main([*words, *first, "--date", "2026-05-12", "--work", "02:00-08:00", "--offset", f"{first[0]}=5"])
    main([*words, str(files / "Maria Smith.csv"), "--date", "2026-09-12", "--work", "02:00-08:00"])
    capsys.readouterr()
    return tmp_path


def test_only_trial_show_sees_a_name_as_it_was_given(school, capsys, monkeypatch):
    monkeypatch.chdir(school)
    assert main(["trial", "show", "1"]) == 0
    shown = " ".join(capsys.readouterr().out.split())
    assert "File Maria Smith S4.csv (" in shown
    assert "; on pages: table-1200-strap-4)" in shown
    assert "File Maria.zip (" in shown
    forms = ["--html", "--pdf", "--out", "pages"]
    for words in (
        ["sheet", "TH-11", "--trial", "1", *forms],
        ["sheet", "TH-11", "--trial", "1", "--lang", "es", *forms],
        ["sheet", "TH-11", "--trial", "2", *forms],
        ["change", "TH-11", *forms],
        ["change", "TH-11", "--json"],
        ["safety", "TH-11", "--trial", "1", *forms],
        ["safety", "TH-11", "--json"],
        ["card", "TH-11", *forms],
        ["class", "page", "--date", "2026-05-12", "--sheets", *forms],
        ["district", *forms],
        ["export", "all", "--out", "tables"],
        ["export", "plan", "--out", "plans.txt"],
        ["student", "show", "TH-11", "--json"],
        ["trial", "list"],
        ["recompute"],
        ["disclose", "TH-11", "--out", "record"],
        ["backup", "--without-originals", "small.zip"],
    ):
        main(words)
        told = capsys.readouterr()
        assert "Maria" not in told.out + told.err, words
    assert len(list((school / "pages").glob("*.pdf"))) >= 6
    for path in [*school.glob("pages/*"), *school.glob("tables*"), school / "plans.txt", *school.rglob("record/**/*")]:
        assert "Maria" not in path.name
        if path.is_file() and not (path.parent.parent.name == "trials" and path.name[0] == "0"):
            assert "Maria" not in text_of(path), path
    with zipfile.ZipFile(school / "small.zip") as archive:
        for name in archive.namelist():
            assert b"Maria" not in archive.read(name), name


def text_of(path):
    if path.suffix == ".pdf":
        reader = pypdf.PdfReader(path)
        return "".join(page.extract_text() for page in reader.pages) + repr(reader.metadata)
    return path.read_bytes().decode("utf-8", "replace")


def test_a_disclosure_says_what_recordings_can_hold_and_can_leave_them_out(school, capsys):
    assert main(["disclose", "TH-11", "--out", str(school / "with")]) == 0
    assert "serial numbers of devices" in " ".join(capsys.readouterr().out.split())
    contents = " ".join((school / "with" / "contents.txt").read_text().split())
    assert "can hold more than ownmark reads: places, serial numbers of devices, the name or account" in contents
    names = sorted(each.name for each in (school / "with" / "trials" / "1").iterdir())
    assert names == ["01-table-1200-strap-4.csv", "02-table-1200.excerpt", "sheet.json", "trial.json"]
    kept = json.loads((school / "with" / "trials" / "1" / "trial.json").read_text())
    assert [each["path"] for each in kept["files"]] == ["table-1200-strap-4", "table-1200"]
    assert kept["offsets"] == {"table-1200-strap-4": 5.0}
    assert main(["disclose", "TH-11", "--out", str(school / "without"), "--without-originals"]) == 0
    assert "serial" not in capsys.readouterr().out
    assert sorted(each.name for each in (school / "without" / "trials" / "1").iterdir()) == ["sheet.json", "trial.json"]
    contents = (school / "without" / "contents.txt").read_text()
    assert "were left out here" in contents
    assert "byte for byte" not in contents


def test_a_backup_says_what_it_holds_and_can_leave_recordings_and_their_names_out(school, capsys):
    assert main(["backup", str(school / "whole.zip")]) == 0
    assert "serial numbers of devices" in " ".join(capsys.readouterr().out.split())
    assert main(["backup", str(school / "small.zip"), "--without-originals"]) == 0
    assert "0 originals" in capsys.readouterr().out
    assert main(["restore", str(school / "small.zip"), "--logbook", str(school / "small.db")]) == 0
    assert "The recordings were left out of this backup" in capsys.readouterr().out
    with open_logbook(school / "logbook.db") as logbook, open_logbook(school / "small.db") as small:
        for one, other in zip(logbook.trials(), small.trials(), strict=True):
            assert other == one.model_copy(update={"files": (), "offsets": {}})
        assert small.count() == {**logbook.count(), "originals": 0}
        assert list(recompute(small)) == []
        with pytest.raises(AlreadyThere):  # it is known that there was such a file
            keep(small, next(logbook.trials()).model_copy(update={"id": None, "files": (), "sheet": None}), [
                school / "files" / "Maria Smith S4.csv", school / "files" / "Maria.zip"])  # fmt: skip
    for words in (["change", "TH-11"], ["sheet", "TH-11", "--html", "--out", str(school / "p")], ["recompute"]):
        assert main([*words, "--logbook", str(school / "small.db")]) == 0


def test_a_backup_without_recordings_still_tells_of_damage(logbook, tmp_path):
    from ownmark.errors import LogbookDamaged

    made.filled(logbook)
    with logbook.writing() as connection:
        connection.exec_driver_sql("DELETE FROM files WHERE trial_id = 2")
    with pytest.raises(LogbookDamaged):
        back_up(logbook, tmp_path / "a.zip", with_originals=False)


def test_both_databases_give_the_same_backup_without_recordings(logbook, tmp_path, another_place):
    made.filled(logbook)
    manifest = back_up(logbook, tmp_path / "a.zip", with_originals=False)
    assert not manifest.with_originals
    with open_logbook(another_place) as second:
        assert restore(second, tmp_path / "a.zip") == manifest
        assert [each.notes for each in second.trials()] == [each.notes for each in logbook.trials()]


def test_whoever_gave_the_files_reads_their_own_names_in_a_refusal(school, capsys):
    late = school / "files" / "Maria late.csv"
    late.write_bytes(table(NOON + 600).replace(b"2026-05-12", b"2026-05-14"))
    with open_logbook(school / "logbook.db") as logbook:
        trial = made.trial(on=NINE.date())
        with pytest.raises(NotOneTrial) as refusal:
            keep(logbook, trial, [school / "files" / "Maria Smith S4.csv", late])
    assert refusal.value.where == "Maria Smith S4.csv and Maria late.csv"


def old_sheet(*names, notes=(), note=None):
    """A sheet as it was kept when it held names as given."""
    files = [{"path": name, "sha256": "0" * 64, "format": "FIT", "reader": "ownmark.fit"} for name in names]
    start = NINE.isoformat() if len(names) == 1 else None
    found = altered(made.sheet(), lambda page: page["provenance"].update(start=start, files=files, notes=list(notes)))
    return found if note is None else with_figure(found, "heart_rate_mean", note=note)


def kept(*names):
    return tuple(KeptFile(path=name, sha256=f"{place:064x}", size=1) for place, name in enumerate(names))


def test_a_sheet_of_before_is_read_without_the_names_in_it():
    told = ["Maria S4.fit: the clock jumped.", "Not Maria S4.fitness, nor aMaria S4.fit"]
    sheet = old_sheet("Maria S4.fit", notes=told, note="from Maria S4.fit")
    found = without_names(sheet, kept("Maria S4.fit"))
    assert found.provenance.files[0].path == "fit-0914-strap-4"
    assert texts(found.provenance.notes) == ("fit-0914-strap-4: the clock jumped.", told[1])
    assert found.figures["heart_rate_mean"].note == "from fit-0914-strap-4"
    assert found.cautions == sheet.cautions
    assert without_names(found, kept("Maria S4.fit")) is found


def test_names_in_one_another_and_names_of_archives_are_replaced_whole():
    told = ["Maria.fit, Maria.fit.gz and Maria.zip/Maria.fit", "Maria.zip is an archive"]
    sheet = old_sheet("Maria.fit", "Maria.fit.gz", "Maria.zip/Maria.fit", notes=told)
    found = without_names(sheet, kept("Maria.fit", "Maria.fit.gz", "Maria.zip"))
    assert texts(found.provenance.notes) == ("fit, fit-2 and fit-3", "file-3 is an archive")
    assert "Maria" not in found.to_json()


def test_a_name_in_the_reason_of_a_figure_is_replaced_and_a_code_is_not():
    sheet = old_sheet("legacy.english", note="from legacy.english")
    why = Message.english("Not given: nothing in legacy.english.")
    sheet = with_figure(sheet, "heart_rate_peak", value=None, reason=why.to_json())
    found = without_names(sheet, kept("legacy.english"))
    assert found.figures["heart_rate_mean"].notes == (Message.english("from fit-0914"),)
    assert found.figures["heart_rate_peak"].reason == Message.english("Not given: nothing in fit-0914.")


def test_a_name_that_could_be_a_number_is_replaced_only_where_it_is_all_of_a_text():
    for name in ("1", "60", "ab"):
        sheet = old_sheet(name, notes=[f"{name} samples were left out"])
        found = without_names(sheet, kept(name))
        assert texts(found.provenance.notes) == (f"{name} samples were left out",)
        assert found.provenance.files[0].path == "fit-0914"
        assert found.figures == sheet.figures


def test_a_sheet_without_files_or_of_another_file_stays_as_it_is():
    for sheet, files in ((made.sheet(), kept("a.csv")), (old_sheet("other.fit"), kept("a.csv"))):
        assert without_names(sheet, files) is sheet


def test_the_logbook_reads_old_sheets_without_names(logbook, tmp_path):
    made.filled(logbook, codes=("TH-11",), trials_each=0)
    data = made.recording()
    trial = logbook.add_trial(made.trial(sheet=old_sheet("Maria S4.csv")), [("Maria S4.csv", data)])
    again = logbook.trial(trial.id)
    assert again.files[0].path == "Maria S4.csv"
    assert "Maria" not in again.sheet.to_json()
    assert names_of(again) == {again.files[0].sha256: "file-strap-4"}
    disclose(logbook, "TH-11", tmp_path / "out")
    for path in (tmp_path / "out").rglob("*"):
        assert "Maria" not in path.name
        assert path.is_dir() or b"Maria" not in path.read_bytes()
    back_up(logbook, tmp_path / "small.zip", with_originals=False)
    with zipfile.ZipFile(tmp_path / "small.zip") as archive:
        assert not any(b"Maria" in archive.read(name) for name in archive.namelist())
