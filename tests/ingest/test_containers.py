"""From paths to files: packings, limits, damage, and the words for what is no recording."""

import bz2
import gzip
import io
import lzma
import os
import random
import sqlite3
import struct
import sys
import tarfile
import tracemalloc
import wave
import zipfile
import zlib
from hashlib import sha256
from pathlib import Path

import numpy as np
import pytest
from ownmark.errors import DamagedFile, EmptyFile, IngestError, TooLarge, UnknownFormat, UnreadableFile
from ownmark.ingest import containers
from ownmark.ingest.containers import MIB, Member, members
from ownmark.ingest.files import parse_each, read_each
from ownmark.ingest.recording import Hints
from ownmark.ingest.unknown_formats import describe_unknown

from tests.makers.refusals import said
from tests.makers.sheets import texts

TRACK = "".join(
    f"<trkpt><time>2026-01-05T08:00:{n % 60:02d}Z</time><hr>{90 + n % 80}</hr></trkpt>\n" for n in range(900)
)
DATA = TRACK.encode()


def only(path: str | Path) -> Member | IngestError:
    found = list(members(path))
    assert len(found) == 1
    return found[0]


def put(folder: Path, name: str, data: bytes) -> Path:
    path = folder / name
    path.write_bytes(data)
    return path


def bag(folder: Path, entries: dict[str, bytes], method: int = zipfile.ZIP_DEFLATED, name: str = "bag.zip") -> Path:
    """A zip archive made by the standard library."""
    path = folder / name
    with zipfile.ZipFile(path, "w", method) as archive:
        for entry, data in entries.items():
            archive.writestr(entry, data)
    return path


