"""What a database says when something goes wrong, as sentences for a teacher.

Its own words are never passed on: they can hold an address, a password or a student's data.
"""

import errno
import os
import sqlite3
from collections.abc import Generator
from contextlib import contextmanager

from sqlalchemy.exc import DBAPIError

from ...errors import (
    AlreadyThere,
    DiskFull,
    LogbookLocked,
    LogbookReadOnly,
    NoLogbook,
    NotATrial,
    OwnmarkError,
    RecordsError,
    UnreadableFile,
)
from .seals import damaged

_TAKEN_BACK = "What was being written was taken back; everything else is as it was."


@contextmanager
def told(place: str, *, writing: bool = False, beside: bool = False) -> Generator[None, None, None]:
    """Turn what the database or the disk raises into a sentence about the logbook at ``place``.

    beside : ``place`` is a file that is written beside the logbook: what the disk raises is about that one
    """
    try:
        yield
    except RecordsError as refusal:
        refusal.where = refusal.where or place
        raise
    except (DBAPIError, sqlite3.Error) as failure:
        orig = failure.orig if isinstance(failure, DBAPIError) else failure
        refusal = sentence(orig, writing=writing) if orig is not None else None
        if refusal is None:
            raise
        refusal.where = place
        raise refusal from None
    except OSError as failure:
        raise (_of_copy(failure, place) if beside else _of_disk(failure, place, writing=writing)) from None
    except UnicodeEncodeError:
        refusal = _unkept_sign()
        refusal.where = place
        raise refusal from None
    except Exception as failure:
        refusal = damaged("something") if _in_a_row(failure) else sentence(failure, writing=writing)
        if refusal is None:
            raise
        refusal.where = place
        raise refusal from None


def of_database(failure: BaseException) -> bool:
    """Whether the database or its driver raised it, so that ``told`` has something to say of it."""
    return isinstance(failure, DBAPIError | sqlite3.Error) or type(failure).__module__.partition(".")[0] == "psycopg"


def _in_a_row(failure: Exception) -> bool:
    """Tell whether a row that was read is no text or date: it was raised by the driver, or just where rows are made."""
    if isinstance(failure, UnicodeDecodeError):
        return True
    step = failure.__traceback__
    while step is not None and step.tb_next is not None:
        step = step.tb_next
    made_in = "" if step is None else str(step.tb_frame.f_globals.get("__name__"))
    return isinstance(failure, ValueError | TypeError) and made_in.startswith("sqlalchemy.engine.")


def sentence(failure: BaseException, *, writing: bool) -> RecordsError | None:
    """The refusal for a driver's exception; None if it is a fault of ownmark."""
    if isinstance(failure, sqlite3.Error):
        return _of_sqlite(failure, writing=writing)
    kind = type(failure).__module__.partition(".")[0]
    if kind != "psycopg":
        return None
    return _of_server(getattr(failure, "sqlstate", None), failure)


def locked() -> LogbookLocked:
    """Another program holds the logbook."""
    return LogbookLocked(
        "another program is writing to the logbook and did not finish in time.",
        mend="Close it, or wait a little, and try again.",
    )


def read_only() -> LogbookReadOnly:
    """Reading is permitted, writing not."""
    return LogbookReadOnly(
        "the logbook can be read and not written here: its folder, its file or the account is read-only.",
        mend="Ask for the right to write, or copy the logbook to a folder of your own and use --logbook.",
    )


def disk_full() -> DiskFull:
    """No room."""
    return DiskFull("there is no room left on the disk.", mend=f"{_TAKEN_BACK} Make room and do it again.")


class PasswordNeeded(NoLogbook):
    """The server asks for a password, and none was at hand."""


def moved() -> NoLogbook:
    """The file is no longer where it was opened."""
    return NoLogbook(
        "the logbook's file was moved, renamed or deleted while it was open.",
        mend="Open it where it lies now: --logbook.",
    )


def unreachable(why: str = "") -> NoLogbook:
    """The place leads nowhere."""
    return NoLogbook(
        f"the logbook cannot be reached{': ' if why else ''}{why}.",
        mend="Check its place, the network and your rights.",
    )


def _of_disk(failure: OSError, place: str, *, writing: bool) -> RecordsError:
    """An error of the file system."""
    if failure.errno in (errno.ENOSPC, errno.EDQUOT, errno.EFBIG):
        refusal: RecordsError = disk_full()
    elif failure.errno in (errno.EROFS, errno.EACCES, errno.EPERM):
        shut = isinstance(failure.filename, str) and os.path.lexists(failure.filename)
        shut = shut and not os.access(failure.filename, os.R_OK)
        refusal = read_only() if writing and not shut else unreachable("this account may not open it")
    else:
        refusal = unreachable((failure.strerror or type(failure).__name__).lower())
    refusal.where = place
    return refusal


