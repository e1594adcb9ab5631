"""Where a logbook lies: a file, or a database on a server. A password never appears in what is shown."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from ...errors import NoLogbook
from ...words.plain import printable
from .address import looks_like_address

if TYPE_CHECKING:
    from sqlalchemy.engine import URL

VARIABLE = "OWNMARK_LOGBOOK"
FILE_NAME = "logbook.db"
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
        If it looks like an address and leads to neither SQLite nor PostgreSQL; it is not repeated, for its password.
    """
    if isinstance(place, Path):
        return _of_file(str(place), "")
    text = place.strip()
    if not text:
        raise NoLogbook("no place is given for the logbook.", mend=_MEND)
    found = re.match(r"([A-Za-z][A-Za-z0-9+.]+)://", text)
    kind = found[1].lower().partition("+")[0] if found else ""
    if found and kind == "sqlite":
        return _of_sqlite(text[found.end() :])
    if found and kind in ("postgresql", "postgres"):
        return _of_server(f"postgresql+psycopg://{text[found.end() :]}")
    if looks_like_address(text):
        raise NoLogbook(
            "this looks like the address of a database, and a logbook cannot be kept there. It is not repeated, "
            "because it may hold a password.",
            mend=f"{_MEND} A file with such a name is given with its folder, as in ./NAME.",
        )
    return _of_file(text, text)


def _of_sqlite(path: str) -> Place:
    """A file by its address, which has to name it from the root: some read ``sqlite:///x.db`` so, others do not."""
    file = path[1:]
    if not path.startswith("/") or "?" in path or not re.match(r"/[^/]|[A-Za-z]:[/\\]", file):
        raise NoLogbook(
            "the address names no file, or more than a file, or it does not say in which folder.",
            where="sqlite://",
            mend="Give the file itself, as in ./logbook.db.",
        )
    return _of_file(file, "sqlite://")


def _of_file(path: str, where: str) -> Place:
    """A file."""
    if "\0" in path:
        raise NoLogbook("no place is given for the logbook.", mend=_MEND)
    try:
        return Place(path, file=Path(path).expanduser())
    except RuntimeError:
        raise NoLogbook("there is no such home folder.", where=where, mend=_MEND) from None


def _of_server(text: str) -> Place:
    """A database on a server; the address itself is not repeated when it cannot be read, for its password."""
    from psycopg.pq import Conninfo
    from sqlalchemy.engine import make_url
    from sqlalchemy.exc import ArgumentError

    try:
        url = make_url(text)
        url.get_dialect()().create_connect_args(url)  # where hosts and ports stand in two ways, it cannot
    except (ArgumentError, ValueError):
        raise _unreadable() from None
    parts = (url.username, url.password, url.host, url.database, *url.query, *_values(url))
    if any(printable(part) != part for part in parts if part is not None):
        raise _unreadable()
    if re.search(r"[@/#?\s]", url.host or "") or re.search(r"[@#\s]", url.database or ""):
        # A sign of the password that was not written as %40, %2F or %23: what is shown would hold a part of it.
        raise _unreadable()
    known = {each.keyword.decode() for each in Conninfo.get_defaults()}
    twice = any(not isinstance(value, str) for name, value in url.query.items() if name not in ("host", "port"))
    if twice or not set(url.query) <= known:
        raise NoLogbook(
            "the address of the logbook has an option behind “?” that the server's driver does not know, or one twice.",
            where="postgresql://…",
            mend="Look at how it is written, as in sslmode=require.",
        )
    at = f"{url.host or 'localhost'}{f':{url.port}' if url.port else ''}"
    return Place(f"postgresql://{at}/{url.database or ''}", url=url)


def _values(url: "URL") -> list[str]:
    """What the options of an address are set to."""
    return [each for value in url.query.values() for each in ((value,) if isinstance(value, str) else value)]


def _unreadable() -> NoLogbook:
    return NoLogbook("the address of the logbook cannot be read.", where="postgresql://…", mend=_MEND)
