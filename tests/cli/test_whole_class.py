"""The whole class in one call: one folder, one index, and no student who stops another."""

import json
import shutil

import pytest
from ownmark.cli.main import main
from ownmark.records import open_logbook
from ownmark.records.refusal_messages import refusal_original
from ownmark.records.store.seals import damaged
from ownmark.sample_streams import FOLDER
from ownmark.words.message import Quoted
from ownmark.words.render import Words

NAMES = {"TH-11": "TH-11-power-chair-slalom.fit", "TH-12": "TH-12-arm-crank.tcx", "TH-14": "TH-14-gait-trainer.gpx"}


@pytest.fixture(scope="module")
def stocked(tmp_path_factory):
    """A folder with the recordings of three students and the logbook that they are in, to be copied."""
    folder = tmp_path_factory.mktemp("stocked")
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(folder)
        patch.setenv("OWNMARK_LOGBOOK", str(folder / "logbook.db"))
        main(["protocol", "copy", "power-chair-slalom", "slalom-gym"])
        for code, name in NAMES.items():
            main(["student", "add", code, "--rest", "72", "--ceiling", "100", "--set-by", "therapist"])
            shutil.copy(FOLDER / name, name)
            assert main(["trial", "add", "--confirm", "yes", code, "slalom-gym", name, "--work", "06:00-12:00"]) == 0
    return folder


@pytest.fixture
def school(stocked, tmp_path, monkeypatch):
    shutil.copytree(stocked, tmp_path, dirs_exist_ok=True)
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("OWNMARK_LOGBOOK", str(tmp_path / "logbook.db"))
    return tmp_path


def test_sheets_of_a_class_stand_in_one_folder_with_an_index(school, capsys):
    capsys.readouterr()
    assert main(["sheet", "--class", "--html", "--out", "pages"]) == 0
    assert "3 of 3 written into pages." in capsys.readouterr().out
    index = (school / "pages" / "index-sheets.html").read_text()
    for path in (school / "pages").glob("TH-*.html"):
        assert f'href="{path.name}"' in index
    assert len(list((school / "pages").glob("TH-*.html"))) == 3
    assert main(["sheet", "--class", "--html", "--lang", "es", "--out", "pages"]) == 0
    assert len(list((school / "pages").glob("TH-*-es.html"))) == 3


def test_one_that_cannot_be_made_stops_no_other(school, capsys, monkeypatch):
    from ownmark.cli import sheet
    from ownmark.errors import LogbookDamaged

    real = sheet.write_sheet

    def broken(logbook, trial, *more, **others):
        if trial.code == "TH-12":
            raise LogbookDamaged("it has changed on the disk.", mend="Restore the latest backup.")
        return real(logbook, trial, *more, **others)

    monkeypatch.setattr(sheet, "write_sheet", broken)
    capsys.readouterr()
    assert main(["sheet", "--class", "--html", "--out", "pages"]) == 1
    told = capsys.readouterr()
    assert "TH-12, slalom-gym, " in told.err
    assert "2 of 3 written" in told.out
    assert "it has changed on the disk" in (school / "pages" / "index-sheets.html").read_text()


def test_cards_and_changes_of_a_class(school, capsys):
    capsys.readouterr()
    assert main(["card", "--class", "--html", "--out", "pages"]) == 0
    assert len(list((school / "pages").glob("*-card-*.html"))) == 3
    # Nobody was tested twice: that is said in the index, and nothing went wrong.
    assert main(["change", "--class", "--html", "--out", "pages"]) == 0
    assert "0 of 3 written" in capsys.readouterr().out
    assert (school / "pages" / "index-changes.html").read_text().count("TH-1") >= 3


def test_the_caseload_is_one_page_and_one_list_of_json(school, capsys):
    capsys.readouterr()
    assert main(["safety", "--class"]) == 0
    told = " ".join(capsys.readouterr().out.split())
    assert told.startswith("Caseload page")
    assert "Of 3 trials with a ceiling" in told
    assert main(["safety", "--class", "--json"]) == 0
    assert [each["code"] for each in json.loads(capsys.readouterr().out)] == list(NAMES)
    assert main(["safety", "--class", "--pdf", "--out", "pages"]) == 0
    (path,) = (school / "pages").glob("caseload-*.pdf")
    assert path.read_bytes().startswith(b"%PDF")


@pytest.mark.parametrize(
    ("words", "why"),
    [
        (["sheet"], "no student was named"),
        (["safety", "TH-11", "--class"], "not both"),
        (["change"], "no student was named"),
        (["card", "TH-11", "--class"], "not both"),
        (["sheet", "--class"], "written into a folder"),
        (["sheet", "TH-11", "--from", "2026-01-01"], "--from and --to are for the whole class"),
        (["safety", "--class", "--trial", "1"], "--trial names one trial"),
        (["sheet", "--class", "--html", "--from", "2001-01-01", "--to", "2001-02-01"], "no trial of these days counts"),
        (["sheet", "--class", "--html", "--from", "soon"], "not a date"),
    ],
)
def test_a_call_that_names_nobody_or_nothing_is_refused_with_what_to_write(school, capsys, words, why):
    capsys.readouterr()
    assert main(words) in (1, 2)
    assert why in " ".join(capsys.readouterr().err.split())
    assert not (school / "pages").exists()


