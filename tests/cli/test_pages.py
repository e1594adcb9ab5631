"""``ownmark sheet`` and ``ownmark card``: from a logbook to files, and what is refused."""

import re
import shutil
import subprocess
import sys
from dataclasses import replace
from datetime import date
from pathlib import Path

import pypdf
import pytest
from ownmark.cli.main import main
from ownmark.records.store.logbook import open_logbook
from ownmark.reports.page import Table
from ownmark.reports.sheets.class_page import class_page, class_row
from ownmark.reports.sheets.district_table import district_table
from ownmark.reports.sheets.many_students import all_students, class_lines, district_rows, last_day
from ownmark.reports.words import Words
from ownmark.sample_streams import FOLDER

from ..reports import pages_made as made

EN = Words("en")


@pytest.fixture(scope="module")
def kept(tmp_path_factory):
    """A logbook with a trial of TH-11, a pair by hand of TH-14, and TH-17 without any."""
    place = str(tmp_path_factory.mktemp("book") / "book.db")
    told = [
        ["student", "add", "TH-11", "--ceiling", "120", "--set-by", "therapist"],
        ["student", "add", "TH-14"],
        ["student", "add", "TH-17"],
        ["protocol", "copy", "power-chair-slalom", "slalom-gym"],
        ["protocol", "copy", "seated-forward-reach", "reach"],
        [
            *("trial", "add", "--confirm", "yes", "TH-11", "slalom-gym", str(FOLDER / "TH-11-power-chair-slalom.fit")),
            *("--rest-phase", "00:00-05:00", "--work", "06:00-16:00"),
        ],
    ]
    for day, reach in (("2026-05-12", 21), ("2026-05-13", 22), ("2026-10-13", 60)):
        results = ["--result", f"forward reach left={reach}", "--result", "forward reach right=20"]
        told.append(["trial", "add", "TH-14", "reach", "--date", day, *results])
    for words in told:
        assert main([*words, "--logbook", place]) == 0, words
    return place


@pytest.fixture
def book(kept, tmp_path, monkeypatch):
    """The same logbook for one test, which works in a folder of its own."""
    place = tmp_path / "book.db"
    shutil.copy(kept, place)
    monkeypatch.setenv("OWNMARK_LOGBOOK", str(place))
    monkeypatch.chdir(tmp_path)
    return place


def test_a_sheet_is_printed_unless_told_otherwise_with_the_option_that_gives_what_is_not_given(book, capsys):
    assert main(["sheet", "TH-11"]) == 0
    told = capsys.readouterr().out
    assert told.startswith("Effort sheet: TH-11\n")
    assert "\nIn short\nFigure " in told
    assert "(`ownmark student edit TH-11 --max BPM`)" in " ".join(told.split())
    assert "(--max" not in told
    assert list(Path().glob("TH-11*")) == []
    assert main(["sheet", "TH-11", "--family"]) == 0
    told = capsys.readouterr().out
    assert "beats a minute" in told
    assert "--" not in told
    assert main(["sheet", "TH-11", "--lang", "es"]) == 0
    assert capsys.readouterr().out.startswith("Hoja de esfuerzo: TH-11\n")


@pytest.mark.parametrize("words", [["sheet", "TH-11"], ["trial", "show", "1"]])
def test_a_printed_sheet_loads_nothing_that_draws_or_sets_a_page(book, words):
    code = (
        f"import sys\nfrom ownmark.cli.main import main\nmain({words})\n"
        "sys.exit(bool({'jinja2', 'typst', 'matplotlib', 'scipy'} & set(sys.modules)))"
    )
    assert subprocess.run([sys.executable, "-c", code], stdout=subprocess.DEVNULL, check=False).returncode == 0


def test_a_sheet_as_a_pdf_lies_in_the_current_folder_unless_told_otherwise(book, capsys):
    assert main(["sheet", "TH-11", "--pdf"]) == 0
    path = Path(capsys.readouterr().out.strip())
    assert re.fullmatch(r"TH-11-effort-\d{4}-\d\d-\d\d-trial-1\.pdf", str(path))
    assert "Effort sheet: TH-11" in pypdf.PdfReader(path).pages[0].extract_text()