def zeros_gz(count: int) -> bytes:
    """A gzip file of so many zero bytes, made piece by piece."""
    packer = zlib.compressobj(9, zlib.DEFLATED, 31)
    return b"".join(packer.compress(bytes(MIB)) for _ in range(count // MIB)) + packer.flush()


def test_a_plain_file_is_one_member_under_the_name_the_user_gave(tmp_path, monkeypatch):
    put(tmp_path, "strap.tcx", DATA)
    monkeypatch.chdir(tmp_path)
    hints = Hints(rate_hz=50.0)
    (member,) = members("./strap.tcx", hints)
    assert isinstance(member, Member)
    assert member.source.name == "./strap.tcx"
    assert member.data == DATA
    assert (member.source.sha256, member.source.size) == (sha256(DATA).hexdigest(), len(DATA))
    assert member.source.hints is hints
    assert texts(member.notes) == ()


@pytest.mark.parametrize("name", ["strap.gz", "strap.tcx", "strap"])
def test_gzip_is_known_by_its_content_and_keeps_the_fingerprint_of_the_file_on_the_disk(tmp_path, name):
    packed = gzip.compress(DATA)
    member = only(put(tmp_path, name, packed))
    assert isinstance(member, Member)
    assert member.data == DATA
    assert member.source.name == str(tmp_path / name)
    assert (member.source.sha256, member.source.size) == (sha256(packed).hexdigest(), len(packed))
    assert texts(member.notes) == ()


def test_a_plain_file_called_gz_is_not_unpacked(tmp_path):
    member = only(put(tmp_path, "strap.zip.gz", DATA))
    assert isinstance(member, Member)
    assert member.data == DATA


@pytest.mark.parametrize("method", [zipfile.ZIP_DEFLATED, zipfile.ZIP_STORED])
def test_a_zip_gives_each_file_in_it_and_gzip_in_it_is_unpacked(tmp_path, method):
    packed = gzip.compress(DATA[:500])
    entries = {"strap.tcx": DATA, "class 3/wrist.csv": b"time,hr\n0,90\n", "ride.gpx.gz": packed}
    path = bag(tmp_path, entries, method, name="monday.bin")
    found = list(members(path))
    assert all(isinstance(member, Member) for member in found)
    assert [member.source.name for member in found] == [f"{path}/{name}" for name in entries]
    assert [member.data for member in found] == [DATA, b"time,hr\n0,90\n", DATA[:500]]
    # The fingerprint is that of the file as it lies in the folder once the archive is unpacked.
    assert [member.source.sha256 for member in found] == [sha256(data).hexdigest() for data in entries.values()]
    assert [member.source.size for member in found] == [len(data) for data in entries.values()]


def test_a_file_has_the_same_fingerprint_alone_and_in_a_bag(tmp_path):
    packed = gzip.compress(DATA)
    alone, bagged = only(put(tmp_path, "a.gz", packed)), only(bag(tmp_path, {"b.gz": packed}))
    assert isinstance(alone, Member)
    assert isinstance(bagged, Member)
    assert alone.source.sha256 == bagged.source.sha256


def test_folders_hidden_files_and_the_additions_of_an_operating_system_are_passed_over(tmp_path):
    entries = {
        "class 3/": b"",
        "class 3/.DS_Store": b"x",
        ".hidden/strap.tcx": b"x",
        "__MACOSX/class 3/._strap.tcx": b"x",
        "class 3\\.note": b"x",
        "class 3/strap.tcx": DATA,
        "../strap.tcx": DATA,
    }
    found = list(members(bag(tmp_path, entries)))
    assert [member.source.name.partition(".zip/")[2] for member in found if isinstance(member, Member)] == [
        "class 3/strap.tcx",
        "../strap.tcx",
    ]
    assert not (tmp_path.parent / "strap.tcx").exists()  # nothing is unpacked to the disk


def _patched(path: Path, name: str, offset_local: int, offset_central: int, value: bytes) -> None:
    """Overwrite one header field of a member in both places where a zip file states it (APPNOTE 4.3.7, 4.3.12)."""
    data = bytearray(path.read_bytes())
    local = data.index(name.encode()) - 30
    central = data.rindex(name.encode()) - 46
    assert data[local : local + 4] == b"PK\x03\x04"
    assert data[central : central + 4] == b"PK\x01\x02"
    data[local + offset_local : local + offset_local + len(value)] = value
    data[central + offset_central : central + offset_central + len(value)] = value
    path.write_bytes(data)


def test_one_bad_member_stops_no_other(tmp_path):
    inner = bag(tmp_path, {"x.tcx": DATA}, name="inner.zip").read_bytes()
    entries = {
        "1.tcx": DATA,
        "locked.tcx": DATA,
        "torn.tcx": DATA,
        "empty.tcx": b"",
        "inner.zip": inner,
        "zip.gz": gzip.compress(inner),
        "gz.gz": gzip.compress(gzip.compress(DATA)),
        "rubbish.gz": b"\x1f\x8b\x08 and no packing",
        "2.tcx": DATA,
    }
    path = bag(tmp_path, entries)
    _patched(path, "locked.tcx", 6, 8, struct.pack("<H", 1))  # bit 0: encrypted
    data = bytearray(path.read_bytes())
    data[data.index(b"torn.tcx") + 40] ^= 0xFF  # inside its packed bytes
    path.write_bytes(data)
    found = list(members(path))
    kinds = [type(member) for member in found]
    assert kinds == [
        Member,
        UnreadableFile,
        DamagedFile,
        EmptyFile,
        UnreadableFile,
        UnreadableFile,
        UnreadableFile,
        DamagedFile,
        Member,
    ]
    errors = [member for member in found if isinstance(member, IngestError)]
    assert [error.where for error in errors] == [f"{path}/{name}" for name in list(entries)[1:-1]]
    assert "password" in said(errors[0].what)
    assert "archive inside an archive" in said(errors[3].what)
    assert all(said(error.what).endswith(".") and said(error.mend).endswith(".") for error in errors)


@pytest.mark.parametrize("method", [zipfile.ZIP_BZIP2, zipfile.ZIP_LZMA])
def test_a_packing_whose_unpacked_pieces_cannot_be_bounded_is_refused(tmp_path, method):
    refusal = only(bag(tmp_path, {"strap.tcx": DATA}, method))
    assert isinstance(refusal, UnreadableFile)
    assert "compressed in a way that is not supported" in said(refusal.what)


def test_a_member_with_a_wrong_checksum_is_refused(tmp_path):
    path = bag(tmp_path, {"strap.tcx": DATA}, zipfile.ZIP_STORED)
    data = bytearray(path.read_bytes())
    data[200] ^= 1
    path.write_bytes(data)
    assert isinstance(only(path), DamagedFile)


def test_a_member_that_is_longer_than_it_states_is_refused(tmp_path):
    path = bag(tmp_path, {"strap.tcx": bytes(1000)})
    _patched(path, "strap.tcx", 22, 24, struct.pack("<I", 10))
    assert isinstance(only(path), DamagedFile)


@pytest.mark.parametrize("keep", [30, 200, -30, -1])
def test_a_zip_without_its_end_is_refused_as_damaged(tmp_path, keep):
    whole = bag(tmp_path, {"a.tcx": DATA, "b.tcx": DATA}).read_bytes()
    refusal = only(put(tmp_path, "cut.zip", whole[:keep]))
    assert isinstance(refusal, DamagedFile)
    assert refusal.where == str(tmp_path / "cut.zip")


def test_a_zip_with_nothing_in_it_is_empty(tmp_path):
    assert isinstance(only(bag(tmp_path, {})), EmptyFile)
    assert isinstance(only(bag(tmp_path, {"a/": b"", "__MACOSX/x": b"x"})), EmptyFile)


def test_a_gzip_file_cut_off_anywhere_gives_every_byte_before_the_cut_and_tells(tmp_path):
    packed = gzip.compress(DATA)
    for cut in range(3, len(packed), 11):
        found = only(put(tmp_path, "cut.gz", packed[:cut]))
        if isinstance(found, IngestError):
            assert isinstance(found, DamagedFile)
            assert cut < 80  # before the first bytes come out
            continue
        # zlib's own streaming interface, without any limit, gives as much and no more
        assert found.data == zlib.decompressobj(31).decompress(packed[:cut])
        assert texts(found.notes) == (
            f"The compressed file is cut off: its end is missing. {len(found.data)} bytes were unpacked.",
        )
    assert isinstance(only(put(tmp_path, "whole.gz", packed)), Member)


def test_nothing_is_lost_where_a_cut_meets_the_end_of_a_piece(tmp_path):
    # In packed zeros one byte holds about 1,032: a piece of 256 KiB ends in the middle of what a byte says.
    packed = zeros_gz(MIB)
    for cut in range(240, 300):
        found = only(put(tmp_path, "cut.gz", packed[:cut]))
        assert isinstance(found, Member)
        assert len(found.data) == len(zlib.decompressobj(31).decompress(packed[:cut]))


def test_a_gzip_file_with_a_wrong_checksum_is_kept_whole_and_tells(tmp_path):
    big = random.Random(1).randbytes(3 * MIB) + DATA
    for data in (DATA, big):
        packed = bytearray(gzip.compress(data))
        packed[-6] ^= 1
        member = only(put(tmp_path, "wrong.gz", bytes(packed)))
        assert isinstance(member, Member)
        assert member.data == data
        assert "damaged" in texts(member.notes)[0]


def test_damage_inside_a_gzip_file_keeps_what_stands_before_it(tmp_path):
    whole = gzip.compress(DATA)
    half = len(whole) // 2
    torn = whole[:half] + random.Random(4).randbytes(half)
    with pytest.raises(zlib.error):  # which is all that zlib gives
        zlib.decompressobj(31).decompress(torn)
    member = only(put(tmp_path, "torn.gz", torn))
    assert isinstance(member, Member)
    good = zlib.decompressobj(31).decompress(whole[:half])
    assert len(good) > 5000
    assert member.data[: len(good)] == good
    assert "damaged" in texts(member.notes)[0]


def test_packings_behind_each_other_are_one_file_as_rfc_1952_says(tmp_path):
    # RFC 1952 2.2: "A gzip file consists of a series of members". Zeros fill up a block of a tape.
    member = only(put(tmp_path, "two.gz", gzip.compress(DATA) + gzip.compress(b"more") + bytes(2000)))
    assert isinstance(member, Member)
    assert (member.data, texts(member.notes)) == (DATA + b"more", ())
    member = only(put(tmp_path, "tail.gz", gzip.compress(DATA) + b"tail"))
    assert isinstance(member, Member)
    assert member.data == DATA
    assert "after the end" in texts(member.notes)[0]


@pytest.mark.parametrize("packed", [gzip.compress(b""), gzip.compress(b"") * 2], ids=["once", "twice"])
def test_an_empty_file_in_gzip_is_empty(tmp_path, packed):
    assert isinstance(only(put(tmp_path, "empty.gz", packed)), EmptyFile)


def test_a_file_of_2_gb_is_refused_without_reading_it(tmp_path):
    path = tmp_path / "huge.csv"
    with path.open("wb") as handle:
        handle.truncate(2 * 1024**3)
    tracemalloc.start()
    refusal = only(path)
    assert tracemalloc.get_traced_memory()[1] < 1e6
    tracemalloc.stop()
    assert isinstance(refusal, TooLarge)
    assert "2048 MiB" in said(refusal.what)
    assert "at most 512" in said(refusal.what)


def _refused_within(path: Path, limit: float) -> IngestError:
    """The one refusal of a path, which took no more than so many bytes of memory."""
    tracemalloc.start()
    refusal = only(path)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert isinstance(refusal, TooLarge)
    assert peak < limit
    return refusal


def test_a_gzip_bomb_is_refused_after_16_mib(tmp_path):
    bomb = zeros_gz(130 * MIB)
    assert len(bomb) < MIB
    _refused_within(put(tmp_path, "bomb.gz", bomb), 20 * MIB)
    _refused_within(bag(tmp_path, {"bomb.gz": bomb}), 20 * MIB)


def test_a_zip_bomb_is_refused_before_it_is_unpacked(tmp_path):
    path = tmp_path / "bomb.zip"
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive, archive.open("strap.tcx", "w") as member:
        for _ in range(100):
            member.write(bytes(MIB))
    refusal = _refused_within(path, 2 * MIB)
    assert refusal.where == f"{path}/strap.tcx"


def test_a_zip_bomb_that_lies_about_its_size_never_gives_more_than_it_states(tmp_path):
    path = tmp_path / "bomb.zip"
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive, archive.open("strap.tcx", "w") as member:
        for _ in range(100):
            member.write(bytes(MIB))
    _patched(path, "strap.tcx", 22, 24, struct.pack("<I", 15 * MIB))
    tracemalloc.start()
    assert isinstance(only(path), DamagedFile)
    assert tracemalloc.get_traced_memory()[1] < 40 * MIB
    tracemalloc.stop()


def test_what_packs_well_and_is_small_is_no_bomb(tmp_path):
    member = only(put(tmp_path, "quiet.gz", zeros_gz(16 * MIB)))
    assert isinstance(member, Member)
    assert len(member.data) == 16 * MIB
    _refused_within(put(tmp_path, "bomb.gz", zeros_gz(17 * MIB)), 20 * MIB)


def test_the_limit_for_a_single_unpacked_file_holds_for_every_packing(tmp_path, monkeypatch):
    monkeypatch.setattr(containers, "MAX_UNPACKED_BYTES", MIB)
    noise = random.Random(2).randbytes(MIB + 1)
    for path in (
        put(tmp_path, "a.gz", gzip.compress(noise)),
        bag(tmp_path, {"a": noise}),
        bag(tmp_path, {"a.gz": gzip.compress(noise)}),
    ):
        assert isinstance(only(path), TooLarge)
    assert isinstance(only(put(tmp_path, "b.gz", gzip.compress(noise[:MIB]))), Member)


def test_all_files_of_an_archive_together_are_bounded_too(tmp_path, monkeypatch):
    monkeypatch.setattr(containers, "MAX_TOTAL_BYTES", 2 * len(DATA))
    path = bag(tmp_path, {f"{number}.tcx": DATA for number in range(9)})
    found = list(members(path))
    assert [type(member) for member in found] == [Member] * 3 + [TooLarge]
    assert isinstance(found[-1], TooLarge)
    assert found[-1].where == str(path)


def test_an_archive_of_1000_files_is_read_and_one_of_1001_is_refused(tmp_path):
    entries = {f"{number}.tcx": b"x" for number in range(1000)} | {f"__MACOSX/{number}": b"x" for number in range(9)}
    assert len(list(members(bag(tmp_path, entries)))) == 1000
    refusal = only(bag(tmp_path, entries | {"one more": b"x"}))
    assert isinstance(refusal, TooLarge)
    assert "more than 1000 files" in said(refusal.what)


def test_an_archive_of_a_hundred_thousand_names_is_refused_before_they_are_read(tmp_path):
    entry = struct.pack("<4s4B4HL2L5H2L", b"PK\x01\x02", 20, 3, 20, 0, 0, 0, 0, 33, 0, 0, 0, 1, 0, 0, 0, 0, 0, 0) + b"x"
    count = 100_000
    end = struct.pack("<4s4H2LH", b"PK\x05\x06", 0, 0, 0xFFFF, 0xFFFF, count * len(entry), 31, 0)
    path = put(tmp_path, "many.zip", struct.pack("<4s26x", b"PK\x03\x04") + b"x" + entry * count + end)
    assert len(zipfile.ZipFile(path).infolist()) == count
    _refused_within(path, 2 * MIB)


def test_what_cannot_be_opened_is_told_in_a_sentence(tmp_path, monkeypatch):
    (tmp_path / "loop").symlink_to(tmp_path / "loop")
    os.mkfifo(tmp_path / "pipe")
    put(tmp_path, "file", b"x")
    cases = {
        tmp_path / "missing.fit": "no such file",
        tmp_path / "file" / "in a file": "no such file",
        tmp_path: "this is a folder",
        tmp_path / "pipe": "a device or a pipe",  # and reading does not wait for it
        Path("/dev/null"): "a device or a pipe",
        tmp_path / "loop": "cannot be opened",
        tmp_path / ("x" * 5000): "cannot be opened",
        tmp_path / "a\0b": "cannot be opened",
    }
    for path, words in cases.items():
        refusal = only(path)
        assert isinstance(refusal, UnreadableFile)
        assert words in said(refusal.what)
        assert said(refusal.what).endswith(".")
    assert isinstance(only(put(tmp_path, "nothing.fit", b"")), EmptyFile)

    def forbidden(path: object) -> None:
        raise PermissionError(13, "Permission denied", path)

    monkeypatch.setattr(containers, "FileIO", forbidden)  # the superuser may read everything
    refusal = only(tmp_path / "file")
    assert isinstance(refusal, UnreadableFile)
    assert "do not have permission" in said(refusal.what)


def test_a_disk_that_fails_while_it_is_read_is_told_in_a_sentence(tmp_path, monkeypatch):
    class Failing(io.FileIO):
        def readall(self) -> bytes:
            raise OSError(5, "Input/output error")

    monkeypatch.setattr(containers, "FileIO", Failing)
    refusal = only(put(tmp_path, "strap.fit", DATA))
    assert isinstance(refusal, UnreadableFile)
    assert "Input/output error" in said(refusal.what)


def test_a_name_that_cannot_be_printed_never_reaches_the_screen(tmp_path):
    names = {
        b"red\x1b[31m.csv": "red\ufffd[31m.csv",
        b"line\nbreak.csv": "line\ufffdbreak.csv",
        b"latin-\xe9.csv": "latin-\ufffd.csv",
        "gnp\u202evsc.exe".encode(): "gnp\ufffdvsc.exe",
        "Zoë 心.csv".encode(): "Zoë 心.csv",
    }
    for name, shown in names.items():
        path = os.fsdecode(os.fsencode(tmp_path) + b"/" + name)
        Path(path).write_bytes(DATA)
        member = only(path)
        assert isinstance(member, Member)
        assert member.source.name == f"{tmp_path}/{shown}"
        member.source.name.encode()
    member = only(bag(tmp_path, {"bell\a.csv": DATA}))
    assert isinstance(member, Member)
    assert member.source.name.endswith(".zip/bell\ufffd.csv")


def test_any_flipped_bit_in_an_archive_gives_members_or_our_own_refusal(tmp_path):
    chance = random.Random(7)
    plain = bag(tmp_path, {"a.tcx": DATA, "b/c.csv.gz": gzip.compress(DATA), "d": b"x"}).read_bytes()
    for whole in (plain, gzip.compress(DATA)):
        for _ in range(400):
            damaged = bytearray(whole)
            for _ in range(chance.randint(1, 4)):
                damaged[chance.randrange(len(whole))] ^= 1 << chance.randrange(8)
            found = list(members(put(tmp_path, "damaged", bytes(damaged))))
            assert found
            assert all(isinstance(member, Member | IngestError) for member in found)


def test_a_document_that_is_a_zip_inside_is_called_what_it_is(tmp_path):
    for folder, words in {"xl": "an Excel spreadsheet", "word": "a Word document", "ppt": "PowerPoint"}.items():
        parts = {"[Content_Types].xml": b"<Types/>", "_rels/.rels": b"<x/>", f"{folder}/main.xml": b"<x/>"}
        path = bag(tmp_path, parts)
        refusal = only(path)
        assert isinstance(refusal, UnknownFormat)
        assert words in said(refusal.what)
        assert words in said(describe_unknown(path.read_bytes()[:4096]))
    path = bag(tmp_path, {"mimetype": b"application/vnd.oasis.opendocument.spreadsheet", "content.xml": b"<x/>"})
    assert isinstance(only(path), UnknownFormat)
    bagged = only(
        bag(tmp_path, {"table.xlsx": bag(tmp_path, {"[Content_Types].xml": b"", "xl/a": b""}, name="x").read_bytes()})
    )
    assert isinstance(bagged, Member)  # which no reader claims, and which is then called a spreadsheet


def test_an_archive_with_a_folder_called_word_is_still_an_archive(tmp_path):
    assert isinstance(only(bag(tmp_path, {"word/strap.tcx": DATA})), Member)
    assert said(describe_unknown(bag(tmp_path, {"word/strap.tcx": DATA}).read_bytes())) == "a zip archive"


def _database(folder: Path) -> bytes:
    with sqlite3.connect(folder / "x.db") as connection:
        connection.execute("create table a (b)")
    connection.close()
    return (folder / "x.db").read_bytes()


def _tar() -> bytes:
    packed = io.BytesIO()
    with tarfile.open(fileobj=packed, mode="w") as archive:
        entry = tarfile.TarInfo("strap.fit")
        entry.size = 4
        archive.addfile(entry, io.BytesIO(b"abcd"))
    return packed.getvalue()


def _sound() -> bytes:
    made = io.BytesIO()
    with wave.open(made, "wb") as sound:
        sound.setnchannels(1)
        sound.setsampwidth(2)
        sound.setframerate(8000)
        sound.writeframes(bytes(100))
    return made.getvalue()


def test_a_stranger_is_called_what_the_program_that_made_it_calls_it(tmp_path):
    # Made by the standard library, or the file of a program that is at hand.
    assert said(describe_unknown(_database(tmp_path)[:4096])) == "an SQLite database"
    assert said(describe_unknown(_tar())) == "a tar archive"
    assert said(describe_unknown(_sound())) == "a WAV sound file"
    assert said(describe_unknown(bz2.compress(DATA))) == "a bzip2 archive"
    assert said(describe_unknown(lzma.compress(DATA))) == "an xz archive"
    assert said(describe_unknown(gzip.compress(DATA))) == "a gzip archive"
    assert said(describe_unknown(Path(sys.executable).read_bytes()[:4096])) == "a program"


@pytest.mark.parametrize(
    ("head", "words"),
    [
        # first bytes from the specifications: PNG 5.2, JFIF 1.02, GIF89a, PDF 7.5.2, ISO 14496-12, MS-CFB 2.2
        (b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR", "a PNG picture"),
        (b"\xff\xd8\xff\xe0\0\x10JFIF\0", "a JPEG picture"),
        (b"GIF89a\x01\0\x01\0", "a GIF picture"),
        (b"BM\x46\0\0\0\0\0\0\0\x36\0\0\0", "a BMP picture"),
        (b"RIFF\x24\0\0\0WEBPVP8 ", "a WebP picture"),
        (b"\0\0\0\x18ftypheic\0\0\0\0", "a HEIC picture"),
        (b"\0\0\0\x20ftypisom\0\0\2\0", "an MP4 video or sound file"),
        (b"%PDF-1.7\n%\xe2\xe3\xcf\xd3\n", "a PDF document"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1\0", "an old Word or Excel document"),
        (b"MZ\x90\0\3\0\0\0", "a program"),
        (b"\n<!DOCTYPE html>\n<html lang='en'>", "a web page (HTML)"),
        (b"\xef\xbb\xbf<HTML>", "a web page (HTML)"),
        (b"<?xml version='1.0'?><k:kml xmlns:k='x'>", "an XML file of another kind (its outermost element is kml)"),
        (b'{"a": 1}', "a JSON file"),
        (b"#!/bin/sh\n", "a script"),
        (b"Dear Zo\xc3\xab,\nthe strap was lost.\n", "plain text"),
        ("Liebe Zoë".encode("utf-16"), "plain text"),
        # two letters do not make a picture or a program
        (b"BMI;heart rate\n21;90\n", "plain text"),
        (b"MZ;heart rate\n21;90\n", "plain text"),
        (bytes(4096), "nothing but zero bytes, as after a copy that failed"),
        (b" \n", "nothing but white space"),
        (b"", "an empty file"),
        (b"\x01\x02\x03 strange", "bytes of a kind that is not known here"),
    ],
)
def test_a_stranger_is_called_what_its_first_bytes_say(head, words):
    assert said(describe_unknown(head)) == words


def test_any_bytes_are_described():
    chance = random.Random(3)
    starts = [b"", b"PK\x03\x04", b"<", b"\xff\xfe<\0", b"PK\x05\x06"]
    for _ in range(300):
        assert said(describe_unknown(chance.choice(starts) + chance.randbytes(chance.randrange(200))))


def test_bytes_at_hand_read_like_the_file_they_came_from(tmp_path):
    table = b"Seconds,Heart Rate (bpm)\n0,90\n1,91\n2,92\n"
    bag = io.BytesIO()
    with zipfile.ZipFile(bag, "w") as archive:
        archive.writestr("strap.csv", table)
    for name, data in (("strap.csv", table), ("strap.csv.gz", gzip.compress(table)), ("bag.zip", bag.getvalue())):
        path = tmp_path / name
        path.write_bytes(data)
        (from_disk,) = list(read_each([path]))
        (from_bytes,) = list(parse_each([(name, data)]))
        assert from_bytes.sources[0].sha256 == from_disk.sources[0].sha256
        assert from_bytes.sources[0].path in (name, "bag.zip/strap.csv")
        np.testing.assert_array_equal(from_bytes["heart_rate"].values, from_disk["heart_rate"].values)
    (empty,) = list(parse_each([("none.fit", b"")]))
    assert empty.reason.code == "empty_file"


def test_an_archive_as_it_would_lie_on_the_disk_keeps_what_is_packed_in_it(tmp_path):
    packed = gzip.compress(b"time_s,heart_rate\n", mtime=0)
    path = tmp_path / "bag.zip"
    with zipfile.ZipFile(path, "w") as archive:
        archive.writestr("a.csv", b"abc")
        archive.writestr("b.csv.gz", packed)
    assert [(each.name.split("/")[-1], b"".join(each.pieces())) for each in containers.unpacked(path)] == [
        ("a.csv", b"abc"),
        ("b.csv.gz", packed),
    ]
    assert [each.data for each in containers.members(path)] == [b"abc", b"time_s,heart_rate\n"]
    assert containers.is_zip(path.read_bytes())
    assert not containers.is_zip(packed)
    missing = list(containers.unpacked(tmp_path / "none.zip"))
    assert [each.code for each in missing] == ["unreadable_file"]
