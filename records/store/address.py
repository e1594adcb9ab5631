"""What looks like the address of a database, and what in it is a secret. Text only: no driver is loaded for it.

A mistyped address must not become a file whose name holds a password, and no sentence may repeat one.
"""

import re

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
_LONGEST = 4096
"""Longer is no path on any system, and no address."""


def looks_like_address(text: str) -> bool:
    """Whether a place that should be a file is rather meant as an address.

    A file whose own name holds such signs can be given with its folder: ``./a=b.db``.
    """
    if len(text) > _LONGEST or _SCHEME.search(text) or _ACCOUNT.search(text) or _SETTING.search(text):
        return True
    if _ANCHORED.match(text):
        return False
    first = re.split(r"[/\\]", text, maxsplit=1)[0]
    return "@" in text or any(sign in first for sign in ":=;?")


def states_password(text: str) -> bool:
    """Whether an address holds a password."""
    return _STATED.search(text) is not None


def without_secrets(sentence: str) -> str:
    """A sentence with every word left out that may be an address or a password."""
    words = re.split(r"(\s+)", _PASSWORD.sub("…", sentence))
    return "".join("…" if "://" in word or "@" in word else word for word in words)
