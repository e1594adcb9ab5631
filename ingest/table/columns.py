"""What a column of a table holds, and in which unit, from its header alone."""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from ..recording import ACCELERATION, ANGULAR_RATE, HEART_RATE, RR_INTERVAL, WAVEFORM
from .header_words import (
    ACCELERATION_WORDS,
    ANGULAR_PAIRS,
    ANGULAR_WORDS,
    DATE,
    FILLERS,
    GLUED_AXIS,
    NOT_THE_TIME,
    NOT_THE_VALUE,
    PHRASES,
    TIME,
)
from .units import ACCELERATION as ACCELERATION_UNIT
from .units import ANGULAR_RATE as ANGULAR_UNIT
from .units import RATE, Unit, plain, unit_of
from .units import TIME as TIME_UNIT

AXES = ("x", "y", "z")
BARE = "axis"
PARTS = (
    TIME,
    HEART_RATE,
    RR_INTERVAL,
    *(f"{kind}_{axis}" for kind in (ACCELERATION, ANGULAR_RATE) for axis in AXES),
    WAVEFORM,
)
"""What ``Hints.columns`` may name."""

UNIT_OF_PART = {
    TIME: TIME_UNIT,
    HEART_RATE: RATE,
    RR_INTERVAL: TIME_UNIT,
    ACCELERATION: ACCELERATION_UNIT,
    ANGULAR_RATE: ANGULAR_UNIT,
    DATE: "",
}
LONGEST = 80
_SHOWN = 40
_BRACKET = re.compile(r"[(\[{]\s*([^()\[\]{}]{1,30}?)\s*[)\]}]")
_ZONE = re.compile(r"(?:utc|gmt)?\s*[-+]\d{1,2}(?::?\d\d)?", re.IGNORECASE)
_CAMEL = re.compile(r"(?<=[a-z0-9])(?=[A-Z])|(?<=[A-Z])(?=[A-Z][a-z])")
_GLUED = tuple(re.compile(pattern) for pattern in GLUED_AXIS)


@dataclass(frozen=True, slots=True)
class Column:
    """One recognised column; ``number`` counts from 0, ``plain`` means that its header says nothing else."""

    number: int
    header: str
    part: str
    unit: Unit | None = None
    plain: bool = True
    words: frozenset[str] = frozenset()
    hinted: bool = False


def recognise(header: str, number: int = 0) -> Column | None:
    """Tell what a column holds from its header alone; None where the header does not say."""
    name, unit = split_unit(header[:LONGEST])
    whole = unit_of(header[:LONGEST])
    if whole is not None and (whole.measures == RATE or (whole.measures == TIME_UNIT and whole.symbol != "h")):
        part = TIME if whole.measures == TIME_UNIT else HEART_RATE
        return Column(number, header, part, whole)
    tokens = tokens_of(name)
    found = _axis_part(tokens, unit) or _phrase_part(tokens)
    if found is None:
        return None
    part, extra = found
    wanted = UNIT_OF_PART.get(stream_of(part))
    if wanted is not None and unit is not None and unit.measures != wanted:
        return None
    if part == TIME and unit is None:  # "seconds elapsed", "ms since start"
        unit = next((word for token in tokens if (word := unit_of(token)) and word.measures == TIME_UNIT), None)
    return Column(number, header, part, unit, not extra, frozenset(tokens))


def stream_of(part: str) -> str:
    """The stream to which a part belongs: ``acceleration_x`` to ``acceleration``."""
    return part[:-2] if part[-2:] in ("_x", "_y", "_z") else part


def listed(headers: Iterable[str]) -> str:
    """Headers for a sentence; never a cell."""
    names = [quoted(header) for header in headers]
    return ", ".join(names[:12]) + (f" and {len(names) - 12} more" if len(names) > 12 else "")


def quoted(header: str) -> str:
    """A header for a sentence, cut and without signs that cannot be printed."""
    name = "".join(sign if sign.isprintable() else " " for sign in header.strip()[:_SHOWN])
    return f"'{name}'" if name.strip() else "a column without a name"


def example(column: Column) -> str:
    """How to name a column on the command line: by its header, or by its number where it has none."""
    name = column.header.strip()
    return name if name and name.isprintable() and len(name) <= _SHOWN and " " not in name else str(column.number + 1)


