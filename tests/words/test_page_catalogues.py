"""The words of the local page: each key that a template or a module uses is there, and each that is there is used."""

import re
from functools import lru_cache
from pathlib import Path

import ownmark
import pytest
from ownmark.words.render import LANGUAGES, holes, texts

WEB = Path(ownmark.__file__).parent / "web"
_NAMED = re.compile(r"\bweb_[a-z]+(?:\.[a-z0-9_]+)+")
"""A whole key, wherever it stands."""
_BEGUN = re.compile(r"(\bweb_[a-z]+\.(?:[a-z0-9_]+[._])?)(?=['\"] ?[~+]|\{)")
"""The beginning of a key whose end is a value: ``'web_frame.title_' ~ name``, ``f"web_frame.nav_{name}"``."""


@lru_cache
def written():
    """All that the modules, templates and scripts of the page say, and of the reports that draw for it."""
    kinds, folders = {".py", ".html", ".js"}, (WEB, WEB.with_name("reports"))
    found = [path for folder in folders for path in sorted(folder.rglob("*")) if path.suffix in kinds]
    return "\n".join(path.read_text(encoding="utf-8") for path in found)


def keys(language):
    """The page's keys, a text of several branches once."""
    found = {}
    for key, text in texts(language).items():
        if key.startswith("web_"):
            found.setdefault(".".join(key.split(".")[:2]), []).append(text)
    return found


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_key_that_is_used_is_there(language):
    used = {
        each for each in _NAMED.findall(written()) if not re.search(rf"{re.escape(each)}_?['\"]? ?[~{{]", written())
    }
    missing = {each for each in used if ".".join(each.split(".")[:2]) not in keys(language)}
    assert missing == set()


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_beginning_of_a_key_leads_to_some(language):
    for begin in set(_BEGUN.findall(written())):
        assert any(key.startswith(begin) for key in texts(language)), begin


def test_every_key_that_is_there_is_used():
    used, begun = set(_NAMED.findall(written())), set(_BEGUN.findall(written()))
    sections = {each for each in begun if each.endswith(".")}
    begun = tuple(begun - sections)
    left = {key for key in keys("en") if key not in used and not key.startswith(begun)}
    assert {
        key for key in left if not (f"{key.partition('.')[0]}." in sections and chosen(key.partition(".")[2]))
    } == set()


def chosen(name):
    """Whether a key that code puts together is named there, whole or in two parts."""
    named = set(re.findall(r"['\"]([a-z0-9_]+)['\"]", written()))
    pieces = name.split("_")
    halves = [("_".join(pieces[:place]), "_".join(pieces[place:])) for place in range(1, len(pieces))]
    return name in named or any(one in named and other in named for one, other in halves)


@pytest.mark.parametrize("language", LANGUAGES)
def test_languages_name_the_same_values(language):
    for key, found in keys("en").items():
        needed = set().union(*map(holes, found))
        assert set().union(*map(holes, keys(language)[key])) == needed, key


_JINJA = re.compile(r"\{#.*?#\}|\{%.*?%\}|\{\{.*?\}\}", re.DOTALL)
_TAG = re.compile(r"<!--.*?-->|<[^>]*>", re.DOTALL)
_SHOWN_BY = re.compile(r"\b(?:alt|title|placeholder|aria-[a-z]+|label)=\"([^\"{]*[a-z]{2} [^\"{]*)\"")
OWN = {"(PDF)", "ownmark", "·", "· ownmark"}
"""Names that are the same in every language."""
MARKUP = {"number value", "open", "checked", "selected", "disabled", "required", "hidden"}
"""Words of HTML that a macro gives to a tag."""


@pytest.mark.parametrize("path", sorted(WEB.glob("templates/**/*.html")), ids=lambda path: path.name)
def test_no_words_stand_in_a_template(path):
    source = path.read_text(encoding="utf-8")
    shown = [each.strip() for each in _TAG.sub("\n", _JINJA.sub(" ", source)).splitlines()]
    assert [each for each in shown if re.search(r"[^\W\d_]{2}", each) and each not in OWN | MARKUP] == []
    assert [each for each in _SHOWN_BY.findall(source) if each not in OWN] == []


def test_no_words_for_people_stand_in_a_script():
    for path in sorted(WEB.glob("static/*.js")):
        source = re.sub(r"/\*.*?\*/|//[^\n]*", "", path.read_text(encoding="utf-8"), flags=re.DOTALL)
        literals = [match[2] for match in re.finditer(r"(['\"`])((?:\\.|(?!\1).)*)\1", source)]
        sentences = [each for each in literals if re.search(r"\b[A-Z][a-z]+ [a-z]+|[a-z]+ [a-z]+ [a-z]+[.!?]", each)]
        assert sentences == [], path.name
