"""Text that can be shown: without control characters and without what turns the direction of text.

A name, a note or a file can hold an escape sequence that rewrites a terminal's screen, or an override that makes a
sentence read backward. Each such character becomes U+FFFD, so that it is seen that something was there.
"""

import re
from functools import lru_cache

_BIDI = (*range(0x202A, 0x202F), *range(0x2066, 0x206A))
"""Embeddings, overrides, isolates and their ends (Unicode Standard Annex 9, section 2)."""
_CONTROLS = (*range(0x20), *range(0x7F, 0xA0))
_SURROGATES = range(0xD800, 0xE000)
"""Bytes of an argument or a file name that were no UTF-8 arrive as these."""
_LINE_ENDS = (0x2028, 0x2029)
_ALL = (*_CONTROLS, *_SURROGATES, *_LINE_ENDS, *_BIDI)
_ONE_LINE = dict.fromkeys(_ALL, "\N{REPLACEMENT CHARACTER}")
_LINES = {sign: shown for sign, shown in _ONE_LINE.items() if sign not in (0x09, 0x0A)}
_JSON = {sign: f"\\u{sign:04x}" for sign in _ALL if sign != 0x0A}


def printable(text: str) -> str:
    """The text in one line: line ends and tabs are replaced like every other control character."""
    return text.translate(_ONE_LINE)


def printable_lines(text: str) -> str:
    """The text with its lines and tabs kept."""
    return text.translate(_LINES)


def printable_json(text: str) -> str:
    """JSON text with every such character written as its escape, so that nothing of a value is lost."""
    return text.translate(_JSON)


_FORMULA = re.compile(r"'*(?:\s*[=+\-@＝＋－＠]| *[\t\r\n])")
"""What spreadsheets take for a formula's begin, wide forms too; common practice as security guides list it. With
apostrophes before it as well, so that taking one off again is never wrong."""


@lru_cache(4096)
def cell_text(text: str) -> str:
    """The text as a cell of a CSV file: printable, its lines kept, and never a formula."""
    return neutral("\r\n".join(printable_lines(line) for line in text.split("\r\n")))


def neutral(text: str) -> str:
    """The text, with an apostrophe before it if a spreadsheet would take it for a formula."""
    return f"'{text}" if _FORMULA.match(text) else text


def without_apostrophe(field: str) -> str:
    """The text that ``neutral`` was given."""
    return field[1:] if field.startswith("'") and _FORMULA.match(field) else field
