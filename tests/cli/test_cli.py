"""The command line as a person meets it: exit codes, sentences, JSON by name, and nothing lost."""

import csv
import gzip
import json
import re
import shlex
import subprocess
import sys
from contextlib import redirect_stderr, redirect_stdout
from importlib import import_module
from io import StringIO
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator
from ownmark import errors
from ownmark.cli import demo
from ownmark.cli.main import COMMANDS, MODULES, main
from ownmark.records import open_logbook
from ownmark.sample_streams import FOLDER
from ownmark.words.vocabulary import FIGURES

from tests.web.served import get, page

ROOT = Path(__file__).resolve().parents[2]
SLALOM = str(FOLDER / "TH-11-power-chair-slalom.fit")
PICTURE = b"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR" + bytes(200)


@pytest.fixture
def run(capsys):
    def call(*words):
        code = main(list(words))
        out, err = capsys.readouterr()
        assert "Traceback" not in out + err
        return code, out, err

    return call


@pytest.fixture
def table(tmp_path):
    def write(rows, name="strap.csv", header="Seconds,Heart Rate (bpm)"):
        path = tmp_path / name
        path.write_text("\n".join([header, *(",".join(map(str, row)) for row in rows)]) + "\n")
        return str(path)

    return write


def wander(seconds, around=120):
    return [(second, around + (second * 7 % 5) - (second // 9 % 3)) for second in range(seconds)]


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_has_help_and_an_example(run, command):
    with pytest.raises(SystemExit) as stop:
        main([command, "--help"])
    assert stop.value.code == 0
    module = import_module(f"ownmark.cli.{MODULES.get(command, command)}")
    assert module.EXAMPLE.startswith(f"ownmark {command}")


@pytest.mark.parametrize("words", [["--help"], ["effort", "--help"], ["look", "--help"]])
def test_help_loads_no_numerical_library(words):
    code = (
        "import sys\nfrom ownmark.cli.main import main\n"
        f"try: main({words!r})\nexcept SystemExit: pass\n"
        "sys.exit(bool({'numpy', 'pandas', 'pydantic', 'fitparse'} & set(sys.modules)))"
    )
    assert subprocess.run([sys.executable, "-c", code], stdout=subprocess.DEVNULL, check=False).returncode == 0


def test_one_fit_file_to_a_sheet_loads_neither_pandas_nor_scipy_nor_a_parser_of_xml():
    code = (
        "import sys\nfrom ownmark.cli.main import main\n"
        f"main(['effort', {SLALOM!r}, '--rest', '80', '--max', '190'])\n"
        "sys.exit(bool({'pandas', 'scipy', 'defusedxml', 'matplotlib', 'jinja2', 'typst'} & set(sys.modules)))"
    )
    assert subprocess.run([sys.executable, "-c", code], stdout=subprocess.DEVNULL, check=False).returncode == 0


def test_the_sheet_of_a_file_loads_nothing_of_the_logbook():
    code = (
        "import sys\nfrom ownmark.cli.main import main\n"
        f"done = main(['effort', {SLALOM!r}, '--rest', '84', '--max', '190'])\n"
        "kept = [each for each in sys.modules if each.startswith('ownmark.records.') and 'store' not in each]\n"
        "sys.exit(done or bool(kept))"
    )
    assert subprocess.run([sys.executable, "-c", code], stdout=subprocess.DEVNULL, check=False).returncode == 0


def loaded(words, **more):
    """The modules of ownmark that a command has loaded at its end."""
    code = (
        "import sys\nfrom ownmark.cli.main import main\n"
        f"done = main({words!r})\n"
        "print(*(each for each in sys.modules if each.startswith('ownmark.')), file=sys.stderr)\nsys.exit(done)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False, **more)
    assert done.returncode == 0, done.stderr
    return {each.removeprefix("ownmark.") for each in done.stderr.split()}


def test_the_sheet_of_a_file_loads_neither_older_sheets_nor_how_excerpts_are_read():
    found = loaded(["effort", SLALOM, "--rest", "84", "--max", "190"])
    assert "metrics.message_codes" in found
    assert not found & {"metrics.older_sheets", "ingest.excerpt.reader", "ingest.excerpt.form"}


def test_a_safety_sheet_loads_nothing_of_how_trials_are_compared_or_measured(tmp_path):
    place = ["--logbook", str(tmp_path / "book.db")]
    added = ["trial", "add", "TH-11", "slalom-gym", SLALOM, "--work", "06:00-16:00", "--confirm", "yes"]
    for words in (["student", "add", "TH-11"], ["protocol", "copy", "power-chair-slalom", "slalom-gym"], added):
        assert main([*words, *place]) == 0
    found = loaded(["safety", "TH-11", *place])
    assert "records.one_trial" in found
    found -= {"records.change", "records.change.messages"}  # a message of it stands on the page
    unwanted = ("records.change.", "records.judging", "records.measuring", "reports.pictures", "ingest.formats")
    assert not [each for each in found if each.startswith(unwanted)]


def test_a_sheet_in_json_has_exactly_the_published_names(run):
    code, out, _ = run("effort", SLALOM, "--rest", "84", "--max", "190", "--json")
    sheet = json.loads(out)
    assert code == 0
    assert set(sheet) == {"figures", "cautions", "flags", "provenance", "schema"}
    assert list(sheet["figures"]) == list(FIGURES)
    for name, figure in sheet["figures"].items():
        bounds = {"low", "high", "own_rhythm_low", "own_rhythm_high"}
        messages = {"rests_on", "reason", "notes"}
        assert set(figure) == {"name", "value", "unit", "coverage", "basis", "source", "note"} | bounds | messages
        assert figure["name"] == name
        told = figure["notes"] if figure["reason"] is None else [figure["reason"]]
        assert figure["note"] == ("; ".join(each["text"] for each in told) or None)
        assert figure["basis"] == ("; ".join(each["text"] for each in figure["rests_on"]) or None)
    _, schema, _ = run("schema")
    Draft202012Validator(json.loads(schema)).validate(sheet)


def test_look_in_json_has_exactly_the_published_names_and_counts_every_sample(run, table):
    rows = wander(300)
    rows[100:110] = [(second, 0) for second in range(100, 110)]
    del rows[200:240]
    code, out, _ = run("look", table(rows), "--json")
    page = json.loads(out)
    assert code == 0
    (found,) = page["files"]
    assert set(found) == {"path", "format", "sha256", "start", "clock_s", "streams", "marks", "notes"}
    stream = found["streams"]["heart_rate"]
    assert set(stream) == {"samples", "start_s", "span_s", "rate_hz", "gaps", "flags"}
    assert stream["samples"] == 260
    assert (stream["start_s"], stream["span_s"], stream["rate_hz"]) == (0, 299, 1)
    assert stream["gaps"] == [[100, 110], [200, 240]]
    assert stream["flags"] == {"dropout": 10}


def test_one_bad_file_is_told_and_the_others_go_on(run, table, tmp_path):
    bad = tmp_path / "photo.fit"
    bad.write_bytes(PICTURE)
    code, out, err = run("look", str(bad), table(wander(60)), str(tmp_path / "absent.fit"))
    assert code == 1
    assert "strap.csv: table" in out
    assert "photo.fit" in err
    assert "PNG" in err
    assert "absent.fit" in err
    code, out, err = run("effort", str(bad), table(wander(60)))
    assert code == 1
    assert "mean" in out


@pytest.mark.parametrize(
    ("words", "says"),
    [
        ([], ""),
        (["run"], "no command"),
        (["effort"], "FILE"),
        (["effort", SLALOM, "--rest", "many"], "--rest"),
        (["effort", SLALOM, "--work", "18:00-06:00"], "ends before it begins"),
        (["effort", SLALOM, "--work", "lunch"], "not a stretch of time"),
        (["effort", SLALOM, "--work", "06:75-18:00"], "60 or more"),
        (["effort", SLALOM, "--condition", "pacemakr"], "pacemaker"),
        (["effort", SLALOM, "--equation", "guess", "--born", "2012-01"], "tanaka"),
        (["effort", SLALOM, "--rest", "190", "--max", "180"], "not below the maximum"),
        (["effort", SLALOM, "--born", "May 2012"], "YYYY-MM"),
        (["effort", SLALOM, "--target", "hard"], "40-60%"),
        (["effort", SLALOM, "--column", "HR"], "heart_rate=HR"),
        (["effort", SLALOM, "--zone", "Mars"], "time zone"),
        (["effort", SLALOM, "--distance", "0"], "meters"),
        (["effort", SLALOM, "--laps", "rest,work", "--work", "01:00-02:00"], "cannot be mixed"),
    ],
)
def test_wrong_usage_is_a_sentence_and_exit_code_2(run, words, says):
    code, out, err = run(*words)
    assert code == 2
    assert says in out + err


@pytest.mark.parametrize(
    "words",
    [
        ["--work", "4-14"],
        ["--dip", "nan"],
        ["--max", "1e308"],
        ["--target", "5000-6000bpm"],
        ["--zone", "+02:99"],
        ["--column", "pulse=HR"],
        ["--equation", "nonsense", "--max", "190"],
    ],
)
def test_numbers_that_a_teacher_may_mistype_are_questioned_and_not_used(run, words):
    assert run("effort", SLALOM, *words)[0] == 2


@pytest.mark.parametrize("written", [("--laps", "-,work,-"), ("--laps", "- ,work, -"), ("--laps=-,work,-",)])
def test_a_first_lap_that_is_left_out_is_a_value_and_no_option(run, written):
    code, out, err = run("effort", SLALOM, "--json", *written)
    assert (code, err) == (0, "")
    phases = json.loads(out)["provenance"]["phases"]
    assert (phases["rest"], phases["work"], phases["recovery"]) == (None, [300.0, 1020.0], None)


def test_behind_laps_another_option_is_still_one(run):
    code, _, err = run("effort", SLALOM, "--laps", "--json")
    assert code == 2
    assert "--laps" in err


def test_a_gait_trainer_takes_the_value_of_those_who_walk_and_run_away(run):
    words = ("effort", SLALOM, "--rest", "80", "--born", "2014-02", "--condition", "cerebral-palsy", "--json")
    for more, maximum, code in (((), 194, 0), (("--gait-trainer",), None, 1)):
        found, out, _ = run(*words, *more)
        assert found == code
        assert json.loads(out)["provenance"]["basis"]["maximum_bpm"] == maximum


def test_a_reading_above_the_ceiling_that_was_set_aside_is_told_beside_the_ceilings_figures(run, table):
    rows = wander(600, 90)
    rows[300:360] = [(second, 240) for second in range(300, 360)]
    code, out, _ = run("effort", table(rows), "--ceiling", "150")
    assert code == 0
    told = " ".join(out.split())
    assert "Time above the ceiling 0 s 0 to 60 s " in told
    assert "Possible time above the ceiling 60 s the same in 1 stretch of readings that were set aside, at" in told
    assert "figure: 5:00 to 6:00, up to 240 /min (faster or slower than a student's heart)." in told
    assert "First time above the ceiling: no crossing is certain" in told
    for place in range(8):
        at = 20 + 60 * place
        rows[at : at + 3] = [(second, 240) for second in range(at, at + 3)]
    told = " ".join(run("effort", table(rows), "--ceiling", "150")[1].split())
    assert told.count("up to 240 /min (faster or slower than a student's heart)") == 3
    assert " and 5 more." in told  # eight, for one of those lies within the minute


def test_a_decimal_comma_is_a_number(run):
    assert run("effort", SLALOM, "--rest", "72,5", "--max", "190")[0] == 0


def test_clock_times_in_a_file_that_states_utc_are_said_to_be_utc(run):
    crank = str(FOLDER / "TH-12-arm-crank.tcx")
    assert "clock times are taken as UTC too; --zone sets another" in " ".join(
        run("effort", crank, "--work", "@14:50-@15:02")[1].split()
    )
    zoned = run("effort", crank, "--work", "@08:50-@09:02", "--zone", "-06:00")[1]
    assert "--zone sets another" not in zoned
    assert "work 5:00 to 17:00" in zoned


def test_a_refused_file_is_named_in_the_sheet_too(run, table, tmp_path):
    bad = tmp_path / "photo.fit"
    bad.write_bytes(PICTURE)
    notes = json.loads(run("effort", str(bad), table(wander(60)), "--json")[1])["provenance"]["notes"]
    assert any("photo.fit" in note["text"] for note in notes)


def test_what_is_refused_is_exit_code_1_with_the_reason(run, table):
    words = [table(wander(120)), "--rest", "80", "--born", "2011-05", "--condition", "beta-blocker"]
    code, out, _ = run("effort", *words)
    assert code == 1
    assert "holds heart rate down" in out
    code, out, _ = run("effort", *words[:3])  # nothing was asked for that is not given
    assert code == 0


def test_a_gap_is_told_with_its_place_and_its_share(run, table):
    rows = wander(720)
    del rows[200:300]
    code, out, _ = run("effort", table(rows), "--rest", "80", "--max", "190")
    assert code == 0
    assert "Missing: 3:20 to 5:00." in " ".join(out.split())
    rows = wander(720)
    del rows[200:455]
    code, out, _ = run("effort", table(rows), "--rest", "80", "--max", "190")
    assert code == 1
    assert "measured for only 65 % of the work phase" in " ".join(out.split())


def test_clock_times_are_understood_where_the_recording_states_a_clock(run, tmp_path):
    path = tmp_path / "clock.csv"
    rows = [f"2026-05-12 09:{14 + second // 60:02d}:{second % 60:02d},{rate}" for second, rate in wander(1200)]
    path.write_text("\n".join(["time,heart rate", *rows]))
    by_clock = json.loads(run("effort", str(path), "--work", "09:16:00-09:26:00", "--json")[1])
    from_start = json.loads(run("effort", str(path), "--work", "02:00-12:00", "--json")[1])
    marked = json.loads(run("effort", str(path), "--work", "@09:16-@09:26", "--json")[1])
    assert by_clock["provenance"]["phases"]["work"] == [120, 720]
    assert by_clock["figures"] == from_start["figures"] == marked["figures"]


def test_a_time_that_could_be_both_is_not_guessed(run, tmp_path):
    path = tmp_path / "long.csv"
    path.write_text(
        "\n".join(
            ["time,heart rate", *(f"2026-05-12 00:{n // 60:02d}:{n % 60:02d},{100 + n % 7}" for n in range(3000))]
        )
    )
    code, _, err = run("effort", str(path), "--work", "00:10:00-00:20:00")
    assert code == 0 or "could be a time from the start" in err  # start at midnight: both mean the same
    path.write_text(
        "\n".join(
            ["time,heart rate", *(f"2026-05-12 00:{10 + n // 60:02d}:{n % 60:02d},{100 + n % 7}" for n in range(3000))]
        )
    )
    code, _, err = run("effort", str(path), "--work", "00:12:00-00:20:00")
    assert code == 2
    assert "could be a time from the start or a clock time" in err


@pytest.mark.parametrize(
    "trial", json.loads((FOLDER / "scenario.json").read_text())["trials"], ids=lambda t: t["files"][0]
)
def test_the_demo_sheets_hold_the_truth_within_their_bounds(run, trial):
    paths = [FOLDER / name for name in trial["files"]]
    path = paths[0]
    true = json.loads(path.with_name(path.name + ".truth.json").read_text())
    _, out, _ = run("effort", *map(str, paths), *trial["options"], "--json")
    figures = json.loads(out)["figures"]
    from_beats = "packets" in path.name or "-rr" in path.name
    for name, value in true.items():
        figure = figures[name]
        if figure["value"] is None:
            assert "Not given" in figure["note"]
            continue
        # Files that are written from beats carry the beats' own variation on top of the true rate.
        slack = {"s": 12.0, "%": 2.5, "/min": 3.0, "1": 8.0, "/m": 0.05}[figure["unit"]] if from_beats else 1e-6
        slack *= 2 if name == "recovery_60s" else 1  # the difference of two single readings
        assert figure["low"] - slack <= value <= figure["high"] + slack, (name, figure, value)


@pytest.mark.parametrize(
    "trial",
    [trial for trial in json.loads((FOLDER / "scenario.json").read_text())["trials"] if len(trial["files"]) > 1],
    ids=lambda t: t["files"][1],
)
def test_the_demo_movement_agrees_with_its_truth(run, trial):
    paths = [FOLDER / name for name in trial["files"]]
    true = json.loads(paths[1].with_name(paths[1].name + ".truth.json").read_text())
    figures = json.loads(run("effort", *map(str, paths), *trial["options"], "--json")[1])["figures"]
    near = {
        "moving_time": max(2.0, 0.02 * true["moving_time"]),
        "longest_moving": 3.0,
        "cadence_mean": 0.02 * true.get("cadence_mean", 0),
        "cycle_count": 0.03 * true.get("cycle_count", 0),
    }
    for name, value in true.items():
        assert figures[name]["value"] == pytest.approx(value, abs=near.get(name, 1e-9)), name
    chair = "--placement frame" in " ".join(trial["options"])
    assert ("the chair moving" in figures["moving_time"]["note"]) is chair


@pytest.fixture(scope="module")
def whole_demo(tmp_path_factory):
    """The folder of a demo, and what it said."""
    folder = tmp_path_factory.mktemp("demo") / "its pages"
    with redirect_stdout(StringIO()) as out, redirect_stderr(StringIO()) as err:
        code = main(["demo", "--out", str(folder)])
    assert code == 0, err.getvalue()
    assert "Traceback" not in out.getvalue() + err.getvalue()
    return folder, out.getvalue()


def test_the_demo_prints_one_sheet_a_line_a_student_and_what_to_try_and_writes_every_kind_of_page(whole_demo):
    folder, out = whole_demo
    names = [path.name for path in folder.iterdir()]
    for kind, count in (("effort", 20), ("change", 16), ("card", 4), ("safety", 4), ("class", 2), ("district", 2)):
        assert sum(kind in name and name.endswith((".pdf", ".html")) for name in names) == count, kind
    assert f"48 pages and the logbook are in {folder}/." in out
    assert out.count("$ ownmark effort") == 1
    assert re.findall(r"^TH-1[1-9](?=  )", out, re.MULTILINE) == [
        *(f"TH-{number}" for number in (11, 12, 13, 14, 15, 15, 16, 16, 17, 17, 18, 19, 19)),
    ]
    assert "TH-18    band-press        3       The sides differ\n" in out
    assert "TH-12    crank-55          3       Decrease beyond day-to-day variation\n" in out
    assert re.findall(r"^(TH-2\d) +S4.fit +\S+ +(.*)", out, re.MULTILINE)[0] == ("TH-25", "nothing: sure")
    assert re.findall(r"^TH-2\d(?= +S)", out, re.MULTILINE) == [f"TH-{number}" for number in (25, 21, 22, 23, 24)]
    assert "Then `ownmark class add day/checked.csv`: 5 added, 0 there already, 0 refused." in out
    at_once = re.search(r"\$ ownmark batch year --cluster local:2\n(.*?)\n\n={20}", out, re.DOTALL)[1]
    assert at_once.rstrip().splitlines()[-1].startswith("33 added, 0 there already, 1 refused. 3 tables, ")
    assert len(at_once.splitlines()) < 18
    assert len(out.splitlines()) < 178


def test_the_demo_leaves_a_folder_in_which_readme_can_be_followed_and_leaves_it_as_it_is(tmp_path):
    folder = tmp_path / "try"
    assert demo.practice(folder) == 0
    assert (folder / "TH-12-loose-strap.csv").is_file()
    assert (folder / "year" / "2026-10-20.csv").is_file()
    assert not list(folder.rglob("*.py"))
    with open_logbook(folder / "logbook.db", create=False) as logbook:
        assert logbook.count()["students"] == 14
        assert logbook.count()["trials"] == 0
    (folder / "mine.csv").write_text("mine")
    assert demo.practice(folder) == 0
    assert (folder / "mine.csv").read_text() == "mine"


def test_what_the_demo_gives_to_try_works_as_it_stands(run, whole_demo, tmp_path, monkeypatch):
    """With the folder's name quoted, and whether or not the shell finds the program by its name."""
    _, out = whole_demo
    tries = re.findall(r"^  (\S.*)\n      \S", out.partition("Four things to try:")[2], re.MULTILINE)
    assert len(tries) == 4
    for line in tries:
        words = shlex.split(line)
        arguments = words[next(n for n, word in enumerate(words) if word in COMMANDS) :]
        if arguments[0] == "page":  # it goes on until somebody ends it
            assert arguments[1] == "--logbook"
            with page(arguments[2]) as served:
                assert get(served.port, served.start)[0] == 200
            continue
        assert run(*arguments)[0] == 0, line
    monkeypatch.setattr("shutil.which", lambda name: None)
    monkeypatch.setattr(sys, "argv", ["/nowhere/ownmark"])
    assert shlex.split(demo._command()) == [sys.executable, "-m", "ownmark.cli"]
    called = tmp_path / "a place" / "ownmark"
    called.parent.mkdir()
    called.touch()
    monkeypatch.setattr(sys, "argv", [str(called)])
    assert shlex.split(demo._command()) == [str(called)]


def test_a_demo_whose_pages_cannot_be_made_counts_those_that_are_there(run, tmp_path, monkeypatch):
    before, pages = demo._quietly, demo._pages
    monkeypatch.setattr(demo, "_class_day", lambda: 0)  # and its cluster: looked at above
    monkeypatch.setattr(
        demo, "_pages", lambda folder: [each for each in pages(folder) if each[0] in ("change", "card")]
    )
    monkeypatch.setattr(demo, "_quietly", lambda words: (1, "no room") if words[0] == "change" else before(words))
    code, out, err = run("demo", "--out", str(tmp_path))
    assert code == 1
    assert err.count("no room") == 8
    assert f"4 pages and the logbook are in {tmp_path}/." in out


def test_the_school_year_is_what_its_generator_makes(tmp_path):
    from ownmark.sample_streams.school_year import YEAR, main

    main(tmp_path)
    made = {path.name: path.read_bytes() for path in tmp_path.iterdir()}
    assert made == {path.name: path.read_bytes() for path in YEAR.iterdir()}


def test_the_class_day_is_what_its_generator_makes(tmp_path):
    from ownmark.sample_streams.class_day import DAY, main

    main(tmp_path)
    made = {path.relative_to(tmp_path): path.read_bytes() for path in tmp_path.rglob("*.*")}
    assert made == {path.relative_to(DAY): path.read_bytes() for path in DAY.rglob("*.*")}
    assert len(made) == 8


def test_the_plan_of_the_class_day_is_the_table_that_goes_in(run, tmp_path, monkeypatch):
    """Each oddity of the bag is found by its code, and what the plan proposes is what the checked table holds."""
    assert demo.practice(tmp_path / "try") == 0
    monkeypatch.chdir(tmp_path / "try")
    monkeypatch.setenv("OWNMARK_LOGBOOK", str(tmp_path / "try" / "logbook.db"))

    def plan(table):
        code, out, _ = run(
            "class", "plan", "day/straps", "--roster", f"day/{table}.csv", "--out", f"{table}.csv", "--json"
        )
        assert code == 1
        return {row["code"]: row for row in json.loads(out)["rows"]}

    def codes(row):
        return {each["code"] for each in row["checks"]}

    written, mended = plan("written"), plan("mended")
    assert {code for code, row in written.items() if row["sure"]} == {"TH-25"}
    assert {code for code, row in mended.items() if row["sure"]} == {"TH-24", "TH-25"}
    for found in (written, mended):
        assert "day_plan.shared" in codes(found["TH-21"]) & codes(found["TH-22"])
        assert "guard.late" in codes(found["TH-23"])
    assert "day_plan.worn_hours_off" in codes(written["TH-24"])
    with (tmp_path / "try" / "day" / "checked.csv").open(newline="") as handle:
        checked = {row["code"]: row for row in csv.DictReader(handle)}
    assert {code: row["work"] for code, row in mended.items()} == {
        code: row["work"].replace("@", "") for code, row in checked.items()
    }
    code, out, _ = run("class", "add", "day/checked.csv")
    assert code == 0
    assert "5 added" in out
    with open_logbook(tmp_path / "try" / "logbook.db", create=False) as logbook:
        spans = {trial.code: [file.size for file in trial.files] for trial in logbook.trials()}
    whole = (tmp_path / "try" / "day" / "straps" / "S1.fit").stat().st_size
    assert all(spans[code] != [whole] for code in ("TH-21", "TH-22"))  # each keeps its own minutes alone


def test_the_sample_files_are_what_their_generator_makes(tmp_path):
    from ownmark.sample_streams.generate import main as generate

    generate(tmp_path)
    made = sorted(path.name for path in tmp_path.iterdir())
    kept = sorted(path.name for path in FOLDER.iterdir() if path.suffix not in {".py", ""})
    assert made == kept
    for name in made:
        fresh, held = (tmp_path / name).read_bytes(), (FOLDER / name).read_bytes()
        if name.endswith(".gz"):  # how bytes are packed is the packer's business, and differs between versions
            fresh, held = gzip.decompress(fresh), gzip.decompress(held)
        assert fresh == held, name


def test_a_fault_of_ownmark_is_told_as_one(run, monkeypatch):
    monkeypatch.delenv("OWNMARK_TRACEBACK", raising=False)
    import ownmark.cli.formats as command

    def fail(_):
        raise RuntimeError("boom")

    monkeypatch.setattr(command, "run", fail)
    code, _, err = run("formats")
    assert code == 1
    assert "ownmark itself failed (RuntimeError: boom)" in err


def test_every_error_code_is_in_the_developers_list_and_none_else():
    def codes(kind):
        return {kind.code}.union(*(codes(sub) for sub in kind.__subclasses__()))

    listed = set(re.findall(r"^\| `([a-z_]+)` \|", (ROOT / "DEVELOPERS.md").read_text(), re.MULTILINE))
    assert listed == codes(errors.OwnmarkError)


@pytest.mark.parametrize("command", ["student", "protocol", "trial"])
def test_the_overview_promises_the_parts_that_a_command_has(capsys, command):
    with pytest.raises(SystemExit):
        main([command, "--help"])
    parts = re.findall(r"^ {4}([a-z]+)\b", capsys.readouterr().out, re.MULTILINE)
    assert sorted(COMMANDS[command].rpartition(": ")[2].split(", ")) == sorted(parts)


def test_help_names_every_condition(capsys):
    from ownmark.metrics.conditions import CONDITIONS

    with pytest.raises(SystemExit):
        main(["effort", "--help"])
    told = "".join(capsys.readouterr().out.split())  # argparse breaks lines at the hyphens of a name
    assert all(name in told for name in CONDITIONS)


def test_a_demo_folder_of_an_interrupted_demo_is_kept_aside_and_made_anew(run, tmp_path, monkeypatch):
    from ownmark.records import Student, open_logbook

    monkeypatch.setattr(demo, "_pages", lambda folder: [])  # they are looked at above; here the logbook is
    monkeypatch.setattr(demo, "_class_day", lambda: 0)
    with open_logbook(tmp_path / "logbook.db") as logbook:
        logbook.add_student(Student(code="ZZ-01"))
    code, out, _ = run("demo", "--out", str(tmp_path))
    assert code == 0
    assert "logbook-before-1.db" in out
    with open_logbook(tmp_path / "logbook-before-1.db", create=False) as logbook:
        assert [each.code for each in logbook.students()] == ["ZZ-01"]
    with open_logbook(tmp_path / "logbook.db", create=False) as logbook:
        assert logbook.count()["trials"] > 30


def test_a_mistyped_command_gets_the_nearest_one(run):
    code, _, err = run("efort", "strap.fit")
    assert code == 2
    assert "Did you mean effort? There are: page, look, effort" in " ".join(err.split())
    assert "Did you mean" not in run("xyzzy")[2]


@pytest.mark.parametrize("command", ["look", "effort"])
def test_a_recording_comes_by_standard_input_too(command):
    done = subprocess.run(
        [sys.executable, "-m", "ownmark.cli.main", command, "-"],
        input=(FOLDER / "TH-12-loose-strap.csv").read_bytes(),
        capture_output=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    assert b"standard input" in done.stdout


def test_work_beyond_the_end_of_the_recording_is_told_with_where_it_ends(run, table):
    path = table(wander(900))
    code, _, told = run("effort", path, "--rest", "70", "--max", "190", "--work", "05:00-50:00")
    assert code == 1  # too little of the work was measured for most figures
    assert "The recording ends at 900 s, 35:00 min (2100 s) before the end of the work phase" in told
    assert run("effort", path, "--rest", "70", "--max", "190", "--work", "05:00-15:00")[2] == ""
