"""Every text that a reader sees, by key and language; dates and numbers as the language writes them.

Texts stand in ``words/en.toml`` and ``words/es.toml``; those of pictures in ``words/picture-en.toml`` and so on.
``words/said.toml`` holds the sentences that metrics and records say, as patterns: a sentence that fits one is said
again in the reader's language, with its numbers. One that fits none stays as it is in English and is None in any
other.
"""

import re
import tomllib
from collections.abc import Mapping
from datetime import date
from decimal import ROUND_HALF_UP, Decimal
from functools import lru_cache
from pathlib import Path
from typing import Any

LANGUAGES = ("en", "es")
FOLDER = Path(__file__).parent / "words"
_OPTION = re.compile(r"\s*\(--[^()]*\)")
_NUMBER = re.compile(r"-?\d+(?:\.\d+)?")
_DAY = re.compile(r"(?<![\w./-])\d{4}-\d\d-\d\d(?![\w/-]|\.\w)")


class Words:
    """The texts of one language."""

    def __init__(self, language: str) -> None:
        if language not in LANGUAGES:
            raise ValueError(f"no language {language!r}; there are {', '.join(LANGUAGES)}")
        self.language = language
        self._texts = _texts(language)

    def get(self, key: str, /, **values: object) -> str:
        """The text of a key, its ``{names}`` filled in.

        Raises
        ------
        KeyError
            If the key is unknown or a value is missing: a fault of the caller, not of the reader.
        """
        return self._texts[key].format(**values) if values else self._texts[key]

    def known(self, key: str) -> bool:
        """Whether there is such a key."""
        return key in self._texts

    def number(self, value: float, digits: int = 0) -> str:
        """A number rounded half up from its shortest decimal form, with the language's decimal sign."""
        text = rounded(value, digits)
        return self.decimal(text).replace("-", "−")

    def decimal(self, text: str) -> str:
        """The numbers in a text with the language's decimal sign."""
        sign = self._texts["form.decimal"]
        return text if sign == "." else re.sub(r"(?<=\d)\.(?=\d)", sign, text)

    def date(self, day: date) -> str:
        """A day in words."""
        return self.get("form.date", day=day.day, month=self.get(f"month.{day.month}"), year=day.year)

    def date_of(self, text: str) -> str:
        """A day given as YYYY-MM-DD; other text stays."""
        try:
            return self.date(date.fromisoformat(text))
        except ValueError:
            return text

    def listed(self, parts: "list[str] | tuple[str, ...]") -> str:
        """Parts with commas, and a word before the last."""
        if len(parts) < 2:
            return "".join(parts)
        joint = self.get("form.and")
        if self.language == "es" and re.match(r"h?[ií](?!e)", parts[-1].casefold()):
            joint = "e"  # for its sound: padres e hijos, but nieve y hielo
        return f"{', '.join(parts[:-1])} {joint} {parts[-1]}"

    def said(self, text: str) -> str | None:
        """A sentence of metrics or records in this language; None if no pattern fits (in English: the sentence).

        A note of several parts, with semicolons between them, is known if every part is.
        """
        plain = " ".join(text.split())
        found = self._sentence(plain)
        if found is None and "; " in plain:
            parts = [self._sentence(part) for part in plain.split("; ")]
            found = None if None in parts else "; ".join(part for part in parts if part)
        if found is None and self.language == "en":
            return _DAY.sub(lambda day: self.date_of(day[0]), _OPTION.sub("", plain))
        return found

    def typed(self, text: str) -> str:
        """What a person wrote: a word that is known in this language, else as it was written, marked as a quotation."""
        plain = " ".join(text.split())
        key = _by_text().get(plain.casefold())
        key = key or f"value.{plain.casefold().replace(' ', '_')}"
        return self._texts[key] if key in self._texts else self.get("form.quoted", text=text.strip())

    def _sentence(self, plain: str) -> str | None:
        """A sentence that one of the patterns fits."""
        for key, pattern in _patterns():
            found = pattern.fullmatch(plain)
            if found is None or f"said.{key}" not in self._texts:
                continue
            text = self._texts[f"said.{key}"]
            values = {name: self._part(value) for name, value in found.groupdict().items() if f"{{{name}}}" in text}
            if all(value is not None for value in values.values()):
                return text.format(**values)
        return None

    def _part(self, value: str) -> str | None:
        """A part of a sentence: a number, a date, a word that is known, or a sentence that is known itself."""
        if _NUMBER.fullmatch(value):
            return self.decimal(value)
        if re.fullmatch(r"\d{4}-\d\d-\d\d", value):
            return self.date_of(value)
        key = _by_text().get(value.casefold()) or f"figure.{value.replace(' ', '_')}"
        return self._texts[key] if key in self._texts else self.said(value)


def rounded(value: float, digits: int) -> str:
    """Round half up what the number's shortest decimal form says; never minus zero."""
    step = Decimal(1).scaleb(-digits)
    found = Decimal(repr(float(value))).quantize(step, rounding=ROUND_HALF_UP)
    return str(abs(found) if found == 0 else found)


@lru_cache
def _texts(language: str) -> Mapping[str, str]:
    """Every text of a language by its full key: of pages, and of pictures and exports in files of their own."""
    found: dict[str, str] = {}
    for path in (FOLDER / f"{language}.toml", *sorted(FOLDER.glob(f"*-{language}.toml"))):
        found |= _flat(tomllib.loads(path.read_text(encoding="utf-8")))
    return found


def _flat(table: Mapping[str, Any], before: str = "") -> dict[str, str]:
    found: dict[str, str] = {}
    for name, value in table.items():
        if isinstance(value, Mapping):
            found |= _flat(value, f"{before}{name}.")
        else:
            found[f"{before}{name}"] = str(value)
    return found


@lru_cache
def _by_text() -> Mapping[str, str]:
    """The key of each English word that people write or records say, by the word itself."""
    sections = ("value.", "condition.", "title.", "figure.")
    return {text.casefold(): key for key, text in _texts("en").items() if key.startswith(sections)}


@lru_cache
def _patterns() -> tuple[tuple[str, re.Pattern[str]], ...]:
    """Key and pattern of each sentence; ``{n}``-like names that begin with n_ hold a number, others any text."""
    path = FOLDER / "said.toml"
    return tuple((key, pattern_of(text)) for key, text in tomllib.loads(path.read_text(encoding="utf-8")).items())


def pattern_of(text: str) -> re.Pattern[str]:
    """The pattern that a sentence with ``{names}`` stands for."""
    pieces = re.split(r"\{([a-z_0-9]+)\}", text)
    parts = [re.escape(piece) if place % 2 == 0 else _group(piece) for place, piece in enumerate(pieces)]
    return re.compile("".join(parts))


def _group(name: str) -> str:
    return rf"(?P<{name}>-?\d+(?:\.\d+)?)" if name.startswith("n_") else rf"(?P<{name}>.+?)"
