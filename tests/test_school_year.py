"""The commands of a year's end, as docs/school-year.md shows them, on the logbook of the demo's year."""

import re
import shlex
from pathlib import Path

import pytest
from ownmark.cli import demo
from ownmark.cli.main import main
from ownmark.records import open_logbook

PAGE = Path(__file__).resolve().parents[1] / "docs" / "school-year.md"
MOST = 12
PLANNED = re.compile(r"<!-- year's end -->\n((?:    ownmark .*\n)+)")


def commands():
    found = PLANNED.search(PAGE.read_text(encoding="utf-8"))
    assert found is not None
    return [shlex.split(line)[1:] for line in found[1].splitlines()]


def ended(folder):
    """The year's end in a folder: the code of each command."""
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(folder)
        patch.setenv("OWNMARK_LOGBOOK", str(folder / "logbook.db"))
        for words in demo._set_up(folder):
            main(words)
        return [main(words) for words in commands()]


def test_a_class_ends_its_year_as_the_page_says(tmp_path):
    """In one test: ending a year takes a worker some ten seconds, and each worker would do it for a test of its own."""
    codes = ended(tmp_path)
    assert_twelve_commands_at_most_and_each_does_what_it_says(codes)
    assert_a_page_for_everybody_and_an_index_that_leads_to_each(tmp_path)
    assert_what_cannot_be_compared_yet_is_in_the_index_with_the_reason(tmp_path)


def assert_twelve_commands_at_most_and_each_does_what_it_says(codes):
    assert len(codes) <= MOST
    assert codes == [0] * len(codes)
    words = {" ".join(each[:2]) for each in commands()}
    assert words >= {"safety --class", "change --class", "card --class", "sheet --class", "export plan", "export xlsx"}
    assert not any(each[0] == "recompute" for each in commands())
    count = PAGE.read_text(encoding="utf-8").partition("## At the year's end")[2]
    assert count.split()[0] == {9: "Nine"}[len(codes)]


def assert_a_page_for_everybody_and_an_index_that_leads_to_each(place):
    folder = place / "year-end"
    with open_logbook(place / "logbook.db", create=False) as logbook:
        trials = list(logbook.trials())
    tested = {(each.code, each.protocol) for each in trials}
    days = {pair: {each.on for each in trials if (each.code, each.protocol) == pair} for pair in tested}
    again = {pair for pair in tested if len(days[pair]) > 1}
    for name, kind, count in (("index-cards.html", "card", len(tested)), ("index-changes.html", "change", len(again))):
        pages = sorted(path.name for path in folder.glob(f"TH-*-{kind}-*.pdf"))
        assert len(pages) == count
        linked = re.findall(r'href="([^"]+)"', (folder / name).read_text(encoding="utf-8"))
        assert sorted(linked) == pages
    for place, name in (("families", "index-sheets.html"), ("familias", "index-sheets-es.html")):
        pages = sorted(path.name for path in (folder / place).glob("TH-*.pdf"))
        assert len(pages) == len(trials)
        linked = re.findall(r'href="([^"]+)"', (folder / place / name).read_text(encoding="utf-8"))
        assert sorted(linked) == pages
    assert len(list(folder.glob("caseload-*.pdf"))) == 1
    for name in ("plans.txt", "district.xlsx", "district.pdf", "logbook.zip"):
        assert (folder / name).stat().st_size > 1000


def assert_what_cannot_be_compared_yet_is_in_the_index_with_the_reason(place):
    index = (place / "year-end" / "index-changes.html").read_text(encoding="utf-8")
    below = index.partition("Not written, and why")[2]
    assert re.findall(r"TH-\d\d", below)[:2] == ["TH-14", "TH-15"]