def test_a_familys_copy_in_spanish_says_so_in_its_name_and_holds_the_picture(book, capsys):
    assert main(["sheet", "TH-11", "--trial", "1", "--lang", "es", "--html", "--out", "pages/may"]) == 0
    path = Path(capsys.readouterr().out.strip())
    assert path.parent == Path("pages/may")
    assert path.name.endswith("-trial-1-es.html")
    html = path.read_text(encoding="utf-8")
    assert '<html lang="es">' in html
    assert html.count('role="img"') == 2
    assert "latidos por minuto" in html


def test_a_trial_entered_by_hand_has_a_sheet_in_every_form(book, capsys):
    assert main(["sheet", "TH-14", "--pdf", "--html", "--png"]) == 0
    names = [Path(line).suffix for line in capsys.readouterr().out.split()]
    assert names == [".pdf", ".html", ".png"]


def test_a_card_is_made_of_the_last_trial_or_of_the_plan_alone(book, capsys):
    assert main(["card", "TH-11", "--html"]) == 0
    assert "must match" in Path("TH-11-card-slalom-gym.html").read_text(encoding="utf-8")
    assert main(["card", "TH-17", "--protocol", "reach", "--html"]) == 0
    assert "not done yet" in Path("TH-17-card-reach.html").read_text(encoding="utf-8")
    capsys.readouterr()
    assert main(["card", "TH-17"]) == 1
    told = " ".join(capsys.readouterr().err.split())
    assert "TH-17 has no trial" in told
    assert "--protocol NAME" in told
    assert "trial add" not in told


def test_notes_of_the_staff_on_the_re_test_reach_the_card_the_checklist_and_the_change_sheet(book, capsys):
    import json

    noted = "left tire soft, pumped after lap 3"
    numbers = [each["id"] for each in json.loads(told_of(capsys, "trial", "list", "TH-14", "--json"))]
    told_of(capsys, "trial", "edit", numbers[-1], "--note", noted)
    for words in (["card", "TH-14", "--text"], ["repeat", "TH-14"], ["change", "TH-14"]):
        assert noted in told_of(capsys, *words), words
    assert noted not in told_of(capsys, "change", "TH-14", "--family", "--text")
    page = json.loads(told_of(capsys, "change", "TH-14", "--json"))
    assert [each["staff_notes"] for each in page["retests"]] == [noted]
    assert {each["staff_notes"] for each in page["baselines"]} == {""}


def test_another_figures_verdict_stands_beside_the_primary_one_and_says_that_it_was_chosen_afterwards(book, capsys):
    import json

    told_of(capsys, "protocol", "copy", "manual-chair-distance", "push")
    for day, distance in (("2026-05-12", 200), ("2026-05-19", 204), ("2026-10-13", 300)):
        told_of(capsys, "trial", "add", "TH-14", "push", "--date", day, "--distance", distance)
    plain = told_of(capsys, "change", "TH-14", "--protocol", "push")
    told = told_of(capsys, "change", "TH-14", "--protocol", "push", "--figure", "moving time")
    warning = "This figure was not the one chosen before the re-test."
    assert warning not in plain
    assert told.index("What the trials show") < told.index("Another figure: moving time") < told.index(warning)
    assert "by chance alone" in told
    page = json.loads(told_of(capsys, "change", "TH-14", "--protocol", "push", "--figure", "moving_time", "--json"))
    beside = page["beside"]
    assert (beside["primary_figure"], beside["better"], beside["for_the_better"]) == (
        "moving_time",
        "no direction",
        None,
    )
    assert beside["notes"][0]["code"] == "remark.chosen_after"
    assert page["primary_figure"] != "moving_time"
    spanish = told_of(
        capsys, "change", "TH-14", "--protocol", "push", "--figure", "moving_time", "--lang", "es", "--text"
    )
    assert "Esta cifra no es la que se eligió antes" in spanish


def test_a_mistyped_figure_is_told_its_nearest_and_the_primary_one_is_no_other(book, capsys):
    for name, told in (("moving_tme", "Did you mean moving_time"), ("forward_reach", "is the primary figure of reach")):
        assert main(["change", "TH-14", "--figure", name]) == 2
        assert told in " ".join(capsys.readouterr().err.split())


