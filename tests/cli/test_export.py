"""``ownmark export`` as a coordinator types it."""

import csv

import pytest
from ownmark.cli import export
from ownmark.cli.main import Parser


@pytest.fixture
def run(filled, capsys):
    def call(*words):
        parser = Parser(prog="ownmark export")
        export.add_arguments(parser)
        logbook, _ = filled
        found = export.run(parser.parse_args([*map(str, words), "--logbook", str(logbook.place.file)]))
        return found, capsys.readouterr().out

    return call


def test_days_and_protocol_choose_and_the_files_are_named(run, tmp_path):
    code, out = run(
        "csv", "--from", "2026-10-20", "--to", "2026-10-31", "--protocol", "reach", "--out", tmp_path / "r.csv"
    )
    assert code == 0
    assert "1 trial and 5 hand results" in out
    for name in ("r.csv", "r-hand-results.csv", "r-columns.csv"):
        assert str(tmp_path / name) in out
    with (tmp_path / "r.csv").open(newline="") as file:
        assert [row["protocol"] for row in csv.DictReader(file)] == ["reach"]


def test_an_export_without_a_trial_says_so(run, tmp_path):
    _, out = run("json", "--from", "2031-01-01", "--out", tmp_path / "n.json")
    assert "headers only" in out


def test_sentences_for_plans_go_into_a_text_file(run, tmp_path):
    from ownmark.errors import UsageError

    code, out = run("plan", "--out", tmp_path / "plan.txt")
    assert code == 0
    assert "Read each one" in out
    assert (tmp_path / "plan.txt").read_text(encoding="utf-8").count("AB-") >= 36
    with pytest.raises(UsageError, match="is after"):
        run("plan", "--from", "2026-10-02", "--to", "2026-10-01", "--out", tmp_path / "again.txt")
    assert not (tmp_path / "again.txt").exists()


def test_sentences_for_plans_of_a_period(run, tmp_path):
    run("plan", "--from", "2026-10-20", "--to", "2026-10-20", "--out", tmp_path / "day.txt")
    told = (tmp_path / "day.txt").read_text(encoding="utf-8")
    heads = [each.split("\n")[0] for each in told.strip().split("\n\n")]
    assert heads
    assert all("October 20, 2026" in each for each in heads), heads
    _, out = run("plan", "--from", "2050-01-01", "--out", tmp_path / "none.txt")
    assert out.startswith("0 paragraphs")


def test_an_unknown_form_and_a_wrong_day_are_usage_errors(run, tmp_path):
    from ownmark.errors import UsageError

    for words in (("docx", "--out", tmp_path / "d"), ("csv", "--from", "soon", "--out", tmp_path / "d"), ("csv",)):
        with pytest.raises(UsageError):
            run(*words)
    assert list(tmp_path.iterdir()) == []


def test_a_name_that_ends_like_another_form_is_refused_before_anything_is_read(run, tmp_path):
    from ownmark.errors import UsageError

    with pytest.raises(UsageError, match=r"d.csv ends like a file of the form csv"):
        run("xlsx", "--out", tmp_path / "d.csv")
    assert not (tmp_path / "d.csv").exists()
    with pytest.raises(UsageError, match="tell the change already"):
        run("plan", "--change", "--out", tmp_path / "p.txt")