@pytest.mark.parametrize("words", [["sheet", "--class", "--html"], ["safety", "--class"]])
def test_a_logbook_without_a_trial_is_told_of_no_days(tmp_path, monkeypatch, capsys, words):
    monkeypatch.setenv("OWNMARK_LOGBOOK", str(tmp_path / "logbook.db"))
    main(["student", "add", "TH-11"])
    capsys.readouterr()
    assert main(words) == 1
    told = capsys.readouterr().err
    assert "no trial in the logbook counts yet" in " ".join(told.split())
    assert "these days" not in told


def test_a_practice_trial_is_on_the_caseload_page_and_has_no_sheet_of_the_class(school, capsys):
    shutil.copy(FOLDER / "TH-13-hand-cycle.csv", "TH-13-hand-cycle.csv")
    words = ["trial", "add", "TH-14", "slalom-gym", "TH-13-hand-cycle.csv", "--work", "05:00-13:00", "--practice"]
    assert main([*words, "--confirm", "yes"]) == 0
    capsys.readouterr()
    assert main(["safety", "--class", "--json"]) == 0
    assert [each["trial"] for each in json.loads(capsys.readouterr().out)] == [1, 2, 3, 4]
    assert main(["sheet", "--class", "--html", "--out", "pages"]) == 0
    assert "3 of 3 written" in capsys.readouterr().out


def test_the_caseload_says_who_was_not_tested_in_the_days_asked_for(school, capsys):
    main(["student", "add", "TH-99"])
    capsys.readouterr()
    assert main(["safety", "--class", "--from", "2026-05-01", "--to", "2026-10-31", "--html", "--out", "pages"]) == 0
    (path,) = (school / "pages").glob("caseload-2026-05-01-2026-10-31.html")
    html = path.read_text()
    assert "May 1, 2026 to October 31, 2026" in html
    assert html.index("No trial in these days") < html.index("TH-99")
    assert all(html.index(f"{code}<") < html.index("No trial in these days") for code in NAMES)
    assert main(["student", "list", "--json"]) == 0
    main(["forget", "TH-99", "--yes"])
    capsys.readouterr()
    assert main(["safety", "--class"]) == 0
    assert "No trial in these days" not in capsys.readouterr().out


def test_an_index_in_spanish_says_day_and_reason_in_spanish(school, capsys):
    assert main(["sheet", "--class", "--html", "--lang", "es", "--out", "pages"]) == 0
    assert " de 2026 · HTML" in (school / "pages" / "index-sheets-es.html").read_text()
    assert main(["change", "--class", "--html", "--lang", "es", "--out", "pages"]) == 0
    html = (school / "pages" / "index-changes-es.html").read_text()
    assert html.count("todas las pruebas") == len(NAMES)
    assert "trials" not in html


def test_a_spanish_index_tells_in_spanish_why_a_page_is_missing(school, capsys):
    for code in ("TH-11", "TH-12"):  # a second occasion, without a recording of its own
        words = ["trial", "add", "--confirm", "yes", code, "slalom-gym", "--date", "2026-11-02", "--distance", "90"]
        assert main(words) == 0
    capsys.readouterr()
    for figure, told in (
        (
            "heart_rate_meen",
            ("no existe la medida «heart_rate_meen».", "¿Quiso decir heart_rate_mean"),
        ),
        ("PRIMARY", ("es la medida principal de slalom-gym: su veredicto se da de todos modos. Nombre otra.",)),
    ):
        with open_logbook(school / "logbook.db") as logbook:
            name = logbook.protocol("slalom-gym").primary_figure if figure == "PRIMARY" else figure
        assert main(["change", "--class", "--figure", name, "--html", "--lang", "es", "--out", "pages"]) == 1
        index = (school / "pages" / "index-changes-es.html").read_text()
        for part in told:
            assert part in index
        assert "There are" not in index
        assert "primary figure" not in index


def test_a_recording_that_changed_on_the_disk_is_told_in_the_pages_language():
    told = damaged(refusal_original(Quoted("0123456789ab…")))
    assert str(told).startswith("the original file 0123456789ab… in the logbook was changed by something else than")
    assert str(told).endswith("Copy the logbook's file away as it is, and restore the latest backup.")
    spanish = " ".join(Words("es").message(part) for part in (told.what, told.mend))
    assert spanish.startswith("el archivo original 0123456789ab… del cuaderno fue cambiado")
    assert str(damaged("the counter")).startswith("the counter in the logbook was changed")


def test_a_period_may_end_in_the_future(school, capsys):
    capsys.readouterr()
    for words in (["safety", "--class"], ["sheet", "--class", "--html", "--out", "pages"]):
        assert main([*words, "--from", "2020-08-01", "--to", "2050-06-30"]) == 0
        assert main([*words, "--from", "2050-06-30", "--to", "2020-08-01"]) == 2
    assert "2050-06-30 is after 2020-08-01" in " ".join(capsys.readouterr().err.split())