def words_of(part: str) -> str:
    """A part's name for a sentence."""
    return part.replace("_", " ")


def split_unit(header: str) -> tuple[str, Unit | None]:
    """Part a header into name and unit: ``HR [1/min]``, ``acc_x_mg``, ``Zeit in s``, ``acc_m_s2_x``."""
    name = header.strip().lstrip("#/ ").strip("\"' ")
    for found in _BRACKET.finditer(name):
        unit = unit_of(found[1])
        if unit is not None or _ZONE.fullmatch(found[1]):
            name = name[: found.start()] + " " + name[found.end() :]
            return name.strip(), unit
    behind = re.fullmatch(r"([^,:;/|]+?)(?:\s*[,:;/|]\s*|\s+in\s+|\s+en\s+)(\S.*)", name)
    if behind and (unit := unit_of(behind[2])):
        return behind[1], unit
    for separators in (r"[_\s]+", r"[-_.\s]+"):
        parted = _unit_word(re.split(separators, _CAMEL.sub(" ", name)))
        if parted:
            return parted
    return name, None


def _unit_word(words: list[str]) -> tuple[str, Unit] | None:
    """Find a unit in the last words, or in the last ones before the axis; the longest first."""
    axis = words[-1:] if words[-1].lower() in AXES else []
    for end in (len(words), len(words) - len(axis)):
        for size in (3, 2, 1):
            begin = end - size
            if begin < 1 and not (begin == 0 and axis and end < len(words)):
                continue
            unit = unit_of(" ".join(words[begin:end]))
            if unit is not None:
                return " ".join(words[:begin] + words[end:]), unit
    return None


def tokens_of(name: str) -> list[str]:
    """Words of a name in small letters, with sensor and axis parted."""
    tokens: list[str] = []
    for token in re.findall(r"[a-z]+|\d+|%", plain(_CAMEL.sub(" ", name))):
        glued = next((match for pattern in _GLUED if (match := pattern.fullmatch(token))), None)
        tokens += [part if part != "g" else "gyr" for part in glued.groups()] if glued else [token]
    return tokens


def _axis_part(tokens: list[str], unit: Unit | None) -> tuple[str, set[str]] | None:
    """A sensor with an axis: the part, and the words beyond what it needs."""
    axes = [token for token in tokens if token in AXES]
    if len(axes) != 1:
        return None
    words = set(tokens) - set(AXES) - FILLERS
    pairs = {word for pair in ANGULAR_PAIRS if _stands_in(pair, tokens) for word in pair}
    angular = (words & ANGULAR_WORDS) | pairs
    linear = words & ACCELERATION_WORDS
    if bool(angular) != bool(linear):
        kind = ANGULAR_RATE if angular else ACCELERATION
    elif words or angular:
        return None
    else:
        measures = unit.measures if unit else ""
        kind = {ACCELERATION_UNIT: ACCELERATION, ANGULAR_UNIT: ANGULAR_RATE, "": BARE}.get(measures, "")
    if not kind or words & NOT_THE_VALUE:
        return None
    return f"{kind}_{axes[0]}", words - angular - linear


def _phrase_part(tokens: list[str]) -> tuple[str, set[str]] | None:
    """The part whose phrase stands in the header, the longest phrase first, and the other words."""
    spans = {tuple(tokens[at:end]) for at in range(len(tokens)) for end in range(at + 1, len(tokens) + 1)}
    matches = [(part, phrase) for part, phrases in PHRASES.items() for phrase in phrases if phrase in spans]
    if not matches:
        return None
    longest = max(len(phrase) for _, phrase in matches)
    part, phrase = next(match for match in matches if len(match[1]) == longest)
    parts = {match[0] for match in matches}
    extra = set(tokens) - set(phrase) - FILLERS
    if TIME in parts and part in (HEART_RATE, WAVEFORM) and len(parts - {DATE}) > 1:
        part = TIME  # "HR timestamp" is a time
    shut = NOT_THE_TIME if part in (TIME, DATE) else NOT_THE_VALUE
    return None if extra & shut else (part, extra)


def _stands_in(phrase: Sequence[str], tokens: Sequence[str]) -> bool:
    """Tell whether the words stand in the tokens, side by side."""
    size = len(phrase)
    return any(tuple(tokens[at : at + size]) == tuple(phrase) for at in range(len(tokens) - size + 1))
