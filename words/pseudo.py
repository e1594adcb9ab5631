"""A language that does not exist, made from the English texts, to find words that are in no catalogue.

Every letter is accented, every text is a third longer and stands in brackets, and the whole runs from the right. A
word on a page without an accent came from outside the catalogue; a layout that breaks would break in a real language.
Holes, numbers, branches and the forms that a language writes by (``form.decimal``, ``by``) stay.
"""

import re
from collections.abc import Mapping

LANGUAGE = "pseudo"
RIGHT, END = "\u2067", "\u2069"
"""First and last character of every text: an isolate that runs from the right."""
_ACCENTED = str.maketrans(
    "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ", "åƀçđéƒĝĥîĵķļɱñöþɋŕšŧûṽŵẋýžÅƁÇĐÉƑĜĤÎĴĶĻṀÑÖÞɊŔŠŦÛṼŴẊÝŽ"
)
_WORD = 9
"""What is added stands in words of this length, as a longer language would break it."""
_PIECE = re.compile(r"(\{[^}]*\})")


def pseudo_texts(english: Mapping[str, str]) -> dict[str, str]:
    """Every text of the language by its full key."""
    return {key: text if _kept(key) else pseudo(text) for key, text in english.items()}


def pseudo(text: str) -> str:
    """One text, accented and a third longer, its holes as they are."""
    pieces = [piece if piece.startswith("{") else piece.translate(_ACCENTED) for piece in _PIECE.split(text)]
    more = sum(len(piece) for piece in pieces if not piece.startswith("{")) // 3
    dots = "".join(" " if place % _WORD == 0 else "·" for place in range(1, more + 1)).rstrip()
    return f"{RIGHT}{''.join(pieces)}{dots}{END}"


def _kept(key: str) -> bool:
    return key == "form.decimal" or key.endswith(".by")
