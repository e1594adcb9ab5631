"""What looks like the address of a database, and what in it is a secret. Text only: no driver is loaded for it.

A mistyped address must not become a file whose name holds a password, and no sentence may repeat one.
"""

import re
from collections.abc import Sequence

_ANCHORED = re.compile(r"[/\\~]|\.\.?[/\\]|[A-Za-z]:[/\\]")
"""A path that cannot begin an address: from the root, the home, this folder or a drive."""
_SCHEME = re.compile(r"\w\w+://")
_ACCOUNT = re.compile(r"[^/\\\s]:[^/\\]*@")
"""``account:password@``, wherever it stands."""
_SETTING = re.compile(
    r"\b(password|passwd|pwd|user|uid|user id|dbname|database|host|server|data source)\s*=", re.IGNORECASE
)
_PASSWORD = re.compile(r"\b(password|passwd|pwd)\s*=\s*\S+", re.IGNORECASE)
_STATED = re.compile(r"://[^@]*:[^@]*@|[?&](ssl)?password=", re.IGNORECASE)
_OPTION = re.compile(r"\s--?[A-Za-z]")
_CLIENT = re.compile(
    r"(?:^|[/\\])(psql|pg_\w+|createdb|mysql\w*|mariadb|sqlite3|sqlcmd|sqlplus|ssh|docker|sudo)(\.exe)?\s",
    re.IGNORECASE,
)
"""A program, such as a server's client, with words behind it: one of them may be a password."""
_LONGEST = 4096
"""Longer is no path on any system, and no address."""


def looks_like_address(text: str) -> bool:
    """Whether a place that should be a file is rather meant as an address, or as the command that leads to one.

    A file whose own name holds such signs can be given with its folder: ``./a=b.db``.
    """
    if len(text) > _LONGEST or _SCHEME.search(text) or _ACCOUNT.search(text) or _SETTING.search(text):
        return True
    if _CLIENT.search(text) and _OPTION.search(text):
        return True
    if _ANCHORED.match(text):
        return False
    if _CLIENT.search(text) or _OPTION.search(text):
        return True
    first = re.split(r"[/\\]", text, maxsplit=1)[0]
    return "@" in text or any(sign in first for sign in ":=;?")


def states_password(text: str) -> bool:
    """Whether an address holds a password."""
    return _STATED.search(text) is not None


def without_secrets(sentence: str) -> str:
    """A sentence with every word left out that may be an address or a password."""
    words = re.split(r"(\s+)", _PASSWORD.sub("…", sentence))
    return "".join("…" if "://" in word or "@" in word else word for word in words)


def option_names(words: Sequence[str], *, behind_place: bool) -> str:
    """Words that no option takes: options by their names alone, and nothing of what stands behind one.

    behind_place : the words follow a place of the logbook, of which they may be a part.
    """
    told: list[str] = []
    hidden = behind_place
    for word in words:
        option = word.startswith("-") and len(word) > 1
        hidden = hidden or option
        name = word.partition("=")[0] if word.startswith("--") else word[:2]
        told.append(name if option else "…" if hidden else word)
    return " ".join(told)