def told_of(capsys, *words):
    """What a command prints, in one line."""
    assert main([str(word) for word in words]) == 0
    return " ".join(capsys.readouterr().out.split())


def test_a_student_without_a_trial_and_a_folder_that_is_none_are_sentences(book, capsys):
    assert main(["sheet", "TH-17"]) == 1
    assert "TH-17 has no trial" in capsys.readouterr().err
    Path("file").write_text("in the way", encoding="utf-8")
    assert main(["sheet", "TH-14", "--html", "--out", "file"]) == 1
    told = capsys.readouterr().err
    assert "Choose another folder: --out FOLDER." in told
    assert "Traceback" not in told


def test_what_is_missing_on_a_printed_page_of_the_logbook_is_entered_by_the_command_that_takes_it(book, capsys):
    for words in (["sheet", "TH-11"], ["trial", "show", "1"], ["safety", "TH-11"]):
        assert main(words) == 0
        told = " ".join(capsys.readouterr().out.split())
        assert "(--" not in told, words
        if words[0] != "safety":
            assert "(`ownmark student edit TH-11 --max BPM`) or the month of birth" in told
    assert main(["student", "edit", "TH-11", "--max", "190"]) == 0  # and it is the command that does it
    capsys.readouterr()
    assert main(["sheet", "TH-11"]) == 0
    assert "--max" not in capsys.readouterr().out


def test_the_class_page_of_a_day_has_a_line_for_every_student(book):
    with open_logbook(str(book)) as logbook:
        day = last_day(logbook)
        page = class_page(class_lines(logbook, day), day, EN)
    rows = next(one for one in page.blocks if isinstance(one, Table)).rows
    assert [row[0] for row in rows] == ["TH-11", "TH-14", "TH-17"]
    last = "not on this day; last on May 12, 2026"
    assert [row[1] for row in rows] == [last, "by hand: Forward reach from a seat", "no"]
    assert rows[0][3] == "Give the test again if it is due."
    assert rows[1][3].startswith("Nothing for now")


def test_a_day_whose_set_up_cannot_be_compared_says_what_to_repeat_and_only_that_day_does(book, capsys):
    result = ["--result", "forward reach left=60", "--result", "forward reach right=20"]
    fact = ["--set", "device=another chair"]
    for number in ("2", "3", "4"):
        assert main(["trial", "edit", number, "--set", "device=own chair"]) == 0
    assert main(["trial", "add", "TH-14", "reach", "--date", "2026-10-20", *result, *fact]) == 0
    for day, told in ((date(2026, 10, 20), "Not comparable"), (date(2026, 5, 13), "Nothing for now")):
        with open_logbook(str(book)) as logbook:
            line = next(each for each in class_lines(logbook, day) if each.code == "TH-14")
        assert class_row(line, EN)[3].startswith(told)
    with open_logbook(str(book)) as logbook:
        line = next(each for each in class_lines(logbook, date(2026, 10, 20)) if each.code == "TH-14")
    assert line.trials[0].differed == ("device_used",)
    assert "another chair" not in " ".join(class_row(line, EN))


def test_the_district_table_has_a_row_for_each_student_and_protocol_with_its_count(book):
    with open_logbook(str(book)) as logbook:
        table = next(
            one
            for one in district_table(district_rows(logbook), EN).blocks
            if isinstance(one, Table) and one.caption == EN.get("district.table")
        )
    assert [row[:3] for row in table.rows] == [("TH-11", "slalom-gym", "1"), ("TH-14", "reach", "3")]
    assert table.rows[0][-2:] == ("Nothing to compare yet", "–")
    assert table.rows[1][5] == "left 21.5; right 20"


