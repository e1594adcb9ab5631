"""Original files, byte for byte, each once, by its SHA-256: packed and checked by ``packing``."""

from collections.abc import Iterable, Sequence

from sqlalchemy import Connection, delete, exists, select

from ...errors import UnknownTrial
from ...words.message import Quoted
from ..refusal_messages import refusal_original
from .bulk import batches
from .not_found import whole
from .packing import Original, packed, packed_piecewise, unpacked
from .seals import damaged
from .tables import files, history, originals

__all__ = ["Original", "packed", "packed_piecewise", "unpacked"]


def kept(connection: Connection, hashes: Iterable[str]) -> set[str]:
    """Which of these are in the logbook."""
    found: set[str] = set()
    for some in batches(dict.fromkeys(hashes), 500):
        found.update(row[0] for row in connection.execute(select(originals.c.sha256).where(_among(some))))
    return found


def _among(hashes: Sequence[str]):  # noqa: ANN202 a clause
    return originals.c.sha256.in_(hashes)


def keep(connection: Connection, given: Iterable[Original]) -> None:
    """Add the files that are not in the logbook yet."""
    by_hash = {original.sha256: original for original in given}
    there = kept(connection, by_hash)
    new = [original for sha256, original in by_hash.items() if sha256 not in there]
    for each in new:
        row = {"sha256": each.sha256, "size": each.size, "packed": each.packed, "data": each.data}
        connection.execute(originals.insert(), [row])


def fetch(connection: Connection, sha256: str) -> bytes:
    """One file.

    Raises
    ------
    UnknownTrial
        If there is none of that hash.
    LogbookDamaged
        If its bytes have changed.
    """
    return fetch_packed(connection, sha256).content()


def fetch_packed(connection: Connection, sha256: str, name: str = "") -> Original:
    """One file as it is kept: whoever unpacks it, here or in another process, checks it.

    Raises
    ------
    UnknownTrial
        If there is none of that hash.
    LogbookDamaged
        If there is none of that hash, and there was.
    """
    row = connection.execute(select(originals).where(originals.c.sha256 == sha256)).one_or_none()
    if row is None:
        whole(connection, "files")
        if connection.execute(select(files.c.sha256).where(files.c.sha256 == sha256)).first() is not None:
            raise damaged(refusal_original(Quoted(f"{sha256[:12]}…")))
        raise UnknownTrial(f"no file with the SHA-256 {sha256[:12]}… is kept.", mend="Look at `ownmark trial list`.")
    return Original(name, *row)


def drop_unused(connection: Connection, hashes: Iterable[str]) -> list[str]:
    """Remove those of the files that no trial holds any more, a removed one neither, and give their hashes."""
    gone: list[str] = []
    for some in batches(dict.fromkeys(hashes), 500):
        unused = select(originals.c.sha256).where(
            _among(some),
            ~exists().where(files.c.sha256 == originals.c.sha256),
            ~exists().where(history.c.held.contains(originals.c.sha256)),
        )
        found = [row[0] for row in connection.execute(unused)]
        if found:
            connection.execute(delete(originals).where(_among(found)))
        gone += found
    return gone
