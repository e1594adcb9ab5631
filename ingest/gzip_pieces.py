"""The pieces that gzip's packings unpack to, one at a time, with what comes before damage."""

import zlib
from collections.abc import Callable, Iterator
from contextlib import suppress
from io import FileIO
from typing import BinaryIO

from ..errors import TooLarge
from ..words.message import Message, Quoted
from . import messages as say
from . import refusal_messages as refused

BLOCK = 256 * 1024
GZ = b"\x1f\x8b\x08"
MAX_PACKINGS = 10_000
"""Packings that follow each other in one file: 512 MiB packed in blocks of 64 KiB have 8,192."""
_WINDOW = 31  # zlib: a window of 2**15 bytes, with gzip's own header


def gz_pieces(
    packed: FileIO | BinaryIO, notes: list[Callable[[int], Message]], where: str
) -> Iterator[tuple[bytes, int]]:
    """Unpacked pieces, each with the packed bytes used so far; several packings may follow each other."""
    unpacker, waiting, used, packings = zlib.decompressobj(_WINDOW), b"", 0, 1
    while block := waiting or packed.read(BLOCK):
        used += 0 if waiting else len(block)
        before = unpacker.copy()
        try:
            piece = unpacker.decompress(block, BLOCK)
        except zlib.error:
            notes.append(say.packed_damaged)
            yield _salvaged(before, block), used
            return
        waiting = unpacker.unconsumed_tail
        yield piece, used - len(waiting)
        if unpacker.eof:
            waiting = unpacker.unused_data.lstrip(b"\0")  # zeros fill up a block of a tape
            while len(waiting) < len(GZ) and (more := packed.read(BLOCK)):
                used += len(more)
                waiting = (waiting + more).lstrip(b"\0")
            if waiting and not waiting.startswith(GZ):
                notes.append(say.unread_behind_packed)
            if not waiting.startswith(GZ):
                return
            packings += 1
            if packings > MAX_PACKINGS:
                what = refused.file_pieces(Quoted(f"{MAX_PACKINGS:,}"))
                raise TooLarge(what, where=where, mend=refused.MEND_WHERE_FROM)
            unpacker = zlib.decompressobj(_WINDOW)
    notes.append(say.packed_cut_off)
    with suppress(zlib.error):
        yield unpacker.flush(), used


def _salvaged(unpacker: "zlib._Decompress", block: bytes) -> bytes:
    """Every byte before the damage: the unpacker itself drops all that it was about to hand out with it."""
    saved = b""
    for step in (4096, 64, 1):
        while block:
            trial = unpacker.copy()
            try:
                saved += trial.decompress(block[:step])
            except zlib.error:
                break
            unpacker, block = trial, block[step:]
    return saved
