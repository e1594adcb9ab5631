"""What a file that no reader claims seems to be, in plain words, from its first bytes.

The marks are the formats' own: each stands at a fixed place at the beginning of a file. Only the first 4 KiB
are looked at.
"""

import re
from collections.abc import Sequence

from ..words.message import Message, Quoted
from .refusal_messages import looks_like, looks_like_xml
from .xml.points import root_name

_MARKS: tuple[tuple[int, bytes, str], ...] = (
    (0, b"\x89PNG\r\n\x1a\n", "png_picture"),
    (0, b"\xff\xd8\xff", "jpeg_picture"),
    (0, b"GIF8", "gif_picture"),
    (0, b"BM", "bmp_picture"),
    (0, b"II*\0", "tiff_picture"),
    (0, b"MM\0*", "tiff_picture"),
    (8, b"WEBP", "webp_picture"),
    (4, b"ftyphei", "heic_picture"),
    (4, b"ftypmif1", "heic_picture"),
    (4, b"ftypavif", "avif_picture"),
    (4, b"ftyp", "mp4"),
    (4, b"moov", "quicktime_video"),
    (0, b"\x1aE\xdf\xa3", "matroska_video"),
    (8, b"AVI ", "avi_video"),
    (8, b"WAVE", "wav_sound_file"),
    (0, b"ID3", "mp3_sound_file"),
    (0, b"OggS", "ogg_sound_file"),
    (0, b"fLaC", "flac_sound_file"),
    (0, b"%PDF", "pdf_document"),
    (0, b"{\\rtf", "rtf_document"),
    (0, b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", "old_office"),
    (0, b"SQLite format 3\0", "sqlite_database"),
    (0, b"\x89HDF\r\n\x1a\n", "hdf5_file"),
    (0, b"MATLAB 5.0", "matlab_file"),
    (0, b"\x93NUMPY", "numpy_array"),
    (0, b"PAR1", "parquet_table"),
    (0, b"\x7fELF", "program"),
    (0, b"MZ", "program"),
    (0, b"\xcf\xfa\xed\xfe", "program"),
    (0, b"\xca\xfe\xba\xbe", "program"),
    (0, b"\x1f\x8b", "gzip_archive"),
    (0, b"BZh", "bzip2_archive"),
    (0, b"\xfd7zXZ\0", "xz_archive"),
    (0, b"(\xb5/\xfd", "zstd_archive"),
    (0, b"7z\xbc\xaf\x27\x1c", "7z_archive"),
    (0, b"Rar!\x1a\x07", "rar_archive"),
    (257, b"ustar", "tar_archive"),
)
"""Offset, bytes, words; from the formats' own specifications, the container types of ISO base media before it."""

_OFFICE = {"xl": "excel_spreadsheet", "word": "word_document", "ppt": "powerpoint_presentation"}
_LOCAL_NAME = re.compile(rb"PK\x03\x04.{22}(..)..", re.DOTALL)  # the length of a name, which follows
_SHORT = 3  # a mark of so few letters may begin a text as well
_NOT_TEXT = re.compile(rb"[\x00-\x08\x0e-\x1a\x1c-\x1f\x7f]")


ARCHIVES = frozenset(
    {
        *("zip_archive", "gzip_archive", "bzip2_archive", "xz_archive", "zstd_archive"),
        *("7z_archive", "rar_archive", "tar_archive"),
    }
)


def describe_unknown(head: bytes) -> Message:
    """Say what a file seems to be, from its first bytes; 4096 are enough.

    Returns a noun phrase, for a sentence such as "this looks like a PNG picture, not a recording".
    """
    kind = kind_of(head)
    root = _root_of(head) if kind == "xml" else ""
    return looks_like_xml(Quoted(root)) if root else looks_like(kind)


def is_archive(head: bytes) -> bool:
    """Whether a file seems to be a mere archive."""
    return kind_of(head) in ARCHIVES


def kind_of(head: bytes) -> str:
    """Which kind a file seems to be, as a key of the words ``looks_like``."""
    if not head:
        return "empty_file"
    if not head.strip(b"\0"):
        return "zero_bytes"
    if head.startswith((b"PK\x03\x04", b"PK\x05\x06")):
        return describe_zip(_names_in_zip(head)) or "zip_archive"
    binary = _NOT_TEXT.search(head) is not None
    for offset, mark, words in _MARKS:
        if head.startswith(mark, offset) and (binary or len(mark) > _SHORT):
            return words
    if head.startswith((b"\xff\xfe", b"\xfe\xff")):
        return _text(head.decode("utf-16", "replace").encode())
    return "unknown_bytes" if binary else _text(head)


def describe_zip(names: Sequence[str]) -> str:
    """Which document a zip file with these names in it is, a key as of ``kind_of``; '' for a mere archive."""
    if "[Content_Types].xml" in names:
        folders = {name.partition("/")[0] for name in names}
        return next((words for folder, words in _OFFICE.items() if folder in folders), "office_document")
    return "open_document" if "mimetype" in names[:1] else ""


def _names_in_zip(head: bytes) -> list[str]:
    """Names that stand in the first bytes of a zip file."""
    spans = ((found.end(), int.from_bytes(found[1], "little")) for found in _LOCAL_NAME.finditer(head))
    return [head[begin : begin + length].decode("utf-8", "replace") for begin, length in spans]


def _text(head: bytes) -> str:
    """Kinds of text."""
    start = head.removeprefix(b"\xef\xbb\xbf").lstrip().lower()
    if start.startswith((b"<!doctype html", b"<html", b"<head", b"<body")) or b"<html" in start[:1024]:
        return "web_page"
    if root_name(head):
        return "xml"
    if start.startswith(b"#!"):
        return "script"
    if start.startswith((b"{", b"[")):
        return "json_file"
    return "plain_text" if start else "white_space"


def _root_of(head: bytes) -> str:
    """The name of the outermost element of an XML file."""
    return "".join(letter for letter in (root_name(head) or "")[:40] if letter.isalnum() or letter in "-_.")