def _of_copy(failure: OSError, place: str) -> OwnmarkError:
    """An error of the file system at a file that is written beside the logbook."""
    if failure.errno in (errno.ENOSPC, errno.EDQUOT, errno.EFBIG):
        refusal = disk_full()
        refusal.where = place
        return refusal
    denied = failure.errno in (errno.EROFS, errno.EACCES, errno.EPERM)
    why = "this account may not write here" if denied else (failure.strerror or "it cannot be written").lower()
    return UnreadableFile(f"{why}.", where=place, mend="Name another place. The logbook is as it was.")


def _of_sqlite(failure: sqlite3.Error, *, writing: bool) -> RecordsError | None:
    """By SQLite's own error code; the extended ones start with the name of the simple one."""
    name = getattr(failure, "sqlite_errorname", "") or ""
    if name.startswith(("SQLITE_BUSY", "SQLITE_LOCKED", "SQLITE_PROTOCOL")):
        return locked()
    if name.startswith("SQLITE_FULL") or name == "SQLITE_IOERR_WRITE":
        return disk_full()
    if name == "SQLITE_READONLY_DBMOVED":
        return moved()
    if name.startswith(("SQLITE_READONLY", "SQLITE_PERM", "SQLITE_AUTH")):
        return read_only()
    if name.startswith("SQLITE_CANTOPEN"):
        return read_only() if writing else unreachable()  # the file is open: it is the journal that cannot be made
    if name.startswith("SQLITE_IOERR"):
        return unreachable("the disk reports an error")
    if name.startswith(("SQLITE_CONSTRAINT_UNIQUE", "SQLITE_CONSTRAINT_PRIMARYKEY")):
        return AlreadyThere("it is in the logbook already.", mend="Nothing was added.")
    if name == "SQLITE_TOOBIG":
        return _too_large()
    if name.startswith("SQLITE_CONSTRAINT"):
        return damaged("something")  # every value was checked before: only what is there already can contradict it
    if name.startswith(("SQLITE_CORRUPT", "SQLITE_NOTADB", "SQLITE_FORMAT", "SQLITE_MISMATCH", "SQLITE_SCHEMA")):
        return damaged("something")
    words = str(failure)
    if name == "SQLITE_ERROR" and "syntax error" not in words:
        return damaged("something")  # what is asked never changes: so a table is not what it was
    return damaged("something") if "decode to UTF-8" in words else None


def _unkept_sign() -> NotATrial:
    return NotATrial("a text holds a sign that cannot be kept.", mend="Write it again without it.")


def _too_large() -> NotATrial:
    return NotATrial("a file is larger than the logbook can hold.", mend="Cut the recording to the trial.")


_BY_STATE = {
    "23505": lambda: AlreadyThere("it is in the logbook already.", mend="Nothing was added."),
    "25006": read_only,
    "42501": read_only,
    "40001": locked,
    "40P01": locked,
    "55P03": locked,
    "57014": locked,
    "53100": disk_full,
    "54000": _too_large,
    "42P01": lambda: damaged("a table"),
    "42703": lambda: damaged("a table"),
    "XX001": lambda: damaged("something"),
    "XX002": lambda: damaged("something"),
    "22P05": _unkept_sign,
    "28P01": lambda: unreachable("the name or the password is not accepted"),
    "28000": lambda: unreachable("this account is not admitted"),
    "3D000": lambda: unreachable("there is no such database"),
    "53300": lambda: unreachable("the server has too many visitors"),
}


_AT_THE_DOOR = {
    "authentication failed": "the name or the password is not accepted",
    "Connection refused": "no server answers there",
    "could not translate host name": "there is no server of that name",
    "failed to resolve host": "there is no server of that name",
    "does not exist": "there is no such database or account",
    "timeout": "no server answers there",
}
"""What the driver says before there is a connection, which carries no state."""


def _of_server(state: str | None, failure: BaseException) -> RecordsError | None:
    """By the SQL standard's state; without one the connection itself failed."""
    if state in _BY_STATE:
        return _BY_STATE[state]()
    if state is None:
        if getattr(getattr(failure, "pgconn", None), "needs_password", False):
            return PasswordNeeded(
                "the server of the logbook asks for a password.",
                mend="Put it into PGPASSWORD or into the password file ~/.pgpass, or type it when you are asked.",
            )
        if type(failure).__name__ == "DataError":
            return _BY_STATE["22P05"]()  # a zero character: the driver refuses it before the server sees it
        if type(failure).__name__ not in ("OperationalError", "ConnectionTimeout"):
            return None
        return unreachable(next((why for sign, why in _AT_THE_DOOR.items() if sign in str(failure)), ""))
    if state[:2] in ("22", "23"):
        return damaged("something")  # every value was checked before: only what is there already can contradict it
    return unreachable("the server ended the connection") if state[:2] in ("08", "57") else None
