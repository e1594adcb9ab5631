"""Texts for people are in American spelling: README, docs/, words, catalogue of protocols, help and refusals."""

import ast
import re
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
BRITISH = re.compile(
    r"\b(colours?|behaviours?|favour\w*|neighbours?|metres?|centimetres?|litres?|tyres?|centres?|practis(e[sd]?|ing)"
    r"|programmes?|grey|licence|paediatric\w*|analys(e[sd]?|ing)|recognis\w*|organis\w*|labelled|to and fro|whilst)\b",
    re.IGNORECASE,
)
TEXTS = (
    *("README.md", "words/said.toml"),
    *(
        path.relative_to(ROOT).as_posix()
        for folder in ("docs", "words/en")
        for path in sorted((ROOT / folder).iterdir())
    ),
)


def strings(value):
    if isinstance(value, dict):
        for each in value.values():
            yield from strings(each)
    elif isinstance(value, list):
        for each in value:
            yield from strings(each)
    elif isinstance(value, str):
        yield re.sub(r"\{[^}]*\}", "", value)  # the name of a value is not shown


def said(path):
    """Sentences in code: every text with a space in it that is no docstring."""
    tree = ast.parse(path.read_text())
    docs = {
        id(node.value)
        for node in ast.walk(tree)
        if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant) and isinstance(node.value.value, str)
    }
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in docs:
            yield node.value


@pytest.mark.parametrize("name", TEXTS)
def test_texts_are_american(name):
    text = (ROOT / name).read_text()
    found = [text] if name.endswith(".md") else list(strings(tomllib.loads(text)))
    assert [match[0] for each in found for match in BRITISH.finditer(each)] == []


def test_the_catalogue_of_protocols_is_american():
    for path in sorted((ROOT / "records/catalogue").glob("*.toml")):
        kept = tomllib.loads(path.read_text())
        assert [match[0] for each in strings(kept) for match in BRITISH.finditer(each)] == [], path.name


def test_sentences_in_code_are_american():
    found = [
        (path.relative_to(ROOT).as_posix(), text)
        for folder in ("cli", "metrics", "ingest", "records", "reports")
        for path in (ROOT / folder).rglob("*.py")
        for text in said(path)
        if " " in text and BRITISH.search(text)
    ]
    assert found == []
