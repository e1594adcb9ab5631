"""Where a logbook lies: a file, or a database on a server. A password never appears in what is shown."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from ...errors import NoLogbook

if TYPE_CHECKING:
    from sqlalchemy.engine import URL

VARIABLE = "OWNMARK_LOGBOOK"
FILE_NAME = "logbook.db"
_SERVER = re.compile(r"postgres(ql)?(\+\w+)?://", re.IGNORECASE)
_MEND = "Give a file, or an address such as postgresql://account@server/database."


@dataclass(frozen=True, slots=True, repr=False)
class Place:
    """A logbook's place: ``file`` for SQLite or ``url`` for PostgreSQL; ``shown`` is for sentences."""

    shown: str
    file: Path | None = None
    url: "URL | None" = None

    def __repr__(self) -> str:
        return f"Place({self.shown})"


def default_place(given: str | None, environ: Mapping[str, str]) -> str:
    """The logbook to use: as given, else ``OWNMARK_LOGBOOK``, else a file in the user's data folder."""
    if given is not None:
        return given
    if environ.get(VARIABLE):
        return environ[VARIABLE]
    from platformdirs import user_data_path

    return str(user_data_path("ownmark", appauthor=False) / FILE_NAME)


def place_of(place: str | Path) -> Place:
    """Tell a file from an address.

    Raises
    ------
    NoLogbook
        If it is an address that leads to neither SQLite nor PostgreSQL.
    """
    text = str(place).strip()
    if re.match(r"postgres", text, re.IGNORECASE) and re.search(r"[@:]", text) and not re.match(_SERVER, text):
        raise NoLogbook("the address of the logbook cannot be read.", where="postgresql://…", mend=_MEND)
    found = re.match(r"([A-Za-z][A-Za-z0-9+.]+)://", text)
    if found is None:
        if not text.strip() or "\0" in text:
            raise NoLogbook("no place is given for the logbook.", mend=_MEND)
        try:
            return Place(text, file=Path(text).expanduser())
        except RuntimeError:
            raise NoLogbook("there is no such home folder.", where=text, mend=_MEND) from None
    kind = found[1].lower().partition("+")[0]
    if kind == "sqlite":
        path = text[found.end() :].partition("?")[0]
        if not path.startswith("/") or path == "/":
            raise NoLogbook("the address names no file.", where="sqlite://", mend=_MEND)
        return Place(path[1:], file=Path(path[1:]).expanduser())
    if kind not in ("postgresql", "postgres"):
        raise NoLogbook(f"a logbook cannot be kept at an address of the kind “{kind}”.", mend=_MEND)
    return _of_server(f"postgresql+psycopg://{text[found.end() :]}")


def _of_server(text: str) -> Place:
    """A database on a server; the address itself is not repeated when it cannot be read, for its password."""
    from sqlalchemy.engine import make_url
    from sqlalchemy.exc import ArgumentError

    try:
        url = make_url(text)
    except (ArgumentError, ValueError):
        raise NoLogbook("the address of the logbook cannot be read.", where="postgresql://…", mend=_MEND) from None
    if re.search(r"[@/#?\s]", url.host or "") or re.search(r"[@#\s]", url.database or ""):
        # A sign of the password that was not written as %40, %2F or %23: what is shown would hold a part of it.
        raise NoLogbook("the address of the logbook cannot be read.", where="postgresql://…", mend=_MEND)
    at = f"{url.host or 'localhost'}{f':{url.port}' if url.port else ''}"
    return Place(f"postgresql://{at}/{url.database or ''}", url=url)
