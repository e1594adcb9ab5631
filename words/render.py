"""Messages and labels in a language. A code, a value or a form that is missing raises and never prints.

A text names its values in braces, with how each is written:

    {share:0}         a number with so many decimals, half up, the language's decimal sign
    {step:g}          a number in its shortest form; {step:g3} with three digits at most
    {offset:plus2}    a number with so many decimals and always with its sign
    {share:below-needed}  a number that stays below the value "needed" as it is shown; below-100, below that number
    {count}           a whole number
    {rate:beats0}     a rate with its unit: /min for staff, "beats a minute" for a family
    {at:clock}        seconds as M:SS, or HH:MM:SS by the clock where the message says what its time 0 was
                      (``message.CLOCK_AT_ZERO``); {length:length} as M:SS, but never 0:00 for more than nothing
    {length:duration} 48 s, or 5:52 min (352 s)
    {name:condition}  a key of the vocabulary, from the section [condition]; a tuple becomes a list with "and"
    {what:row}        a tuple with commas only; {what:series} with semicolons; {names:field-row} with a form besides
    {not-given}       the words that a reason begins with, left out in a list of reasons
    {--rest}          "(--rest)" on the terminal, or the whole command where it is another one's option; nothing on
                      a page, and no space before it
    {on} {why} {file} a date, a message, a quotation: by their type
    {on:short}        a date for a table: May 12, 2026, or Oct 20, 2026
    {file:typed}      a quotation: a word that the vocabulary knows in the language, else in quotation marks
    {what:capital}    any of these with a capital at its start

A text of several branches is a table: ``one`` and ``other`` by the value ``count`` or the one that ``by`` names, or any
names by that value. A key that ends in ``_family`` or ``_terminal`` is the text for these readers.
"""

import re
from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from functools import lru_cache
from pathlib import Path
from types import MappingProxyType

from . import pseudo
from .catalogue import catalogue
from .message import CLOCK_AT_ZERO, ENGLISH, Message, Quoted, Value
from .numbers import below, clock, on_the_clock, rounded, shortest

FOLDER = Path(__file__).parent
LANGUAGES = ("en", "es")
LONG_S = 90.0
"""Times above this are shown in minutes, with the seconds beside [s]."""
_LEAST_S = 0.5
"""Less is no second when it is rounded [s]."""
_HOLE = re.compile(r"\{([a-z_0-9]+)(?::([a-z_0-9-]+))?\}")
_OPTION = re.compile(r" ?\{(--[a-z-]+(?: [^{}]+)?)\}")
_NOT_GIVEN = "{not-given} "
_BEATS = re.compile(r"beats(\d)")
_ROWS = {"row": ", ", "series": "; ", "sentences": " "}
"""How the parts of a tuple are joined where there is no word before the last."""
VARIANTS = ("_family", "_terminal")
MADE_ONCE = 8192
"""Texts of messages that are kept: most of a district's messages repeat from trial to trial."""


class MissingWords(LookupError):
    """A code, a branch, a value or a key that a catalogue does not have: a fault of ownmark, never of the reader."""


