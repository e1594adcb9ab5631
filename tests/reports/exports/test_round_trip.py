"""What was exported reads back equal: every value, with readers that are not ours."""

import csv
import json
import weakref
from datetime import date, datetime

import openpyxl
import pyarrow.parquet as pq
import pytest
from ownmark.reports.exports import FORMATS, export, run
from ownmark.reports.exports.columns import HAND, explained, trial_columns
from ownmark.reports.exports.rows import records
from ownmark.reports.exports.xlsx_workbook import MOST_SIGNS
from ownmark.words.plain import without_apostrophe as plain
from ownmark.words.vocabulary import FIGURES

from tests.records.store import made


@pytest.fixture(scope="module")
def written(filled, tmp_path_factory):
    """Every form in one go."""
    logbook, trials = filled
    stem = tmp_path_factory.mktemp("out") / "district"
    found = export(logbook, "all", stem)
    assert found.rows == len(trials)
    assert found.hand_rows == 5
    return stem.parent, trials


def wanted_figures(trial, part):
    """A part of every figure as the logbook holds it."""
    figures = trial.sheet.figures if trial.sheet else {}
    return {name: getattr(figures.get(name), part, None) for name in FIGURES}


def same_trials(rows, trials, typed=str):
    """Rows by column name against the logbook's trials, exactly."""
    assert len(rows) == len(trials)
    for row, trial in zip(rows, trials, strict=True):
        assert (row["trial"], row["code"], row["protocol"]) == (trial.id, trial.code, trial.protocol)
        assert row["date"] == trial.on
        assert row["practice"] is trial.practice
        assert row["notes"] == (typed(trial.notes) or None)
        assert row["prompts"] == trial.prompts_per_min
        assert row["temperature"] == trial.temperature_c
        assert row["exertion"] == trial.exertion
        for part, end in (("value", ""), ("low", "_low"), ("high", "_high")):
            assert {name: row[f"{name}{end}"] for name in FIGURES} == wanted_figures(trial, part)
        basis = trial.sheet.provenance.basis if trial.sheet else None
        assert row["rest"] == (basis and basis.rest_bpm)
        assert row["maximum"] == (basis and basis.maximum_bpm)


def same_hand(rows, trials):
    """The second table against the logbook's."""
    kept = [(trial.id, one.name, one.side, one.attempt, one.value) for trial in trials for one in trial.hand_results]
    assert [tuple(row[name] for name in ("trial", "measure", "side", "attempt", "value")) for row in rows] == kept
    assert {row["measure"]: row["unit"] for row in rows} == {"reach": "cm", "lengths": "lengths"}


def from_csv(path, columns):
    """Rows of a CSV file, each field as its column's kind says."""
    kinds = {
        "text": plain,
        "integer": int,
        "number": float,
        "date": date.fromisoformat,
        "yes or no": {"yes": True, "no": False}.__getitem__,
    }
    with path.open(newline="", encoding="utf-8") as file:
        header, *lines = csv.reader(file, strict=True)
    assert header == [each.header for each in columns]
    return [
        {each.name: kinds[each.kind](field) if field else None for each, field in zip(columns, line, strict=True)}
        for line in lines
    ]


def test_csv_reads_back_equal(written):
    folder, trials = written
    same_trials(from_csv(folder / "district.csv", trial_columns()), trials, lambda text: text.replace("\a", "\ufffd"))
    same_hand(from_csv(folder / "district-hand-results.csv", HAND), trials)
    with (folder / "district-columns.csv").open(newline="", encoding="utf-8") as file:
        assert [tuple(map(plain, row)) for row in list(csv.reader(file))[1:]] == list(explained())


def test_xlsx_reads_back_equal_with_typed_cells(written):
    folder, trials = written
    book = openpyxl.load_workbook(folder / "district.xlsx")
    for name, columns, check in (("Trials", trial_columns(), same_trials), ("Hand results", HAND, same_hand)):
        header, *lines = book[name].iter_rows(values_only=True)
        assert list(header) == [each.header for each in columns]
        rows = [dict(zip([each.name for each in columns], line, strict=True)) for line in lines]
        for row in rows:
            row["date"] = row["date"].date() if isinstance(row["date"], datetime) else row["date"]
            if row.get("notes"):
                row["notes"] = unescaped(row["notes"])
        check(rows, trials)
    assert [tuple(cell or "" for cell in row) for row in book["Columns"].iter_rows(min_row=2, values_only=True)] == [
        tuple(row) for row in explained()
    ]


