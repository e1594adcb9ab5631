"""Text in the letters of a terminal that does not have all: a sign that it lacks becomes one that reads alike.

An arrow, a dash or a letter with an accent must neither stop a command nor become a question mark where plain letters
say the same. JSON keeps its escapes, so that no value changes.
"""

import unicodedata
from collections.abc import Callable

_ALIKE = {
    "→": "->", "←": "<-", "↔": "<->", "–": "-", "—": "-", "−": "-", "‑": "-", "…": "...", "×": "x", "·": ".", "•": "*",
    "“": '"', "”": '"', "„": '"', "«": '"', "»": '"', "‘": "'", "’": "'", "±": "+/-", "≤": "<=", "≥": ">=", "≠": "!=",
    "≈": "~", "√": "root", "°": "deg ", "µ": "u", "μ": "u", "σ": "s", "Δ": "d", "☐": "[ ]", "☑": "[x]", "✓": "x",
    "─": "-", "│": "|", "§": "section ",
    "½": "1/2", "¼": "1/4", "¾": "3/4", "⁄": "/", "²": "^2", "³": "^3", "ß": "ss", "æ": "ae", "ø": "o", "Æ": "AE",
    "Ø": "O", "\N{NO-BREAK SPACE}": " ", "\N{THIN SPACE}": " ", "\N{NARROW NO-BREAK SPACE}": " ",
}  # fmt: skip


def in_letters_of(encoding: str | None, text: str) -> str:
    """The text with each sign that a character set lacks written by signs that it has."""
    return _with(encoding, text, _alike)


def json_in_letters_of(encoding: str | None, text: str) -> str:
    """JSON text with each sign that a character set lacks written as its escape."""
    return _with(encoding, text, _escape)


def _with(encoding: str | None, text: str, instead: Callable[[str], str]) -> str:
    if _has(encoding, text):
        return text
    return "".join(sign if _has(encoding, sign) else instead(sign) for sign in text)


def _has(encoding: str | None, text: str) -> bool:
    try:
        text.encode(encoding or "utf-8")
    except UnicodeEncodeError:
        return False
    except LookupError:  # a character set that Python does not know: the stream is to tell
        return True
    return True


def _alike(sign: str) -> str:
    if sign in _ALIKE:
        return _ALIKE[sign]
    plain = unicodedata.normalize("NFD", sign).encode("ascii", "ignore").decode()  # without its accents
    return plain or ("" if unicodedata.combining(sign) else "?")


def _escape(sign: str) -> str:
    """As JSON writes it: by its code units of 16 bits."""
    units = sign.encode("utf-16-be", "surrogatepass")
    return "".join(f"\\u{units[at]:02x}{units[at + 1]:02x}" for at in range(0, len(units), 2))
