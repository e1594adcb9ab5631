"""A catalogue reads as a reader of all of TOML reads it."""

import tomllib
from pathlib import Path

import pytest
from ownmark.words.catalogue import _flat, catalogue
from ownmark.words.render import FOLDER

FILES = sorted(FOLDER.rglob("*.toml"))


@pytest.mark.parametrize("path", FILES, ids=lambda path: f"{path.parent.name}-{path.name}")
def test_every_catalogue_reads_as_toml(path: Path):
    text = path.read_text(encoding="utf-8")
    assert catalogue(text) == _flat(tomllib.loads(text))


def test_the_usual_catalogue_needs_no_other_reader(monkeypatch):
    monkeypatch.setattr("ownmark.words.catalogue._whole", lambda text: pytest.fail("read twice"))
    for path in FILES:
        if path.parent.name in ("en", "es"):
            catalogue(path.read_text(encoding="utf-8"))


@pytest.mark.parametrize(
    "text",
    [
        "",
        "# only a remark\n",
        'a = "x"\n[s]\nb = "y"\n',
        '[s.t]\na.one = "1"\na.other = "2"\n',
        'a = "he said \\"no\\" \\\\ and\\nleft\\t."\n',
        'a = "\\u00e9"\n',
        "a = 'literal \\n'\n",
        'a = """\nlong"""\n',
        'a="close"\n',
        '  a = "indented"\n',
        'a = "x" # remark\n',
        '"quoted key" = "x"\n',
        "a = 3\n",
        'a = "x"\r\n',
        "[s]\n[t]\n",
        'a = "tab\there"\n',
    ],
)
def test_other_forms_read_as_toml_too(text):
    assert catalogue(text) == _flat(tomllib.loads(text))


@pytest.mark.parametrize(
    "text", ['a = "x"\na = "y"\n', '[s]\na = "x"\n[s]\nb = "y"\n', 'a = "x', "a\n", 'a = "\\q"\n', "[s\n"]
)
def test_what_is_no_toml_is_refused(text):
    with pytest.raises(tomllib.TOMLDecodeError):
        catalogue(text)