def test_each_sheet_of_the_workbook_filters_from_its_header_which_stays_in_sight(written):
    folder, trials = written
    book = openpyxl.load_workbook(folder / "district.xlsx")
    for name, columns, rows in (
        ("Trials", len(trial_columns()), len(trials)),
        ("Hand results", len(HAND), 5),
        ("Columns", 6, len(explained())),
    ):
        assert book[name].auto_filter.ref == f"A1:{openpyxl.utils.get_column_letter(columns)}{rows + 1}"
        assert book[name].freeze_panes == "C2"
    place = [each.name for each in trial_columns()].index("practice") + 1
    assert [book["Trials"].cell(n, place).data_type for n in range(2, len(trials) + 2)] == ["b"] * len(trials)


def test_a_workbook_without_a_trial_filters_its_header_alone(filled, tmp_path):
    export(filled[0], "xlsx", tmp_path / "none.xlsx", since=date(1999, 1, 1), until=date(1999, 1, 2))
    sheet = openpyxl.load_workbook(tmp_path / "none.xlsx")["Hand results"]
    assert sheet.auto_filter.ref == f"A1:{openpyxl.utils.get_column_letter(len(HAND))}1"


def unescaped(text):
    """Control signs as the format writes them (ECMA-376 part 1, 22.4.2.4 ST_Xstring); openpyxl leaves them."""
    from openpyxl.utils.escape import unescape

    return unescape(text)


def test_xlsx_shows_rounded_numbers_and_holds_every_digit(written):
    folder, trials = written
    book = openpyxl.load_workbook(folder / "district.xlsx")
    names = [each.name for each in trial_columns()]
    cell = book["Trials"].cell(2, names.index("heart_rate_mean") + 1)
    assert cell.number_format == "0.0"
    assert cell.value == trials[0].sheet.figures["heart_rate_mean"].value
    assert cell.value != round(cell.value, 9)
    day = book["Trials"].cell(2, names.index("date") + 1)
    assert (day.is_date, day.number_format) == (True, "yyyy-mm-dd")


def test_parquet_reads_back_equal_and_its_fields_say_unit_and_meaning(written):
    folder, trials = written
    table = pq.read_table(folder / "district.parquet")
    same_trials(table.to_pylist(), trials)
    same_hand(pq.read_table(folder / "district-hand-results.parquet").to_pylist(), trials)
    field = table.schema.field("heart_rate_mean")
    assert str(field.type) == "double"
    assert field.metadata[b"unit"] == b"/min"
    assert b"time-weighted mean" in field.metadata[b"meaning"]
    assert str(table.schema.field("date").type) == "date32[day]"


def test_json_reads_back_equal_with_every_figure_whole(written):
    folder, trials = written
    page = json.loads((folder / "district.json").read_text(encoding="utf-8"))
    assert len(page["trials"]) == len(trials)
    for row, trial in zip(page["trials"], trials, strict=True):
        assert row["figures"] == (json.loads(trial.sheet.to_json())["figures"] if trial.sheet else {})
        assert (row["trial"], row["notes"], row["date"]) == (trial.id, trial.notes or None, trial.on.isoformat())
        assert [(one["measure"], one["side"], one["attempt"], one["value"]) for one in row["hand_results"]] == [
            (one.name, one.side, one.attempt, one.value) for one in trial.hand_results
        ]
    assert {each["column"]: each["unit"] for each in page["columns"]}["motion_level"] == "mg"
    assert "not a medical device" in page["cautions"][0]


def test_an_unknown_value_is_empty_and_a_zero_is_a_zero(written):
    folder, trials = written
    rows = from_csv(folder / "district.csv", trial_columns())
    assert rows[0]["time_vigorous"] == 0.0
    assert rows[0]["moving_time"] is None
    assert "moving_time" in rows[0]["figures_not_given"]
    assert "no movement sensor" in rows[0]["figures_not_given"]
    by_hand = [row for row, trial in zip(rows, trials, strict=True) if trial.sheet is None]
    assert len(by_hand) == 1
    assert all(by_hand[0][name] is None for name in FIGURES)
    assert by_hand[0]["stops"] == "09:14 =tired; 09:20 strap slipped"


