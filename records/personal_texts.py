"""Whether a free text may hold a name, a telephone number or a mail address.

No list of a school's names is kept anywhere, so this can only guess, and a person decides. It guesses little: what is
asked too often is answered without reading. A given name counts by itself; a word that is a given name as well, or any
word with a capital, only behind or before something that makes a name of it (Mrs., mom, a family name).
"""

import re
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Literal, TypeAlias

from .student import ROLES

Kind: TypeAlias = Literal["name", "phone", "mail"]

_MAIL = re.compile(r"[\w.+-]+@[\w-]+\.\w")
_PHONE = re.compile(
    r"(?<![\w.+/-])(?:\+?1[ .-]?)?(?:\(\d{3}\) ?|\d{3}[ .-])\d{3}[ .-]\d{4}(?![\w/-]|\.\d)"
    r"|(?<![\w+])\+\d{1,3}(?:[ .-]?\d{2,4}){3,5}(?!\w)"
)
"""Numbers as they are written in the US, or with the code of a country."""
_CALLED = re.compile(
    r"\b(?:call|phone|telephone|tel|cell|mobile|text|fax|tel[eé]fono|m[oó]vil|llamar(?: al?)?)\b[^\w\n]{0,3}"
    r"(?:\w+[^\w\n]{1,2}){0,2}(?:\d{3}[ .-]?\d{4}|\d{10})(?!\d)",
    re.IGNORECASE,
)
"""A shorter number, or one without gaps, counts only where it is said to be one; others are ranges or serials."""
_TITLE = re.compile(
    r"\b(?:Mr|Mrs|Ms|Miss|Mx|Dr|Sr|Sra|Srta)\.?\s+(?P<name>[A-ZÁÉÍÓÚÑ][a-záéíóúñ'’]+(?:-[A-Z][a-z]+)?)"
    r"|\b(?:[Cc]oach|[Nn]urse|[Aa]ide|[Tt]herapist|[Tt]eacher|[Mm]om|[Mm]other|[Dd]ad|[Ff]ather|[Gg]randma|[Gg]randpa"
    r"|[Ss]ister|[Bb]rother|[Aa]unt|[Uu]ncle|[Cc]lassmate|[Ff]riend|[Nn]amed|[Mm]adre|[Pp]adre|[Hh]ermano|[Hh]ermana"
    r"|[Mm]aestra|[Mm]aestro)\s+(?P<known>[A-ZÁÉÍÓÚÑ][a-záéíóúñ'’]{2,})"
)
_WORD = re.compile(r"[^\W\d_]+(?:['’][^\W\d_]+)?")
_PLACES = frozenset(
    {"school", "elementary", "middle", "high", "academy", "park", "hall", "gym", "street", "avenue", "st"}
)
"""Behind a name these make a place of it."""
_EQUIPMENT = frozenset(
    {
        "chair",
        "wheelchair",
        "walker",
        "syndrome",
        "scale",
        "test",
        "disease",
        "watch",
        "monitor",
        "splint",
        "position",
        "key",
        "wrench",
        "grip",
    }
)
"""Behind a name these make a thing of it."""
_MOST = 4
"""So many words with a capital are looked at between a name and what makes a place of it."""
_NO_NAME = frozenset(
    {
        *ROLES,
        *("said", "says", "the", "and", "with", "was", "were", "will", "from", "for", "not", "helped", "held", "asked"),
        *("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday", "january", "february", "march"),
        *("april", "may", "june", "july", "august", "september", "october", "november", "december", "english"),
        *("spanish", "math", "reading", "science", "music", "history", "art", "gym", "health", "room", "bay", "none"),
    }
)
"""Words with a capital behind a role that are no name: days, months, subjects, verbs."""


@dataclass(frozen=True, slots=True)
class Personal:
    """What a text may hold: its kind, and the first letter of a name (the rest is not repeated)."""

    kind: Kind
    begin: str = ""


def personal_in(text: str) -> tuple[Personal, ...]:
    """What a text may hold of a person, each kind once; empty where nothing looks so."""
    found: list[Personal] = []
    if _MAIL.search(text):
        found.append(Personal("mail"))
    if _PHONE.search(text) or _CALLED.search(text):
        found.append(Personal("phone"))
    name = next(_names(text), None)
    if name is not None:
        found.append(Personal("name", name[0]))
    return tuple(found)


def _names(text: str) -> Iterator[str]:
    """Words that look like somebody's name."""
    for match in _TITLE.finditer(text):
        name = match["name"] or match["known"]
        if match["name"] or name.casefold() not in _NO_NAME:
            yield name
    words = [match[0] for match in _WORD.finditer(text)]
    lists, lower = _lists(), text == text.lower()  # where no letter is a capital, small ones say nothing
    for place, word in enumerate(words):
        if _makes_no_person(word, words[place + 1 :]):
            continue
        plain, behind = _bare(word), words[place + 1] if place + 1 < len(words) else ""
        before_family = _capital(behind) and _bare(behind) in lists["family"]
        given = plain in lists["given"] and (lower or _capital(word))
        if given or (_capital(word) and before_family and _can_be_given(plain, lists)):
            yield word


def _can_be_given(plain: str, lists: Mapping[str, frozenset[str]]) -> bool:
    """Whether a word with a capital before a family name can be a given name."""
    if plain in lists["word_too"]:
        return True
    return len(plain) > _LEAST and plain not in lists["family"] and plain not in _COMMON | _NO_NAME


_LEAST = 2
"""Words of so many letters are no given name that no list knows."""
_COMMON = frozenset(
    {
        "north",
        "south",
        "east",
        "west",
        "old",
        "new",
        "big",
        "room",
        "building",
        "lake",
        "mount",
        "fort",
        "lower",
        "upper",
    }
)
"""Words before a family name that make a place of it: North Hall, Lake Washington."""


def _makes_no_person(word: str, behind: list[str]) -> bool:
    """Whether the words behind make a place or a thing of a name: Martin Luther King School, Allen key."""
    if re.search(r"['’]s$", word):
        return False
    row = next((n for n, each in enumerate(behind[:_MOST]) if not _capital(each)), len(behind[:_MOST]))
    return any(each.casefold() in _PLACES | _EQUIPMENT for each in behind[: row + 1])


def _capital(word: str) -> bool:
    """Whether a word begins with a capital and is no abbreviation."""
    return word[:1].isupper() and not word.isupper()


def _bare(word: str) -> str:
    """A word in small letters, without the marks of Spanish and the 's of a possessor."""
    plain = re.sub(r"['’]s$", "", word.casefold())
    return plain.translate(str.maketrans("áéíóúñ", "aeioun"))


@cache
def _lists() -> Mapping[str, frozenset[str]]:
    text = (files(__package__ or "ownmark.records") / "names.toml").read_text(encoding="utf-8")
    return {name: frozenset(words.split()) for name, words in tomllib.loads(text).items()}
