"""A file as it is kept: packed where that makes it smaller, known by its SHA-256. For any process: no database here.

A file is packed by zstd (RFC 8878). Before version 0007 of the logbook it was by zlib (RFC 1950), and stays so. The
first two bytes tell which: read as a number, those of a zlib stream are a multiple of 31, and those of a zstd frame are
not. Whatever they say, what comes out is held against its size and its hash.
"""

import hashlib
import zlib
from collections.abc import Callable, Iterator
from contextlib import suppress
from dataclasses import dataclass
from io import BytesIO
from typing import TYPE_CHECKING

from ...words.message import Quoted
from ..refusal_messages import refusal_original
from .seals import damaged

if TYPE_CHECKING:
    from zstandard import ZstdCompressor

_PACKING = 1
"""Of zstd's levels the one that pays: level 3 takes half as long again, and zlib's level 4, which was used before, four
times as long for a larger packing. A long file goes by the settings of ``_packer``."""
_LONG = 2**20
"""A file of so many bytes and more is packed by those, and one whose length is not known yet."""
_ZSTD = b"\x28\xb5\x2f\xfd"
_WIDEST = 2**23
"""A packing that asks for more memory than this beside what comes out was not made here  [bytes]."""
_AT_A_TIME = 2**20
HEAD_OF_PACKED = 2**17 + 1024
"""So many bytes of what is packed hold its first block, whatever that is (RFC 8878, 3.1.1.2.4: 128 KiB at the most)."""


@dataclass(frozen=True, slots=True)
class Original:
    """A file as it will be kept. ``name`` is as given, ``data`` packed or not."""

    name: str
    sha256: str
    size: int
    packed: bool
    data: bytes

    def content(self) -> bytes:
        """The file's own bytes.

        Raises
        ------
        LogbookDamaged
            If they are not those that the hash was made of.
        """
        return unpacked(self.sha256, self.size, self.packed, self.data)


def packed(name: str, data: bytes, sha256: str | None = None) -> Original:
    """Work out hash and packing. Costly for large files: done before the logbook is locked.

    sha256 : of the data, where it is known already
    """
    small = _packer(len(data)).compress(data)
    smaller = len(small) < len(data)
    digest = hashlib.sha256(data).hexdigest() if sha256 is None else sha256
    return Original(name, digest, len(data), smaller, small if smaller else bytes(data))


def _packer(size: int = _LONG) -> "ZstdCompressor":
    """What packs a file of so many bytes.

    What makes files long is numbers, and in these a short repetition is a chance that costs more to write down than to
    pass over: level 1 with repetitions of six bytes and more, sought in a table that stays in the processor's nearest
    cache, makes of 4.3 MB of movement 1.18 MB where level 1 alone makes 1.22 MB, in seven eighths of the time. Short
    files, which may hold many kinds of fields, keep the level.
    """
    import zstandard

    if size < _LONG:
        return zstandard.ZstdCompressor(level=_PACKING)
    return zstandard.ZstdCompressor(
        compression_params=zstandard.ZstdCompressionParameters(
            window_log=19,
            chain_log=6,
            hash_log=11,
            search_log=1,
            min_match=6,
            target_length=0,
            strategy=zstandard.STRATEGY_FAST,
        )
    )


def packed_piecewise(name: str, read: Callable[[], Iterator[bytes]]) -> Original:
    """The same of a file that comes in pieces: what is held of it is its packed form, as long as that is smaller.

    read : the file from its beginning; called again where packing makes it no smaller
    """
    digest, packer, size = hashlib.sha256(), _packer().compressobj(), 0
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


def head_of(data: bytes, length: int, *, is_packed: bool) -> bytes:
    """The first bytes of a file of which the first ``HEAD_OF_PACKED`` bytes are at hand; fewer where it is damaged."""
    if not is_packed:
        return data[:length]
    if not data.startswith(_ZSTD):
        with suppress(zlib.error):
            return zlib.decompressobj().decompress(data, length)
        return b""
    import zstandard

    with suppress(zstandard.ZstdError), zstandard.ZstdDecompressor(max_window_size=_WIDEST).stream_reader(data) as read:
        return read.read(length)
    return b""


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