def test_a_row_says_when_movement_is_that_of_a_chair(written):
    folder, _ = written
    row = from_csv(folder / "district.csv", trial_columns())[3]
    assert row["moving_time"] == 301.0
    assert row["movement_sensor"] == "frame"
    assert "not the student's effort" in row["figure_notes"]
    assert "not the student's effort" in next(e.meaning for e in trial_columns() if e.name == "movement_sensor")


def test_days_and_protocol_choose_the_trials(filled, tmp_path):
    logbook, trials = filled
    assert export(logbook, "json", tmp_path / "a.json", since=date(2026, 10, 20)).rows == 1
    assert export(logbook, "json", tmp_path / "b.json", until=date(2026, 10, 19)).rows == len(trials) - 1
    assert export(logbook, "json", tmp_path / "c.json", protocol="reach").rows == 1
    assert export(logbook, "all", tmp_path / "d", since=date(2030, 1, 1)).rows == 0
    assert pq.read_table(tmp_path / "d.parquet").num_rows == 0
    assert json.loads((tmp_path / "d.json").read_text())["trials"] == []


def test_a_note_longer_than_a_cell_is_cut_and_says_so_in_xlsx_and_is_whole_in_csv(tmp_path):
    from ownmark.records import open_logbook

    notes = "🦽" * 20_000
    with open_logbook(tmp_path / "logbook.db") as logbook:
        logbook.add_protocol(made.protocol())
        logbook.add_student(made.student())
        logbook.add_trial(made.trial().model_copy(update={"notes": notes}))  # of before texts had a length
        export(logbook, "all", tmp_path / "long")
    names = [each.name for each in trial_columns()]
    cell = openpyxl.load_workbook(tmp_path / "long.xlsx")["Trials"].cell(2, names.index("notes") + 1).value
    assert "cut: a cell holds no more" in cell
    assert len(cell.encode("utf-16-le")) // 2 <= MOST_SIGNS
    assert from_csv(tmp_path / "long.csv", trial_columns())[0]["notes"] == notes


def test_the_change_stands_on_the_last_trial_of_each_student(tmp_path):
    from ownmark.records import open_logbook
    from ownmark.records.judging import judge_all

    with open_logbook(tmp_path / "logbook.db") as logbook:
        logbook.add_protocol(made.protocol())
        logbook.add_students([made.student(code) for code in ("TH-11", "BF-07", "CK-03")])
        for number, day in enumerate((date(2026, 5, 4), date(2026, 5, 11), date(2026, 10, 5))):
            for code in ("TH-11", "BF-07"):
                logbook.add_trial(made.trial(code, day, sheet=made.sheet(number)))
        only = logbook.add_trial(made.trial("CK-03", sheet=made.sheet(1)))
        export(logbook, "parquet", tmp_path / "c.parquet", change=True)
        judged = dict(judge_all(logbook, "slalom-gym"))
    rows = {row["trial"]: row for row in pq.read_table(tmp_path / "c.parquet").to_pylist()}
    for code in ("TH-11", "BF-07"):
        row = rows[judged[code].retests[-1].trial]
        assert (row["code"], row["verdict"], row["change"]) == (code, judged[code].verdict, judged[code].change)
        assert row["detectable_change"] == judged[code].detectable_change
    assert sum(row["verdict"] is not None for row in rows.values()) == 2
    assert rows[only.id]["verdict"] is None
    assert (
        rows[only.id]["not_compared"] == "all trials are on one day, and two days are needed. Give the same test again."
    )


@pytest.mark.parametrize("form", [*FORMATS, "all"])
def test_no_more_than_two_trials_are_held_at_a_time(filled, form, tmp_path, monkeypatch):
    logbook, trials = filled
    held, most = [], []

    def watched(*args, **more):
        for record in records(*args, **more):
            held.append(weakref.ref(record.trial))
            most.append(sum(each() is not None for each in held))
            yield record
            del record

    class Loose:
        """The logbook, giving trials that only the exporter holds."""

        def trials(self, **asked):
            for each in trials:
                yield each.model_copy(deep=False)

        def __getattr__(self, name):
            return getattr(logbook, name)

    monkeypatch.setattr(run, "records", watched)
    assert export(Loose(), form, tmp_path / "d").rows == len(trials)
    assert max(most) <= 2
