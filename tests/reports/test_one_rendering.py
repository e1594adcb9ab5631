"""One trial, rendered to the terminal, HTML, PDF and exports: every number of every figure is the same everywhere.

The trial has gaps, movement, a target and a ceiling. Its figures are put on the edges of rounding (an even digit, then
a half), where half up and half even, and a renderer that rounds by itself, differ. What must be shown is worked out
here, by ``decimal`` and the sentence on rounding at the foot of the page, not by the code that is tested.
"""

import csv
import json
import re
from datetime import date
from decimal import ROUND_HALF_EVEN, ROUND_HALF_UP, Decimal

import pypdf
import pytest
from ownmark.cli.main import main
from ownmark.records import Ceiling, MeasuredRate, Student, open_logbook
from ownmark.records.measuring import measured
from ownmark.records.trial import Trial
from ownmark.reports.render.text import to_text
from ownmark.reports.sheets.effort_sheet import effort_of_files
from ownmark.reports.words import Words
from ownmark.sample_streams import FOLDER

from tests.makers.sheets import altered
from tests.reports import pages_made as pages

DECIMALS = {"/min": 0, "1": 0, "s": 0, "%": 1, "mg": 1, "/m": 2}
"""As the foot of the page says; the training impulse has two."""
IN_A_SENTENCE = ("coverage_heart_rate", "coverage_motion")
STUDENT = Student(
    code="TH-12",
    sex="female",
    maxima=(MeasuredRate(bpm=176),),
    ceilings=(Ceiling(bpm=135, set_by="therapist", set_on=date(2026, 4, 1)),),
)


def with_a_gap(tcx):
    """The recording without the track points of one minute of its work."""
    points = re.compile(rb"\s*<Trackpoint>\s*<Time>2026-05-12T14:5(?:2|3:[012])[^<]*</Time>.*?</Trackpoint>", re.DOTALL)
    found = points.sub(b"", tcx)
    assert len(found) < len(tcx)
    return found


def decimals(name, unit):
    return 2 if name == "training_impulse" else DECIMALS[unit]


def on_an_edge(name, figure):
    """The figure on an edge of rounding, its bounds around it: half even would round each of them down."""
    if figure["value"] in (None, 0) or name in IN_A_SENTENCE:
        return {}
    step = Decimal(1).scaleb(-decimals(name, figure["unit"]))
    even = 2 * int(Decimal(repr(figure["value"])) / step / 2)
    apart = {"low": -2 if even else 0, "value": 0, "high": 4}
    return {each: float((even + more + Decimal("0.5")) * step) for each, more in apart.items()}


@pytest.fixture(scope="module")
def trial():
    """The trial with its sheet, and its files."""
    names = ("TH-12-arm-crank.tcx", "TH-12-crank-sensor.csv.gz")
    originals = [(each, (FOLDER / each).read_bytes()) for each in names]
    originals[0] = (names[0], with_a_gap(originals[0][1]))
    plan = pages.protocol("arm-crank-steady").model_copy(update={"target": "40-60%"})
    bare = Trial(
        code="TH-12", protocol=plan.name, protocol_version=1, on=date(2026, 5, 12), distance_m=400,
        rest_phase="00:00-05:00", work="05:00-17:00", recovery="17:00-20:00",
    )  # fmt: skip
    sheet, _ = measured(bare, STUDENT, plan, originals)

    def put_on_edges(page):
        for name, figure in page["figures"].items():
            figure.update(on_an_edge(name, figure))

    return bare.model_copy(update={"sheet": altered(sheet, put_on_edges)}), plan, originals


@pytest.fixture(scope="module")
def rendered(trial, tmp_path_factory):
    """What each way of looking at the trial shows, by its name."""
    bare, plan, originals = trial
    place = tmp_path_factory.mktemp("one") / "book.db"
    with open_logbook(place) as logbook:
        logbook.add_student(STUDENT)
        logbook.add_protocol(plan)
        logbook.add_trial(bare, originals)
    out = place.parent
    for words in (
        ("sheet", "TH-12", "--html", "--pdf", "--out", str(out)),
        ("export", "csv", "--out", str(out / "all.csv")),
        ("export", "json", "--out", str(out / "all.json")),
    ):
        assert main([*words, "--logbook", str(place)]) == 0, words
    return out, place


@pytest.fixture(scope="module")
def figures(trial):
    return trial[0].sheet.figures


def half_up(value, places, rounding=ROUND_HALF_UP):
    return str(Decimal(repr(value)).quantize(Decimal(1).scaleb(-places), rounding=rounding))


def clock(seconds):
    minutes, left = divmod(int(seconds), 60)
    return f"{minutes}:{left:02d}"


def expected(name, figure, rounding=ROUND_HALF_UP):
    """The numbers that must stand in the cells of a figure: of its value, and of its bounds where they say more."""
    places = decimals(name, figure.unit)
    value = half_up(figure.value, places, rounding)
    ends = [half_up(each, places, rounding) for each in (figure.low, figure.high) if each is not None]
    apart = [] if set(ends) <= {value} else ends
    if figure.unit != "s":
        return [value], apart
    at = name == "first_above_ceiling"
    long = at or max((abs(each) for each in (figure.low, figure.high) if each is not None), default=0) > 90
    return (
        [clock(value), value] if at or figure.value > 90 else [value],
        [*(map(clock, apart) if long else ()), *apart],
    )