class Words:
    """The texts of one language, for staff or for a family, on the terminal or on a page.

    commands : the whole command by the name of an option, for a terminal where that option is another command's
    """

    def __init__(
        self,
        language: str = "en",
        *,
        family: bool = False,
        terminal: bool = False,
        commands: Mapping[str, str] = MappingProxyType({}),
    ) -> None:
        self.language = language
        self.family = family
        self.terminal = terminal
        self.commands = commands
        self._texts = texts(language)

    def known(self, key: str) -> bool:
        """Whether there is such a key."""
        return key in self._texts

    def message(self, message: Message) -> str:
        """The message's text.

        Raises
        ------
        MissingWords
            If its code, a branch or a value is missing.
        """
        if message.code == ENGLISH and self.language == "en":
            return self.value(message["text"])
        return self._filled(message.code, dict(message.values))

    def get(self, key: str, /, **values: Value) -> str:
        """The text of a key with its values; as ``message``, and a ``str`` without a form is text already written."""
        written = {name: Quoted(each) if isinstance(each, str) else each for name, each in values.items()}
        return self._filled(key, written)

    def number(self, value: float, digits: int = 0) -> str:
        """A number rounded half up, with the language's signs."""
        return self._signs(rounded(value, digits))

    def shortest(self, value: float) -> str:
        """A number in its shortest form, with the language's signs."""
        return self._signs(shortest(value))

    def beats(self, value: float, digits: int = 0) -> str:
        """A rate with its unit, for whom the text is."""
        return f"{self.number(value, digits)} {self._texts['unit.beats_family' if self.family else 'unit.beats']}"

    def date(self, day: date, *, short: bool = False) -> str:
        """A day as people here write it: October 20, 2026; short for tables: Oct 20, 2026."""
        form, months = ("form.date_short", "month_short") if short else ("form.date", "month")
        return self._texts[form].format(day=day.day, month=self._texts[f"{months}.{day.month}"], year=day.year)

    def duration(self, seconds: float) -> str:
        """A length of time: 48 s, or 5:52 min (352 s)."""
        shown = self.number(seconds)
        if abs(seconds) <= LONG_S:
            return f"{shown} {self._texts['unit.seconds']}"
        return self._texts["unit.minutes"].format(clock=clock(seconds), seconds=shown)

    def length(self, seconds: float) -> str:
        """A length of time as M:SS; one that would be shown as nothing and is more is under a second."""
        return self._texts["unit.under_second"] if 0 < seconds < _LEAST_S else clock(seconds)

    def listed(self, parts: Sequence[str]) -> str:
        """Parts with commas, and a word before the last."""
        if len(parts) < 2:
            return "".join(parts)
        joint = self._texts["form.and"]
        if self.language == "es" and re.match(r"h?[ií](?!e)", parts[-1].casefold()):
            joint = "e"  # for its sound: padres e hijos, but nieve y hielo
        return f"{', '.join(parts[:-1])} {joint} {parts[-1]}"

    def _signs(self, text: str) -> str:
        return text.replace(".", self._texts["form.decimal"]).replace("-", "−")

    def typed(self, text: str) -> str:
        """What a person wrote: a word that is known in this language, else as it was written, marked as a quotation."""
        plain = " ".join(text.split())
        key = by_text().get(plain.casefold())
        key = key or f"value.{plain.casefold().replace(' ', '_')}"
        return self._texts[key] if key in self._texts else self.get("form.quoted", text=text.strip())

    def _filled(self, key: str, values: Mapping[str, Value], *, listed: bool = False) -> str:
        text = self._for_reader(key)
        if text is None:
            text = self._for_reader(f"{key}.{self._branch(key, values)}")
        if text is None:
            raise MissingWords(f"{self.language}: no text for {key!r}")
        if _NOT_GIVEN in text:
            begin = "" if listed else f"{self._texts['form.not_given']} "
            text = text.replace(_NOT_GIVEN, begin)
        text = _OPTION.sub(lambda option: self._option(option[1]) if self.terminal else "", text)
        return _HOLE.sub(lambda hole: self._value(key, hole[1], hole[2] or "", values), text)

    def _option(self, text: str) -> str:
        """An option in parentheses, as its command is typed."""
        name, _, more = text.partition(" ")
        command = self.commands.get(name)
        if command is None:
            return f" ({text})"
        return f" (`{command}`: {more})" if more else f" (`{command}`)"

    def _for_reader(self, key: str) -> str | None:
        """The text of a key for whom it is, if there is one."""
        found = self._texts.get(key + VARIANTS[0]) if self.family else None
        found = self._texts.get(key + VARIANTS[1]) if found is None and self.terminal else found
        return self._texts.get(key) if found is None else found

    def _branch(self, key: str, values: Mapping[str, Value]) -> str:
        """Which branch of a text of several fits the values."""
        by = self._texts.get(f"{key}.by", "count")
        found = values.get(by)
        if f"{key}.other" in self._texts:
            return "one" if found == 1 else "other"
        return str(found)

    def _value(self, key: str, name: str, form: str, values: Mapping[str, Value]) -> str:
        if name not in values:
            raise MissingWords(f"{self.language}: {key!r} has no value {name!r}")
        if form.startswith("below-"):
            limit = form.removeprefix("below-")
            return self._below(values[name], int(limit) if limit.isdigit() else values.get(limit))
        found, zero = values[name], values.get(CLOCK_AT_ZERO)
        if form == "clock" and isinstance(found, float | int) and isinstance(zero, float | int):
            return on_the_clock(zero + found)
        return self.value(found, form)

    def _below(self, value: Value, limit: Value | None) -> str:
        if not isinstance(value, float | int) or not isinstance(limit, float | int):
            raise MissingWords(f"{self.language}: what stays below what is not a number")
        return self._signs(below(value, limit))

    def reason(self, message: Message) -> str | None:
        """A reason for a list of what is not given: without the words that say so.

        Raises
        ------
        MissingWords
            As ``message``.
        """
        return self._filled(message.code, dict(message.values), listed=True)

    def value(self, value: Value, form: str = "") -> str:
        """One value, written in a form of the table above.

        Raises
        ------
        MissingWords
            If the form does not fit the value.
        """
        if form == "capital":
            text = self.value(value)
            return text[:1].upper() + text[1:]
        if isinstance(value, tuple):
            return self._together(value, form)
        if isinstance(value, Message):
            return self.message(value)
        if isinstance(value, Quoted):
            return self._quoted(value.text, form)
        if isinstance(value, date):
            return self.date(value, short=form == "short")
        if isinstance(value, str):
            return self._key(value, form)
        return self._amount(value, form)

    def _together(self, values: tuple[Value, ...], form: str) -> str:
        first, _, last = form.rpartition("-")
        if last in _ROWS:
            return _ROWS[last].join(self.value(each, first) for each in values)
        return self.listed([self.value(each, form) for each in values])

    def _quoted(self, text: str, form: str) -> str:
        """What a person wrote: as it is, as a word of the section that the form names, or as ``typed``."""
        if not form or (form == "typed" and (self.language == "en" or not any(map(str.isalpha, text)))):
            return text
        return self._texts.get(f"{form}.{text.casefold().replace(' ', '_')}") or self.typed(text)

    def _key(self, value: str, form: str) -> str:
        found = self._texts.get(f"{form}.{value}") if form else None
        if found is None:
            raise MissingWords(f"{self.language}: no word for {form or '?'}.{value}")
        return found

    def _amount(self, value: float, form: str) -> str:
        if form.isdigit():
            return self.number(value, int(form))
        if form == "g" or (not form and isinstance(value, int)):
            return self.shortest(value)
        if re.fullmatch(r"g\d", form):
            return self._signs(f"{value:.{form[1:]}g}")
        if re.fullmatch(r"plus\d", form):
            shown = self.number(value, int(form[4:]))
            return shown if shown.startswith("−") else f"+{shown}"
        if form == "clock":
            return clock(value)
        if form == "length":
            return self.length(value)
        if form == "duration":
            return self.duration(value)
        beats = _BEATS.fullmatch(form)
        if beats:
            return self.beats(value, int(beats[1]))
        raise MissingWords(f"{self.language}: a number is not written as {form!r}")


