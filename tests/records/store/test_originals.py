"""A file that comes in pieces is kept as one that comes whole, and not held whole where its packed form is smaller."""

import random
import tracemalloc

import pytest
from ownmark.records.store.originals import packed, packed_piecewise, unpacked

BLOCK = 2**16


def pieces(data):
    return lambda: (data[at : at + BLOCK] for at in range(0, len(data), BLOCK))


@pytest.mark.parametrize(
    "data",
    [b"", b"x", b"0,90\n" * 50_000, random.Random(1).randbytes(3 * BLOCK + 1)],
    ids=["empty", "one", "text", "noise"],
)
def test_in_pieces_as_whole(data):
    found, whole = packed_piecewise("a.csv", pieces(data)), packed("a.csv", data)
    assert (found.name, found.sha256, found.size, found.packed) == (whole.name, whole.sha256, whole.size, whole.packed)
    assert unpacked(found.sha256, found.size, found.packed, found.data) == data
    assert len(found.data) <= len(data)


def test_a_large_recording_is_not_held_whole():
    line = b"".join(b"%d,%d\n" % (second, 90 + second % 7) for second in range(8000))
    count = 2**25 // len(line)
    tracemalloc.start()
    try:
        found = packed_piecewise("a.csv", lambda: (bytes(line) for _ in range(count)))
        peak = tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()
    assert found.packed
    assert found.size == count * len(line)
    assert peak < 2.1 * len(found.data) + BLOCK < found.size