def title(name):
    words = Words("en")
    text = words.get(f"figure.{name}")
    text = f"{text} effort" if name.startswith("time_") and "ceiling" not in name and "target" not in name else text
    return text[:1].upper() + text[1:]


def rows_of_html(path):
    return [[cell.replace("\u00a0", " ").strip() for cell in row] for row in pages.Seen(path.read_bytes()).rows]


def rows_of_terminal(text):
    """Rows of the tables of figures, by the places where their headers begin; a cell may go on in the next line."""
    found, starts = [], []
    for line in text.splitlines():
        if line.startswith("Figure  "):
            starts = [each.start() for each in re.finditer(r"(?<=  )\S|^\S", line)]
        elif not line.strip():
            starts = []
        elif starts:
            ends = [*starts[1:], None]
            cells = [line[begin:end].strip() for begin, end in zip(starts, ends, strict=True)]
            if cells[0][:1].isupper():
                found.append(cells)
            else:
                found[-1] = [" ".join(filter(None, pair)) for pair in zip(found[-1], cells, strict=True)]
    return found


def check(rows, figures, rounding=ROUND_HALF_UP):
    """Every given figure has the numbers that it must have in each of its rows: on top, and in its group."""
    seen = 0
    for name, figure in figures.items():
        if figure.value is None or name in IN_A_SENTENCE:
            continue
        value, bounds = expected(name, figure, rounding)
        own = [row for row in rows if row[0] == title(name)]
        assert own, name
        for row in own:
            assert pages.numbers(row[1]) == value, (name, row)
            assert pages.numbers(row[2]) == bounds, (name, row)
            seen += 1
    assert seen > 25
    return seen


def test_the_trial_has_what_is_hard_to_render(figures, trial):
    made = trial[0].sheet.provenance
    assert made.unmeasured
    assert made.movement is not None
    given = {name for name, each in figures.items() if each.value is not None}
    assert given >= {"cost_index", "training_impulse", "motion_level", "first_above_ceiling", "longest_on_target"}
    shown = {name: expected(name, figures[name]) for name in given}
    other = {name: expected(name, figures[name], ROUND_HALF_EVEN) for name in given}
    assert sum(shown[name] != other[name] for name in given) > 20  # the edges are where the ways of rounding differ


def test_the_web_page_shows_every_figure_as_it_is(rendered, figures):
    check(rows_of_html(next(rendered[0].glob("*.html"))), figures)


@pytest.mark.parametrize("words", [["sheet", "TH-12"], ["trial", "show", "1"]])
def test_the_terminal_shows_every_figure_as_it_is(rendered, figures, capsys, words):
    assert main([*words, "--logbook", str(rendered[1])]) == 0
    check(rows_of_terminal(capsys.readouterr().out), figures)


def test_a_sheet_of_files_shows_every_figure_as_it_is(figures, trial):
    check(rows_of_terminal(to_text(effort_of_files(trial[0].sheet, Words("en", terminal=True)))), figures)


def test_paper_shows_every_row_of_the_web_page(rendered, figures):
    out = rendered[0]
    paper = "".join(page.extract_text() for page in pypdf.PdfReader(next(out.glob("*.pdf"))).pages)
    paper = re.sub(r"\s", "", paper)
    rows = [row for row in rows_of_html(next(out.glob("*.html"))) if row[0] in set(map(title, figures))]
    assert len(rows) > 25
    for row in rows:
        assert re.sub(r"\s", "", "".join(row[:3])) in paper, row


def test_the_measured_shares_of_the_first_sentence_are_those_of_the_sheet(rendered, figures):
    told = pages.Seen(next(rendered[0].glob("*.html")).read_bytes()).text.replace("\u00a0", " ")
    for name in IN_A_SENTENCE:
        assert f"measured for {half_up(figures[name].value, 1)} % of the work phase" in told


def test_exports_hold_every_digit(rendered, figures):
    out = rendered[0]
    with (out / "all.csv").open(encoding="utf-8", newline="") as handle:
        (row,) = csv.DictReader(handle)
    (page,) = json.loads((out / "all.json").read_text(encoding="utf-8"))["trials"]
    for name, figure in figures.items():
        for end, value in (("", figure.value), ("_low", figure.low), ("_high", figure.high)):
            cell = row[f"{name}{end} [{figure.unit}]"]
            assert (float(cell) if cell else None) == value, name
            assert page["figures"][name][end.lstrip("_") or "value"] == value, name


def test_a_renderer_that_rounds_otherwise_is_noticed(rendered, figures):
    rows = rows_of_html(next(rendered[0].glob("*.html")))
    with pytest.raises(AssertionError):
        check(rows, figures, ROUND_HALF_EVEN)
    place = next(number for number, row in enumerate(rows) if row[0] == title("cost_index"))
    for column in (1, 2):
        wrong = [list(row) for row in rows]
        wrong[place][column] = re.sub(r"\d(?=\D*$)", lambda digit: str((int(digit[0]) + 1) % 10), wrong[place][column])
        with pytest.raises(AssertionError, match="cost_index"):
            check(wrong, figures)