def test_the_district_table_names_who_has_no_trial_in_these_days(book):
    with open_logbook(str(book)) as logbook:
        rows = list(district_rows(logbook, since=date(2026, 10, 13)))
        students = all_students(logbook, None)
        assert all_students(logbook, "reach") == ()
    assert {row.code for row in rows} == {"TH-14"}
    others = sorted(set(students) - {"TH-14"})
    page = district_table(rows, EN, students=students)
    told = [getattr(one, "text", "") for one in page.blocks]
    place = told.index("Students of the logbook without a trial in these days")
    assert told[place + 1] == f"{len(others)}: {', '.join(others)}."
    for more in ((), ("TH-14",)):
        blocks = district_table(rows, EN, students=more).blocks
        assert EN.get("district.absent") not in [getattr(one, "text", "") for one in blocks]


def test_the_printed_district_table_names_who_has_no_trial(book, capsys):
    assert main(["district", "--text", "--from", "2026-10-13", "--logbook", str(book)]) == 0
    assert "without a trial in these days" in capsys.readouterr().out
    assert main(["district", "--text", "--protocol", "reach", "--logbook", str(book)]) == 0
    assert "without a trial in these days" not in capsys.readouterr().out


@pytest.mark.parametrize("shift", ["same way", "other way", "none", "unknown", None])
def test_the_district_table_says_where_the_others_of_those_days_moved_alike(book, shift):
    with open_logbook(str(book)) as logbook:
        rows = sorted(district_rows(logbook), key=lambda row: row.code)
    found = rows[1].found.model_copy(update={"shared_shift": shift, "others_same_days": 4})
    page = district_table([rows[0], replace(rows[1], found=found)], EN)
    table = next(one for one in page.blocks if isinstance(one, Table) and one.caption == EN.get("district.table"))
    alike = shift == "same way"
    assert table.rows[1][-2].endswith("; the 4 others of those days moved the same way") == alike
    assert table.rows[0][-2] == "Nothing to compare yet"
    assert (EN.get("district.shared_text") in [getattr(one, "text", "") for one in page.blocks]) == alike


def test_the_district_table_of_a_period(book):
    with open_logbook(str(book)) as logbook:
        days = {"since": date(2026, 10, 13), "until": date(2050, 6, 30)}
        rows = list(district_rows(logbook, **days))
        assert [(row.code, row.trials, row.found is None) for row in rows] == [("TH-14", 1, True)]
        assert district_table(rows, EN, **days).subtitle == "October 13, 2026 to June 30, 2050"
        both = list(district_rows(logbook, since=date(2026, 5, 13), until=date(2026, 10, 13)))
        assert [row.trials for row in both if row.code == "TH-14"] == [2]
    assert district_table(rows, EN, since=days["since"]).subtitle == "from October 13, 2026 on"
    assert district_table(rows, EN, until=days["since"]).subtitle == "up to October 13, 2026"
    assert district_table(rows, EN).subtitle == "every trial in the logbook"


def test_the_district_table_takes_the_days_of_a_school_year(book, capsys):
    assert main(["district", "--text", "--from", "2026-10-13", "--to", "2050-06-30"]) == 0
    told = capsys.readouterr().out
    table, absent = told.split(EN.get("district.absent"))
    assert "TH-14" in table
    assert "TH-11" not in table
    assert "TH-11" in absent
    assert main(["district", "--text", "--from", "2026-10-13", "--to", "2026-10-12"]) == 2


def test_change_and_safety_are_text_unless_a_page_is_asked_for(book, capsys):
    assert main(["change", "TH-14"]) == 0
    assert "What the trials show" in capsys.readouterr().out
    assert main(["change", "TH-14", "--lang", "es"]) == 0
    assert "Lo que muestran las pruebas" in capsys.readouterr().out
    assert main(["change", "TH-14", "--lang", "es", "--pdf", "--out", "pages"]) == 0
    path = Path(capsys.readouterr().out.strip())
    assert path == Path("pages/TH-14-change-reach-2026-10-13-es.pdf")
    assert "Izquierda menos derecha" in pypdf.PdfReader(path).pages[0].extract_text()
    assert main(["safety", "TH-11", "--html"]) == 0
    html = Path(capsys.readouterr().out.strip()).read_text(encoding="utf-8")
    assert "Ceiling 120 /min, set by the therapist." in html.replace("\u00a0", " ")
    assert html.count('role="img"') == 2


