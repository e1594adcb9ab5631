"""Original files: packed, in pieces or whole, told apart by what packed them, and never unpacked beyond their size."""

import hashlib
import random
import tracemalloc
import zlib

import pytest
import zstandard
from ownmark.errors import LogbookDamaged
from ownmark.records import open_logbook
from ownmark.records.store import packing as module
from ownmark.records.store.packing import packed, packed_piecewise, unpacked
from ownmark.records.store.tables import originals
from sqlalchemy import select

from tests.records.store.made import filled, recording

BLOCK = 2**16
TEXT = b"0,90\n" * 50_000
MIB = 2**20


def pieces(data):
    return lambda: (data[at : at + BLOCK] for at in range(0, len(data), BLOCK))


def sha(data):
    return hashlib.sha256(data).hexdigest()


def damaged(data, content=TEXT, size=None):
    """Whether this packing of a content is refused, and what was held of it at the most."""
    tracemalloc.start()
    try:
        with pytest.raises(LogbookDamaged):
            unpacked(sha(content), len(content) if size is None else size, True, data)
        return tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()


@pytest.mark.parametrize(
    "data", [b"", b"x", TEXT, random.Random(1).randbytes(3 * BLOCK + 1)], ids=["empty", "one", "text", "noise"]
)
def test_in_pieces_as_whole(data):
    found, whole = packed_piecewise("a.csv", pieces(data)), packed("a.csv", data)
    assert (found.name, found.sha256, found.size, found.packed) == (whole.name, whole.sha256, whole.size, whole.packed)
    assert unpacked(found.sha256, found.size, found.packed, found.data) == data
    assert unpacked(whole.sha256, whole.size, whole.packed, whole.data) == data
    assert len(found.data) <= len(data)
    assert found.packed == (data == TEXT) == (len(found.data) < len(data))


def test_what_packs_no_smaller_is_kept_as_it_is():
    # a frame takes 9 bytes more than three bytes, and none of these can be said in fewer
    for data in (b"abc", bytes(range(256))):
        assert packed("a", data).data == packed_piecewise("a", pieces(data)).data == data


def test_a_hash_that_is_known_is_not_worked_out_again(monkeypatch):
    whole = packed("a.csv", TEXT)
    monkeypatch.setattr(module.hashlib, "sha256", None)
    assert packed("a.csv", TEXT, whole.sha256) == whole


def test_a_large_recording_is_not_held_whole():
    draw = random.Random(1)
    line = bytes(draw.choices(b"0123", k=BLOCK))  # two bits in each byte
    blocks = [bytes(draw.sample(line, len(line))) for _ in range(16)]
    tracemalloc.start()
    try:
        found = packed_piecewise("a.csv", lambda: (blocks[at % 16] for at in range(256)))
        peak = tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()
    assert found.packed
    assert found.size == 256 * BLOCK
    assert peak < 2.1 * len(found.data) + 4 * BLOCK < found.size
    assert unpacked(found.sha256, found.size, True, found.data) == b"".join(blocks) * 16


# ---- what packed it


def test_a_packing_by_zlib_is_read_as_ever():
    for level in range(10):
        for width in range(9, 16):
            packer = zlib.compressobj(level, zlib.DEFLATED, width)
            data = packer.compress(TEXT) + packer.flush()
            assert unpacked(sha(TEXT), len(TEXT), True, data) == TEXT


def test_no_packing_by_zlib_begins_as_one_by_zstd_does():
    # RFC 1950, 2.2: the first two bytes "MUST be such that [they], when viewed as a 16-bit unsigned integer stored in
    # MSB order, [are] a multiple of 31". RFC 8878, 3.1.1: the magic number is 0xFD2FB528, little-endian.
    assert (0xFD2FB528).to_bytes(4, "little") == module._ZSTD
    assert int.from_bytes(module._ZSTD[:2], "big") % 31 != 0
    assert packed("a", TEXT).data.startswith(module._ZSTD)
    with pytest.raises(zlib.error):
        zlib.decompress(packed("a", TEXT).data)


def test_a_logbook_of_before_keeps_its_packings_and_they_are_given_back(logbook):
    filled(logbook)
    older = {}
    with logbook.writing() as connection:
        for row in connection.execute(select(originals)).all():
            data = unpacked(*row)
            older[row.sha256] = data, zlib.compress(data, 4)
            connection.execute(
                originals.update()
                .where(originals.c.sha256 == row.sha256)
                .values(packed=True, data=older[row.sha256][1])
            )
    assert older
    for sha256, (data, small) in older.items():
        assert logbook.original(sha256) == data
        with logbook.reading() as connection:
            assert (
                bytes(connection.execute(select(originals.c.data).where(originals.c.sha256 == sha256)).scalar())
                == small
            )


