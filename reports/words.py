"""The words of pages: those of the ground floor, and sentences of sheets of the schema before, by patterns.

``words/said.toml`` holds the sentences that such sheets hold, as patterns: a sentence that fits one is told in the
reader's language, with its numbers. One that fits none stays as it is in English and is None in any other.
"""

import re
import tomllib
from collections.abc import Mapping
from datetime import date, datetime
from functools import lru_cache

from ..words.message import ENGLISH, Message, Quoted
from ..words.numbers import rounded
from ..words.render import FOLDER, LANGUAGES, by_text, texts
from ..words.render import Words as Plain

__all__ = ["FOLDER", "LANGUAGES", "Words", "pattern_of", "rounded"]

_OPTION = re.compile(r"\s*\(--[^()]*\)")
_NUMBER = re.compile(r"-?\d+(?:\.\d+)?")
_AMERICAN = {"colour": "color", "behaviour": "behavior", "metre": "meter", "metres": "meters", "tyre": "tire"}
_BRITISH = re.compile(rf"\b(?:{'|'.join(_AMERICAN)})\b")
"""Spellings of sheets and protocols that older versions kept."""
_CAUTIONS = ("caution.", "reason.", "planned.")
_DAY = re.compile(r"(?<![\w./-])\d{4}-\d\d-\d\d(?![\w/-]|\.\w)")


class Words(Plain):
    """The texts of one language, with the sentences that are recognised by patterns."""

    def decimal(self, text: str) -> str:
        """The numbers in a text with the language's decimal sign."""
        sign = self.get("form.decimal")
        return text if sign == "." else re.sub(r"(?<=\d)\.(?=\d)", sign, text)

    def date_of(self, text: str, *, short: bool = False) -> str:
        """A day given as YYYY-MM-DD; other text stays."""
        try:
            return self.date(date.fromisoformat(text), short=short)
        except ValueError:
            return text

    def moment(self, start: datetime, *, day_only: bool = False) -> str:
        """A recording's start, or its day. UTC is said: it is not the time on the wall of a school."""
        text = self.date(start.date())
        text = text if day_only else self.get("form.moment", date=text, time=f"{start:%H:%M:%S}")
        offset = start.utcoffset()
        if offset is None:
            return text
        if not offset:
            return self.get("form.in_zone" if day_only else "form.in_utc", text=text, zone="UTC")
        return (
            text
            if day_only
            else self.get("form.in_zone", text=text, zone=f"UTC{start.isoformat()[-6:]}".replace("-", "−"))
        )

    def typed(self, text: str) -> str:
        """As on the ground floor; the vocabulary is found by older words for the same too."""
        plain = _american(" ".join(text.split()))
        if plain in _cautions():
            return self._texts[_cautions()[plain]]
        return super().typed(plain if plain.casefold() in by_text() else text)

    def message(self, message: Message) -> str:
        """The message's text; English that has no code yet is said again, or else quoted."""
        if message.code == ENGLISH and self.language != "en":
            text = message["text"]
            sentence = text.text if isinstance(text, Quoted) else ""
            return self.said(sentence) or self.get("form.quoted", text=sentence)
        return super().message(message)

    def told(self, message: Message) -> str | None:
        """A message of a sheet in this language; None for an English sentence that no pattern fits.

        Raises
        ------
        MissingWords
            If a code, a branch or a value is missing.
        """
        if message.code != ENGLISH:
            return self.message(message)
        text = message["text"]
        return self.said(text.text if isinstance(text, Quoted) else self.value(text))

    def reason(self, message: Message) -> str | None:
        """As on the ground floor; the words of an older sheet's sentence say themselves that it is not given."""
        if message.code != ENGLISH:
            return super().reason(message)
        older = self.told(message)
        return older and older.removeprefix(f"{self.get('form.not_given')} ")

    def said(self, text: str) -> str | None:
        """A sentence of an older sheet in this language; None if no pattern fits (in English: the sentence).

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

    def _sentence(self, plain: str) -> str | None:
        """A sentence that one of the patterns fits."""
        plain = _american(plain)
        if plain in _cautions():
            return self._texts[_cautions()[plain]]
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
        key = by_text().get(value.casefold()) or f"figure.{value.replace(' ', '_')}"
        return self._texts[key] if key in self._texts else self.said(value)


@lru_cache
def _cautions() -> Mapping[str, str]:
    """The code of each caution, planned ones and reasons included, by its English text: of older versions, and of now.

    So a caution that an older sheet or a copied protocol holds stands once on a page, in the words of now.
    """
    older = tomllib.loads((FOLDER / "said.toml").read_text(encoding="utf-8"))
    found = {text: key.replace("_", ".", 1) for key, text in older.items()}
    found |= {text: code for code, text in texts("en").items()}
    return {text: code for text, code in found.items() if code.startswith(_CAUTIONS) and "{" not in text}


@lru_cache
def _patterns() -> tuple[tuple[str, re.Pattern[str]], ...]:
    """Key and pattern of each sentence; ``{n}``-like names that begin with n_ hold a number, others any text."""
    path = FOLDER / "said.toml"
    return tuple((key, pattern_of(text)) for key, text in tomllib.loads(path.read_text(encoding="utf-8")).items())


def _american(text: str) -> str:
    """The text in the spelling of the catalogues."""
    return _BRITISH.sub(lambda found: _AMERICAN[found[0]], text)


def pattern_of(text: str) -> re.Pattern[str]:
    """The pattern that a sentence with ``{names}`` stands for."""
    pieces = re.split(r"\{([a-z_0-9]+)\}", text)
    parts = [re.escape(piece) if place % 2 == 0 else _group(piece) for place, piece in enumerate(pieces)]
    return re.compile("".join(parts))


def _group(name: str) -> str:
    return rf"(?P<{name}>-?\d+(?:\.\d+)?)" if name.startswith("n_") else rf"(?P<{name}>.+?)"
