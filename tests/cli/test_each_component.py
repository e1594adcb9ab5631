"""A test of each component, from the catalogue to everything that is made of its trials, in both languages."""

import csv
import json
import shutil

import pytest
from ownmark.cli.main import main
from ownmark.records.catalogue import entries

TESTS = {
    "aerobic": ("seated-leg-march", "repetitions", (40, 41, 66), (30, 32, 31)),
    "strength": ("loaded-elbow-bends", "elbow_bends", (12, 13, 30), (8, 9, 9)),
    "trunk": ("lean-and-return", "leans", (10, 11, 30), (7, 8, 8)),
    "flexibility": ("arm-raise-to-side", "arm_height", (90.5, 92.5, 130), (70, 72, 71)),
}
"""A test that tells left from right, its measure, and three days of left and of right."""
DAYS = ("2026-05-12", "2026-05-19", "2026-10-20")
FIGURES = {
    "en": ("left", "right"),
    "es": ("izquierda", "derecha"),
}


@pytest.fixture(scope="module", params=TESTS)
def component(request):
    return request.param


@pytest.fixture(scope="module")
def stocked(component, tmp_path_factory):
    """A logbook of three trials of one test, to be copied."""
    name, measure, *sides = TESTS[component]
    folder = tmp_path_factory.mktemp(component)
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(folder)
        patch.setenv("OWNMARK_LOGBOOK", str(folder / "logbook.db"))
        assert main(["student", "add", "TH-11"]) == 0
        assert main(["protocol", "copy", name, "mine"]) == 0
        for day, left, right in zip(DAYS, *sides, strict=True):
            results = [f"--result={measure} {side}={value}" for side, value in (("left", left), ("right", right))]
            assert main(["trial", "add", "TH-11", "mine", *results, "--date", day]) == 0
    return folder


@pytest.fixture
def run(stocked, capsys, tmp_path, monkeypatch):
    """A folder with that logbook, and what a command says on it."""
    shutil.copytree(stocked, tmp_path, dirs_exist_ok=True)
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("OWNMARK_LOGBOOK", str(tmp_path / "logbook.db"))

    def call(*words):
        code = main([str(word) for word in words])
        out, err = capsys.readouterr()
        assert code == 0, out + err
        return " ".join((out + err).split())

    return call


@pytest.mark.parametrize("language", FIGURES)
def test_the_pages_show_both_sides(run, component, language):
    left, right = FIGURES[language]
    lang = ("--lang", language, "--text")
    entry = entries()[TESTS[component][0]]
    card = run("card", "TH-11", *lang)
    assert f", {left} (" in card
    assert f", {right} (" in card
    assert entry.protocol.cannot_say in card
    assert all(each in card for each in entry.protocol.ask)
    change = run("change", "TH-11", *lang)
    for each in TESTS[component][2:]:
        baseline, after = (each[0] + each[1]) / 2, each[2]
        for value in (baseline, after):
            assert _written(value, language) in change
    assert left in change.lower()
    assert right in change.lower()
    family = run("sheet", "TH-11", "--family", *lang)
    assert f", {left} {_written(TESTS[component][2][2], language)}" in family
    assert f", {right} {_written(TESTS[component][3][2], language)}" in family
    assert "TH-11" in run("class", "page", "--date", DAYS[-1], *lang)


def _written(value, language):
    text = f"{value:g}"
    return text.replace(".", ",") if language == "es" else text


def test_the_repeat_says_what_was_done_and_how_each_side_is_measured(run, component):
    entry = entries()[TESTS[component][0]]
    told = run("repeat", "TH-11")
    assert "left and right apart" in told
    for each in (*entry.protocol.cautions, *entry.protocol.write_down, entry.protocol.task):
        assert each.rstrip(".") in told


def test_the_exports_hold_each_side_of_each_trial(run, component, tmp_path):
    _, measure, lefts, rights = TESTS[component]
    true = {
        (day, side): float(value)
        for side, values in (("left", lefts), ("right", rights))
        for day, value in zip(DAYS, values, strict=True)
    }
    run("export", "csv", "--out", "trials.csv")
    with (tmp_path / "trials-hand-results.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert {each["measure"] for each in rows} == {measure}
    assert {(each["date"], each["side"]): float(each["value"]) for each in rows} == true
    run("export", "json", "--out", "trials.json")
    kept = json.loads((tmp_path / "trials.json").read_text(encoding="utf-8"))
    assert {
        (each["date"], one["side"]): one["value"]
        for each in kept["trials"]
        for one in each["hand_results"]
        if one["measure"] == measure
    } == true
    run("export", "fhir", "--out", "trials.ndjson")
    seen = [json.loads(line) for line in (tmp_path / "trials.ndjson").read_text(encoding="utf-8").splitlines()]
    ours = [each for each in seen if each["code"]["coding"][0]["code"] == measure]
    assert {
        (each["effectiveDateTime"], each["bodySite"]["text"]): each["valueQuantity"]["value"] for each in ours
    } == true


@pytest.mark.parametrize("language", FIGURES)
def test_the_sentence_for_a_plan_has_both_sides(run, component, language, tmp_path):
    run("export", "plan", "--lang", language, "--out", "plan.txt")
    told = " ".join((tmp_path / "plan.txt").read_text(encoding="utf-8").split())
    left, right = FIGURES[language]
    assert f"{left} {_written(TESTS[component][2][2], language)} " in told
    assert f"{right} {_written(TESTS[component][3][2], language)} " in told
