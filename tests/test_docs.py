"""README is short, docs/ is whole, and both say what the code does: every table, every example, every link."""

import re

import pytest
from ownmark.cli.main import COMMANDS
from ownmark.ingest.flags import RULES
from ownmark.ingest.formats import FORMATS
from ownmark.metrics.conditions import CONDITIONS
from ownmark.reports.exports.columns import HAND, trial_columns
from ownmark.words.render import texts
from ownmark.words.vocabulary import FIGURES

from tests.readme import PAGES, README, ROOT, examples, written
from tests.reference import rows

LONGEST = 1200
"""Words of README: what a person reads before the first use."""
DOCS = "\n".join(path.read_text(encoding="utf-8") for path in PAGES if path != README)


def test_readme_is_one_page():
    assert len(README.read_text(encoding="utf-8").split()) <= LONGEST


@pytest.mark.parametrize("path", PAGES, ids=lambda path: path.name)
def test_a_page_shows_what_the_commands_print_and_what_the_code_holds(path):
    page = path.read_text(encoding="utf-8")
    new = written(page)
    for (command, old), (_, now) in zip(examples(page), examples(new), strict=True):
        assert old == now, command
    assert new == page


def test_the_pages_show_every_kind_of_use():
    shown = {command.split()[1] for path in PAGES for command, _ in examples(path.read_text(encoding="utf-8"))}
    assert shown >= {"look", "effort", "class", "repeat", "change", "safety"}


@pytest.mark.parametrize("name", rows())
def test_every_table_has_its_place_in_one_page(name):
    assert DOCS.count(f"<!-- {name} -->\n|") == 1


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_is_in_the_docs_and_each_that_takes_options_has_them_there(command):
    assert f"| `ownmark {command}` | {COMMANDS[command]} |" in DOCS
    assert command in ("formats", "schema") or re.search(rf"^### `ownmark {command}\b", DOCS, re.MULTILINE)


def test_every_figure_is_in_the_docs_with_its_unit():
    for name, entry in FIGURES.items():
        assert f"| `{name}` | {entry.unit} | {entry.meaning} |" in DOCS


def test_every_condition_format_and_rule_is_in_the_docs():
    for condition in CONDITIONS.values():
        assert f"| `{condition.name}` | {condition.title} |" in DOCS
    for each in FORMATS:
        assert f"| {each.name} | {each.holds} |" in DOCS
    for rule in RULES:
        cells = " | ".join(texts("en")[f"{section}.{rule}"] for section in ("rule_name", "rule_finds"))
        assert rule == "unchecked" or f"| {cells} |" in DOCS


def test_every_column_of_the_exports_is_in_the_docs():
    for column in (*trial_columns(change=True), *HAND):
        name = re.sub(r"_(low|high)$", "", column.name)
        name = name if name in FIGURES else column.name
        assert f"| `{name}` |" in DOCS, column.name


@pytest.mark.parametrize("path", PAGES, ids=lambda path: path.name)
def test_every_link_leads_somewhere(path):
    for place, anchor in re.findall(r"\]\(([^)#]*)(?:#([^)]*))?\)", path.read_text(encoding="utf-8")):
        target = (path.parent / place).resolve() if place else path
        assert target.is_file(), place
        assert target.is_relative_to(ROOT)
        headings = re.findall(r"^#+ (.*)$", target.read_text(encoding="utf-8"), re.MULTILINE)
        assert not anchor or anchor in {_anchor(each) for each in headings}, anchor


def test_readme_leads_to_every_page():
    for path in PAGES:
        assert path == README or f"(docs/{path.name}" in README.read_text(encoding="utf-8")


def _anchor(heading):
    """A heading's anchor, as the usual viewers make it."""
    return re.sub(r"[^\w -]", "", heading.lower()).replace(" ", "-")


def test_every_path_in_developers_exists():
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    named = {word for quoted in re.findall(r"`([^`\n]+)`", text) for word in quoted.split()}
    paths = {each for each in named if re.fullmatch(r"[\w./-]*(/|\.(?:py|toml|md|txt|typ))", each)}
    paths = {each for each in paths if not re.search(r"[A-Z]{4}[A-Z]*/|/[A-Z]+\.toml", each)}  # LANGUAGE, LAYER
    assert len(paths) > 60
    assert [each for each in sorted(paths) if not (ROOT / each).exists()] == []
