"""When something is not found: which one was meant, and whether it is absent or the file is damaged."""

import difflib

from sqlalchemy import Connection, select

from ...errors import UnknownCode, UnknownProtocol, UnknownTrial
from .seals import damaged
from .tables import history, protocols, students


def whole(connection: Connection, table: str) -> None:
    """See that a table of a SQLite file agrees with its indexes: a damaged page can hide rows without a word.

    Raises
    ------
    LogbookDamaged
        If it does not. On a server this is the server's business.
    """
    if connection.dialect.name != "sqlite":
        return
    if [row[0] for row in connection.exec_driver_sql(f"PRAGMA integrity_check({table})")] != ["ok"]:
        raise damaged(f"the list of {table}")


def no_student(connection: Connection, code: str) -> UnknownCode:
    """The refusal of an unknown code, with the nearest ones."""
    whole(connection, "students")
    codes = [row[0] for row in connection.execute(select(students.c.code))]
    return UnknownCode(f"no student has the code {code}.", mend=_nearest(code.upper(), codes, "student list"))


def no_protocol(connection: Connection, name: str, version: int | None) -> UnknownProtocol:
    """The refusal of an unknown protocol, with the nearest ones, or the versions that there are."""
    whole(connection, "protocols")
    rows = connection.execute(select(protocols.c.name, protocols.c.version)).all()
    versions = sorted(row[1] for row in rows if row[0] == name)
    if versions:
        what = f"the protocol {name} has no version {version}."
        return UnknownProtocol(what, mend=f"There are: {', '.join(map(str, versions))}.")
    names = sorted({row[0] for row in rows})
    return UnknownProtocol(f"there is no protocol {name}.", mend=_nearest(name.lower(), names, "protocol list"))


def no_trial(connection: Connection, number: int) -> UnknownTrial:
    """The refusal of an unknown number."""
    whole(connection, "trials")
    of_it = select(history.c.what, history.c.made).where(history.c.kind == "trial", history.c.thing == str(number))
    last = connection.execute(of_it.order_by(history.c.id.desc()).limit(1)).first()
    if last is not None and last[0] == "removed":
        return UnknownTrial(
            f"trial {number} was removed ({last[1][:10]}).",
            mend=f"`ownmark trial show {number} --history` shows it; `ownmark trial restore {number}` brings it back.",
        )
    return UnknownTrial(f"there is no trial {number}.", mend="`ownmark trial list` shows all.")


def _nearest(given: str, known: list[str], command: str) -> str:
    close = difflib.get_close_matches(given, known, n=3, cutoff=0.5)
    if close:
        return f"Did you mean {' or '.join(close)}?"
    return f"`ownmark {command}` shows all." if known else "There is none yet."
