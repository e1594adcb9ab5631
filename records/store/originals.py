"""Original files, byte for byte, each once: by its SHA-256, packed where that makes it smaller, checked when read.

A file is packed by zstd (RFC 8878). Before version 0007 of the logbook it was by zlib (RFC 1950), and stays so. The
first two bytes tell which: read as a number, those of a zlib stream are a multiple of 31, and those of a zstd frame are
not. Whatever they say, what comes out is held against its size and its hash.
"""

import hashlib
import zlib
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from io import BytesIO

from sqlalchemy import Connection, delete, exists, select

from ...errors import UnknownTrial
from ...words.message import Quoted
from ..refusal_messages import refusal_original
from .bulk import batches
from .not_found import whole
from .seals import damaged
from .tables import files, history, originals

_PACKING = 1
"""Of zstd's levels the one that pays: 4.3 MB of movement become 1.21 MB in 13 ms; level 3 takes half as long again, and
zlib's level 4, which was used before, 55 ms for 1.28 MB."""
_ZSTD = b"\x28\xb5\x2f\xfd"
_WIDEST = 2**23
"""A packing that asks for more memory than this beside what comes out was not made here  [bytes]."""
_AT_A_TIME = 2**20


@dataclass(frozen=True, slots=True)
class Original:
    """A file as it will be kept. ``name`` is as given, ``data`` packed or not."""

    name: str
    sha256: str
    size: int
    packed: bool
    data: bytes


def packed(name: str, data: bytes, sha256: str | None = None) -> Original:
    """Work out hash and packing. Costly for large files: done before the logbook is locked.

    sha256 : of the data, where it is known already
    """
    import zstandard

    small = zstandard.ZstdCompressor(level=_PACKING).compress(data)
    smaller = len(small) < len(data)
    digest = hashlib.sha256(data).hexdigest() if sha256 is None else sha256
    return Original(name, digest, len(data), smaller, small if smaller else bytes(data))


def packed_piecewise(name: str, read: Callable[[], Iterator[bytes]]) -> Original:
    """The same of a file that comes in pieces: what is held of it is its packed form, as long as that is smaller.

    read : the file from its beginning; called again where packing makes it no smaller
    """
    import zstandard

    digest, packer, size = hashlib.sha256(), zstandard.ZstdCompressor(level=_PACKING).compressobj(), 0
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
        If they are not those that the hash was made of. No more than the size and a byte is unpacked to see that.
    """
    content = _unpacked(bytes(data), size) if is_packed else bytes(data)
    if content is None or len(content) != size or hashlib.sha256(content).hexdigest() != sha256:
        raise damaged(refusal_original(Quoted(f"{sha256[:12]}…")))
    return content


def _unpacked(data: bytes, size: int) -> bytes | None:
    """What a packing holds, as far as a byte behind the size that it should have; None if it is none."""
    if not data.startswith(_ZSTD):
        unpacker = zlib.decompressobj()
        try:
            content = unpacker.decompress(data, size + 1)
        except (zlib.error, ValueError, OverflowError):  # a size below 0, or beyond any
            return None
        return content if unpacker.eof else None
    import zstandard

    found, length = BytesIO(), 0
    try:
        with zstandard.ZstdDecompressor(max_window_size=_WIDEST).stream_reader(data) as reader:
            while length <= size and (piece := reader.read(min(_AT_A_TIME, size + 1 - length))):
                length += found.write(piece)
    except zstandard.ZstdError:
        return None
    return found.getvalue()


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
