"""Original files, byte for byte, each once: by its SHA-256, packed where that makes it smaller, checked when read."""

import hashlib
import zlib
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass

from sqlalchemy import Connection, delete, exists, select

from ...errors import UnknownTrial
from ...words.message import Quoted
from ..refusal_messages import refusal_original
from .bulk import batches
from .not_found import whole
from .seals import damaged
from .tables import files, history, originals

_PACKING = 4
"""Of zlib's levels the one that pays: a table of movement takes a third of the time of level 6, for 7 % more room."""


@dataclass(frozen=True, slots=True)
class Original:
    """A file as it will be kept. ``name`` is as given, ``data`` packed or not."""

    name: str
    sha256: str
    size: int
    packed: bool
    data: bytes


def packed(name: str, data: bytes) -> Original:
    """Work out hash and packing. Costly for large files: done before the logbook is locked."""
    small = zlib.compress(data, _PACKING)
    smaller = len(small) < len(data)
    return Original(name, hashlib.sha256(data).hexdigest(), len(data), smaller, small if smaller else bytes(data))


def packed_piecewise(name: str, read: Callable[[], Iterator[bytes]]) -> Original:
    """The same of a file that comes in pieces: what is held of it is its packed form, as long as that is smaller.

    read : the file from its beginning; called again where packing makes it no smaller
    """
    digest, packer, size = hashlib.sha256(), zlib.compressobj(_PACKING), 0
    parts: list[bytes] = []
    for block in read():
        digest.update(block)
        size += len(block)
        parts.append(packer.compress(block))
    parts.append(packer.flush())
    smaller = sum(map(len, parts)) < size
    if not smaller:
        parts.clear()  # before the file itself is held
    data = b"".join(parts) if smaller else b"".join(read())
    return Original(name, digest.hexdigest(), size, smaller, data)


def unpacked(sha256: str, size: int, is_packed: bool, data: bytes) -> bytes:
    """The file's own bytes.

    Raises
    ------
    LogbookDamaged
        If they are not those that the hash was made of.
    """
    try:
        content = zlib.decompress(data) if is_packed else bytes(data)
    except (zlib.error, TypeError):
        content = None
    if content is None or len(content) != size or hashlib.sha256(content).hexdigest() != sha256:
        raise damaged(refusal_original(Quoted(f"{sha256[:12]}…")))
    return content


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
    row = connection.execute(select(originals).where(originals.c.sha256 == sha256)).one_or_none()
    if row is None:
        whole(connection, "files")
        if connection.execute(select(files.c.sha256).where(files.c.sha256 == sha256)).first() is not None:
            raise damaged(refusal_original(Quoted(f"{sha256[:12]}…")))
        raise UnknownTrial(f"no file with the SHA-256 {sha256[:12]}… is kept.", mend="Look at `ownmark trial list`.")
    return unpacked(*row)


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
