"""Pages into a folder: each file is written whole or not at all, and a folder that cannot be written is a sentence."""

import errno
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Literal, TypeAlias

from ...errors import DiskFull, UnreadableFile
from ...records.store.atomic_files import write_whole
from ..page import Page

Format: TypeAlias = Literal["pdf", "html", "png"]
FORMATS: tuple[Format, ...] = ("pdf", "html", "png")
_NO_ROOM = frozenset({errno.ENOSPC, errno.EDQUOT})
_WHY = {
    errno.EACCES: "this account may not write here",
    errno.EPERM: "this account may not write here",
    errno.EROFS: "the disk can be read and not written",
    errno.ENOTDIR: "a file stands where the folder should be",
    errno.EEXIST: "a file stands where the folder should be",
    errno.EISDIR: "a folder stands where the page should be",
    errno.ENAMETOOLONG: "the name is too long for this disk",
}


def rendered(page: Page, form: Format) -> tuple[bytes, ...]:
    """The page's files in one form: one, or as a PNG one for each sheet of paper."""
    if form == "html":
        from .html import to_html

        return (to_html(page),)
    if form == "pdf":
        from .pdf import to_pdf

        return (to_pdf(page),)
    from .png import to_png

    return to_png(page)


def write_page(
    page: Page,
    folder: Path,
    stem: str,
    forms: Sequence[Format],
    *,
    check: Callable[[Sequence[Path]], None] = lambda _: None,
) -> tuple[Path, ...]:
    """Write a page in each form; a file of that name is replaced, for a page can always be made again.

    check : is given the paths before they are written, and raises where one must not be

    Raises
    ------
    UnreadableFile
        If the folder cannot be made or written.
    DiskFull
        If there is no room; what was being written is taken back.
    """
    paths = []
    for form in forms:
        sheets = rendered(page, form)
        parts = [f"-{number}" for number in range(1, len(sheets) + 1)] if len(sheets) > 1 else [""]
        here = [folder / f"{stem}{part}.{form}" for part in parts]
        check(here)
        for path, data in zip(here, sheets, strict=True):
            _write(path, data)
        paths += here
    return tuple(paths)


def _write(path: Path, data: bytes) -> None:
    """Whole or not at all; not forced to disk, for a page can always be made again."""
    try:
        path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        write_whole(path, data, forced=False)
    except OSError as failure:
        if failure.errno in _NO_ROOM:
            raise DiskFull("there is no room for the page.", where=str(path), mend="Make room, or use --out.") from None
        why = _WHY.get(failure.errno or 0, "the page cannot be written here")
        raise UnreadableFile(f"{why}.", where=str(path), mend="Choose another folder: --out FOLDER.") from None