def test_a_logbook_of_version_0006_becomes_today_s_and_no_row_of_it_changes(tmp_path):
    from ownmark.records.store.version import VERSION_TABLE

    place = tmp_path / "logbook.db"
    with open_logbook(place) as logbook:
        filled(logbook)
    import sqlite3

    def rows():
        raw = sqlite3.connect(place)
        found = {name: raw.execute(f"SELECT * FROM {name} ORDER BY 1").fetchall() for name in module_tables(raw)}
        raw.close()
        return found

    def module_tables(raw):
        return [row[0] for row in raw.execute("SELECT name FROM sqlite_master WHERE type = 'table'")]

    raw = sqlite3.connect(place)
    raw.execute("DROP TABLE hearts")
    raw.execute(f"UPDATE {VERSION_TABLE} SET version_num = '0006'")
    raw.commit()
    raw.close()
    before = rows()
    with open_logbook(place):
        pass
    after = rows()
    assert after.pop("hearts") == []
    assert (before.pop(VERSION_TABLE), after.pop(VERSION_TABLE)) == ([("0006",)], [("0009",)])
    assert after == before


# ---- packings that do not hold what they should


@pytest.mark.parametrize("pack", [zlib.compress, zstandard.compress], ids=["zlib", "zstd"])
def test_what_is_cut_off_changed_or_of_another_file_is_damaged(pack):
    small = pack(TEXT)
    damaged(b"")
    damaged(small[:1])
    damaged(small[:4])
    damaged(small[:-5])
    damaged(pack(TEXT[:-1]))
    damaged(pack(TEXT + b"\n"))
    damaged(pack(TEXT[:-1] + b"x"))
    damaged(small[:9] + bytes([small[9] ^ 255]) + small[10:])
    for size in (-1, -2, 0, len(TEXT) - 1, len(TEXT) + 1, 2**62, 2**63 - 1):
        damaged(small, size=size)
    assert unpacked(sha(TEXT), len(TEXT), True, small) == TEXT


def test_a_frame_that_says_another_size_of_itself_is_damaged():
    # RFC 8878, 3.1.1.1: magic number, descriptor, here a size of four bytes (flag 2) of a single segment (bit 5)
    small = zstandard.compress(bytes(70_000))
    assert small[4] & 0xE0 == 0xA0
    assert int.from_bytes(small[5:9], "little") == 70_000
    for said in (0, 1, 69_999, 70_001, 2**32 - 1):
        damaged(small[:5] + said.to_bytes(4, "little") + small[9:], bytes(70_000))
    assert unpacked(sha(bytes(70_000)), 70_000, True, small) == bytes(70_000)


@pytest.mark.parametrize(
    "pack", [zlib.compressobj, lambda: zstandard.ZstdCompressor().compressobj()], ids=["zlib", "zstd"]
)
@pytest.mark.parametrize("size", [0, 5, MIB, MIB + 1])
def test_what_unpacks_to_far_more_is_not_unpacked(pack, size):
    packer = pack()
    bomb = b"".join([packer.compress(bytes(MIB)) for _ in range(256)] + [packer.flush()])
    assert len(bomb) < MIB
    assert damaged(bomb, size=size) < 3 * size + 2 * MIB


def test_a_packing_that_asks_for_much_memory_was_not_made_here():
    for window, good in ((23, True), (24, False)):
        parameters = zstandard.ZstdCompressionParameters.from_level(1, window_log=window)
        packer = zstandard.ZstdCompressor(compression_params=parameters).compressobj()
        small = packer.compress(TEXT) + packer.flush()
        if good:
            assert unpacked(sha(TEXT), len(TEXT), True, small) == TEXT
        else:
            damaged(small)


def test_what_is_not_packed_is_given_back_as_it_is():
    for data in (b"", recording(), zstandard.compress(TEXT), zlib.compress(TEXT)):
        assert unpacked(sha(data), len(data), False, data) == data
        with pytest.raises(LogbookDamaged):
            unpacked(sha(data), len(data), False, data + b"x")
        with pytest.raises(LogbookDamaged):
            unpacked(sha(data), len(data) + 1, False, data)


def numbers(size):
    """So many bytes of a table as a movement sensor writes it."""
    rng = random.Random(5)
    rows = (f"{at * 10},{rng.gauss(0, 0.05):.4f},{rng.gauss(1, 0.05):.4f}\n" for at in range(size // 15))
    return "".join(rows).encode()[:size]


@pytest.mark.parametrize("size", [2**20 - 1, 2**20])
def test_a_long_file_of_numbers_is_packed_smaller_than_the_level_makes_it_and_a_short_one_by_the_level(size):
    data = numbers(size)
    assert len(data) == size
    level, found = zstandard.ZstdCompressor(level=1).compress(data), packed("a", data)
    assert found.content() == data
    if size < 2**20:
        assert found.data == level
    else:
        assert len(found.data) < 0.98 * len(level)


def test_a_long_file_in_pieces_is_packed_by_the_same_settings_and_states_a_window_that_can_be_read():
    data = numbers(2**20)
    found = packed_piecewise("a", pieces(data))
    assert found.content() == data
    assert len(found.data) < 0.98 * len(zstandard.ZstdCompressor(level=1).compress(data))
    assert zstandard.get_frame_parameters(found.data).window_size == 2**19