@lru_cache(1)
def _of_terminal() -> Words:
    return Words("en", terminal=True)


@lru_cache(MADE_ONCE)
def english(message: Message) -> str:
    """A message in English, with the options of the terminal that it names.

    Raises
    ------
    MissingWords
        If English has no such code or value.
    """
    return _of_terminal().message(message)


def english_date(day: date, *, short: bool = False) -> str:
    """A day in English, as pages write it."""
    return _of_terminal().date(day, short=short)


@lru_cache
def texts(language: str) -> Mapping[str, str]:
    """Every text of a language by its full key.

    Raises
    ------
    MissingWords
        If there is no catalogue of that language.
    """
    if language == pseudo.LANGUAGE:
        return pseudo.pseudo_texts(texts("en"))
    found: dict[str, str] = {}
    for path in sorted((FOLDER / language).glob("*.toml")):
        new = catalogue(path.read_text(encoding="utf-8"))
        twice = found.keys() & new.keys()
        if twice:
            raise MissingWords(f"{path.name} repeats {min(twice)!r}")
        found |= new
    if not found:
        raise MissingWords(f"no language {language!r}; there are {', '.join(LANGUAGES)}")
    return found


@lru_cache
def by_text() -> Mapping[str, str]:
    """The key of each English word that people write or records say, by the word itself."""
    sections = ("value.", "condition.", "title.", "figure.", "planned.", "formula.")
    return {text.casefold(): key for key, text in texts("en").items() if key.startswith(sections)}


@lru_cache(MADE_ONCE)
def english_row(messages: tuple[Message, ...]) -> str | None:
    """Messages in English in a row, as ``joined``; None without any."""
    return joined(map(english, messages)) or None


def joined(parts: Iterable[str]) -> str:
    """Remarks in a row: a semicolon between them, nothing but a space behind a whole sentence."""
    text = ""
    for part in parts:
        text += f"{' ' if text.endswith('.') else '; ' if text else ''}{part}"
    return text


def holes(text: str) -> frozenset[str]:
    """The names of the values that a text needs."""
    found = list(_HOLE.finditer(text))
    limits = {hole[2].removeprefix("below-") for hole in found if (hole[2] or "").startswith("below-")}
    return frozenset(hole[1] for hole in found) | {each for each in limits if not each.isdigit()}
