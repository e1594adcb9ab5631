"""What a file that no reader claims seems to be, in plain words, from its first bytes.

The marks are the formats' own: each stands at a fixed place at the beginning of a file. Only the first 4 KiB
are looked at.
"""

import re
from collections.abc import Sequence

from .xml.points import root_name

_MARKS: tuple[tuple[int, bytes, str], ...] = (
    (0, b"\x89PNG\r\n\x1a\n", "a PNG picture"),
    (0, b"\xff\xd8\xff", "a JPEG picture"),
    (0, b"GIF8", "a GIF picture"),
    (0, b"BM", "a BMP picture"),
    (0, b"II*\0", "a TIFF picture"),
    (0, b"MM\0*", "a TIFF picture"),
    (8, b"WEBP", "a WebP picture"),
    (4, b"ftyphei", "a HEIC picture"),
    (4, b"ftypmif1", "a HEIC picture"),
    (4, b"ftypavif", "an AVIF picture"),
    (4, b"ftyp", "an MP4 video or sound file"),
    (4, b"moov", "a QuickTime video"),
    (0, b"\x1aE\xdf\xa3", "a Matroska video"),
    (8, b"AVI ", "an AVI video"),
    (8, b"WAVE", "a WAV sound file"),
    (0, b"ID3", "an MP3 sound file"),
    (0, b"OggS", "an Ogg sound file"),
    (0, b"fLaC", "a FLAC sound file"),
    (0, b"%PDF", "a PDF document"),
    (0, b"{\\rtf", "an RTF document"),
    (0, b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", "an old Word or Excel document"),
    (0, b"SQLite format 3\0", "an SQLite database"),
    (0, b"\x89HDF\r\n\x1a\n", "an HDF5 file"),
    (0, b"MATLAB 5.0", "a MATLAB file"),
    (0, b"\x93NUMPY", "a NumPy array"),
    (0, b"PAR1", "a Parquet table"),
    (0, b"\x7fELF", "a program"),
    (0, b"MZ", "a program"),
    (0, b"\xcf\xfa\xed\xfe", "a program"),
    (0, b"\xca\xfe\xba\xbe", "a program"),
    (0, b"\x1f\x8b", "a gzip archive"),
    (0, b"BZh", "a bzip2 archive"),
    (0, b"\xfd7zXZ\0", "an xz archive"),
    (0, b"(\xb5/\xfd", "a zstd archive"),
    (0, b"7z\xbc\xaf\x27\x1c", "a 7z archive"),
    (0, b"Rar!\x1a\x07", "a RAR archive"),
    (257, b"ustar", "a tar archive"),
)
"""Offset, bytes, words; from the formats' own specifications, the container types of ISO base media before it."""

_OFFICE = {"xl": "an Excel spreadsheet", "word": "a Word document", "ppt": "a PowerPoint presentation"}
_LOCAL_NAME = re.compile(rb"PK\x03\x04.{22}(..)..", re.DOTALL)  # the length of a name, which follows
_SHORT = 3  # a mark of so few letters may begin a text as well
_NOT_TEXT = re.compile(rb"[\x00-\x08\x0e-\x1a\x1c-\x1f\x7f]")


def describe_unknown(head: bytes) -> str:
    """Say what a file seems to be, from its first bytes; 4096 are enough.

    Returns a noun phrase, for a sentence such as "this looks like a PNG picture, not a recording".
    """
    if not head:
        return "an empty file"
    if not head.strip(b"\0"):
        return "nothing but zero bytes, as after a copy that failed"
    if head.startswith((b"PK\x03\x04", b"PK\x05\x06")):
        return describe_zip(_names_in_zip(head)) or "a zip archive"
    binary = _NOT_TEXT.search(head) is not None
    for offset, mark, words in _MARKS:
        if head.startswith(mark, offset) and (binary or len(mark) > _SHORT):
            return words
    if head.startswith((b"\xff\xfe", b"\xfe\xff")):
        return _text(head.decode("utf-16", "replace").encode())
    return "bytes of a kind that is not known here" if binary else _text(head)


def describe_zip(names: Sequence[str]) -> str:
    """Which document a zip file with these names in it is, '' for a mere archive."""
    if "[Content_Types].xml" in names:
        folders = {name.partition("/")[0] for name in names}
        return next((words for folder, words in _OFFICE.items() if folder in folders), "an Office document")
    return "an OpenDocument file or an e-book" if "mimetype" in names[:1] else ""


def _names_in_zip(head: bytes) -> list[str]:
    """Names that stand in the first bytes of a zip file."""
    spans = ((found.end(), int.from_bytes(found[1], "little")) for found in _LOCAL_NAME.finditer(head))
    return [head[begin : begin + length].decode("utf-8", "replace") for begin, length in spans]


def _text(head: bytes) -> str:
    """Kinds of text."""
    start = head.removeprefix(b"\xef\xbb\xbf").lstrip().lower()
    if start.startswith((b"<!doctype html", b"<html", b"<head", b"<body")) or b"<html" in start[:1024]:
        return "a web page (HTML)"
    root = root_name(head)
    if root:
        name = "".join(letter for letter in root[:40] if letter.isalnum() or letter in "-_.")
        return f"an XML file of another kind (its outermost element is {name})"
    if start.startswith(b"#!"):
        return "a script"
    if start.startswith((b"{", b"[")):
        return "a JSON file"
    return "plain text" if start else "nothing but white space"