def test_a_folder_without_a_page_is_wrong_usage(book, capsys):
    for words in (["change", "TH-14"], ["safety", "TH-11"], ["card", "TH-11", "--text"], ["district", "--text"]):
        assert main([*words, "--out", "pages"]) == 2
        assert capsys.readouterr().err.count("Add --pdf, --html or --png.") == 1
    assert not Path("pages").exists()


@pytest.mark.parametrize(
    ("words", "english", "spanish"),
    [
        (["safety", "TH-11"], "Safety sheet: TH-11", "Hoja de seguridad: TH-11"),
        (["change", "TH-14"], "Change sheet: TH-14", "Hoja de cambio: TH-14"),
        (["card", "TH-11", "--text"], "Set-up card: TH-11", "Ficha de preparación: TH-11"),
        (["class", "page", "--text"], "Class page", "Página de la clase"),
        (["district", "--text"], "District table", "Tabla del distrito"),
    ],
)
def test_every_page_is_printed_in_both_languages_and_nothing_is_written(book, capsys, words, english, spanish):
    for language, title in (("en", english), ("es", spanish)):
        assert main([*words, "--lang", language]) == 0
        assert capsys.readouterr().out.startswith(title)
    assert not list(Path().glob("*.pdf"))


def test_a_page_can_be_printed_and_written_at_once(book, capsys):
    assert main(["card", "TH-11", "--text", "--html"]) == 0
    printed = capsys.readouterr().out
    assert printed.startswith("Set-up card: TH-11")
    assert printed.endswith("TH-11-card-slalom-gym.html\n")


@pytest.mark.parametrize("language", ["en", "es"])
def test_the_therapist_reads_the_same_numbers_and_bounds_on_the_terminal_and_on_the_page(
    book, capsys, tmp_path, language
):
    table = tmp_path / "loose.csv"
    bpm = [95 + second % 3 + (40 if 200 <= second < 231 else 0) for second in range(600)]
    lost = range(232, 300)
    rows = [f"2026-05-12 09:{s // 60:02d}:{s % 60:02d},{b}" for s, b in enumerate(bpm) if s not in lost]
    table.write_text("Time,Heart Rate (bpm)\n" + "\n".join(rows) + "\n")
    assert main(["trial", "add", "--confirm", "yes", "TH-11", "slalom-gym", str(table)]) == 0
    capsys.readouterr()
    assert main(["safety", "TH-11", "--trial", "5", "--lang", language]) == 0
    printed = " ".join(capsys.readouterr().out.split())
    assert main(["safety", "TH-11", "--trial", "5", "--lang", language, "--html"]) == 0
    page = made.Seen(Path(capsys.readouterr().out.strip()).read_bytes())
    above = {
        "en": "Above 120 /min for 0:31 in all (0:31 to 1:40, allowing for what was not measured), first at 3:20.",
        "es": "Por encima de 120 /min durante 0:31 en total (de 0:31 a 1:40,",
    }[language]
    assert above in printed
    assert above in page.text.replace("\u00a0", " ")
    told = [row for row in page.rows if any(map(str.isdigit, "".join(row)))]
    assert sum("1:40" in cell for row in told for cell in row) >= 1
    for row in told:
        for cell in row:
            for number in made.numbers(cell):
                assert number in made.numbers(printed), cell


def test_a_class_page_can_bring_the_days_sheets_and_the_district_has_its_table(book, capsys):
    assert main(["class", "page", "--sheets", "--html", "--date", "2026-10-13"]) == 0
    names = capsys.readouterr().out.split()
    assert names == ["class-2026-10-13.html", "TH-14-effort-2026-10-13-trial-4.html"]
    assert main(["district", "--html"]) == 0
    assert capsys.readouterr().out.split() == ["district.html"]
    assert "left 21.5; right 20" in Path("district.html").read_text(encoding="utf-8")


def test_a_class_page_of_an_empty_logbook_is_a_sentence(tmp_path, capsys, monkeypatch):
    monkeypatch.setenv("OWNMARK_LOGBOOK", str(tmp_path / "new.db"))
    assert main(["student", "add", "TH-1"]) == 0
    assert main(["class", "page"]) == 1
    assert "no trial in the logbook" in capsys.readouterr().err
