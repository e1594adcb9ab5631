"""A page as a tagged PDF after PDF/UA-1: the compiler itself refuses a document that breaks it.

The document's source is one fixed file; a page goes in as JSON, so that no text is ever read as markup. The compiler
is kept between pages, which makes every page after the first quick. Fonts are those that the compiler and the drawing
library bring along; the system's own are looked at only for characters that these lack, and what no font can show is
shown as a box, which the foot of the page explains.
"""

import json
import shutil
from dataclasses import asdict
from functools import lru_cache
from importlib.util import find_spec
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING, Any

from ...errors import UnreadableFile
from .. import palette
from ..page import Page, Picture, Table, kept_together
from ..words import Words

if TYPE_CHECKING:
    import typst

_SOURCE = Path(__file__).parent / "look" / "page.typ"
STANDARD = "ua-1"
MISSING = "□"
_SANS = ("DejaVuSans.ttf", "DejaVuSans-Bold.ttf")
WIDE = 6
"""A table of more columns lays the sheet across."""
_LATIN = (*range(0x20, 0x7F), *range(0xA0, 0xAD), *range(0xAE, 0x180))
_QUOTES = (0x2013, 0x2014, 0x2018, 0x2019, 0x201C, 0x201D)
_SURE = frozenset(map(chr, (*_LATIN, *_QUOTES)))
"""Characters that the compiler's own fonts are known to have; a test sets each of them."""
_SURE_TOO = frozenset("…·•–−×≥≤°□′″\n")
_PROBE = '#set document(title: "probe")\n#set text(lang: "en")\n#sys.inputs.text'


def to_pdf(page: Page, *, named: str = "") -> bytes:
    """The page as PDF bytes, the same for the same page.

    named : the title in the file's properties, which a browser shows on its tab and keeps; else the page's own

    Raises
    ------
    typst.TypstError
        Only for a picture that is no SVG: no text can make the compiler refuse.
    """
    return _compiled(page, "pdf", named, pdf_standards=[STANDARD], timestamp=0)


def to_pngs(page: Page, ppi: float) -> tuple[bytes, ...]:
    """Each sheet of paper as a PNG."""
    found = _compiled(page, "png", "", ppi=ppi)
    return tuple(found) if isinstance(found, list) else (found,)


def _compiled(page: Page, format: str, named: str, **more: Any) -> Any:  # noqa: A002, ANN401 the compiler's own word
    """What the compiler makes of the page."""
    plain, whole = _as_json(page, named)
    inputs = {"page": plain, "look": _look()}
    return _compiler(system=whole).compile(_source(), format=format, sys_inputs=inputs, **more)  # pyright: ignore[reportArgumentType]


@lru_cache
def _source() -> bytes:
    return _SOURCE.read_bytes()


@lru_cache
def _compiler(*, system: bool) -> "typst.Compiler":
    """The compiler, with the system's fonts or without them. It reads no file: its root is a folder of this package."""
    import typst

    return typst.Compiler(root=_SOURCE.parent, ignore_system_fonts=not system, font_paths=[_fonts().name])


@lru_cache
def _fonts() -> "TemporaryDirectory[str]":
    """A folder with the sans that the drawing library brings: Greek, Cyrillic, Arabic, Hebrew and many signs.

    The library's own folder cannot be given: a font of last resort lies in it, which has a box for every character.

    Raises
    ------
    UnreadableFile
        If there is no folder for temporary files, or no room in it.
    """
    try:
        folder = TemporaryDirectory(prefix="ownmark-fonts-")
        found = find_spec("matplotlib")
        for place in (found.submodule_search_locations if found else None) or ():
            for name in _SANS:
                shutil.copyfile(Path(place) / "mpl-data" / "fonts" / "ttf" / name, Path(folder.name) / name)
    except OSError:
        raise UnreadableFile(
            "a PDF or PNG page needs the folder of temporary files, and that cannot be written or is full.",
            mend="Make room there, name another folder in TMPDIR, or take --html.",
        ) from None
    return folder


def _look() -> str:
    return json.dumps({name: getattr(palette, name.upper()) for name in ("ink", "quiet", "hairline", "edge", "plum")})


def _as_json(page: Page, named: str = "") -> tuple[str, bool]:
    """The page for the compiler, and whether it needs the system's fonts."""
    blocks, wide = [], False
    for block in page.blocks:
        found = asdict(block) | {"block": type(block).__name__}
        if isinstance(block, Table):
            found |= {"header": block.heads(), "widths": block.widths()}
            wide = wide or len(block.header) > WIDE
        if isinstance(block, Picture):
            found |= {"svg": block.svg.decode("utf-8", "replace")}
            del found["phone_svg"]
        blocks.append(found)
    whole = {name: getattr(page, name) for name in ("title", "language", "subtitle", "footer", "running", "sheet_of")}
    whole["named"] = named or page.title
    before = str(blocks).count(MISSING)
    found, system = _printable({**whole, "blocks": blocks, "wide": wide})
    if str(found["blocks"]).count(MISSING) > before:
        found["footer"] = [*found["footer"], Words(page.language).get("form.missing_sign")]
    return json.dumps(found, ensure_ascii=False), system


def _printable(value: Any) -> tuple[Any, bool]:  # noqa: ANN401 plain data
    """Plain data in which every character can be shown, and whether the system's fonts are needed for it."""
    system = False

    def mended(each: Any) -> Any:  # noqa: ANN401
        nonlocal system
        if isinstance(each, str):
            together = kept_together(each)
            if _SURE.issuperset(together):
                return together
            text, needs = _shown(together)
            system = system or needs
            return text
        if isinstance(each, dict):
            return {name: part if name in ("svg", "block") else mended(part) for name, part in each.items()}
        if isinstance(each, list | tuple):
            return [mended(part) for part in each]
        return each

    return mended(value), system


def _shown(text: str) -> tuple[str, bool]:
    """The text with a box for what no font can show."""
    parts, system = [], False
    for each in text:
        if each in _SURE or each in _SURE_TOO:
            parts.append(each)
        elif each == "\t" or each.isspace():
            parts.append(" ")
        elif not each.isprintable() or each in "\ufe0e\ufe0f\u200d":
            continue  # joins and variants of what stands beside it; without a font for them they say nothing
        elif _has(each, system=False):
            parts.append(each)
        elif _has(each, system=True):
            parts.append(each)
            system = True
        else:
            parts.append(MISSING)
    return "".join(parts), system


@lru_cache(maxsize=4096)
def _has(character: str, *, system: bool) -> bool:
    """Whether a font can show the character: the compiler refuses a PDF/UA document that it cannot."""
    import typst

    try:
        _compiler(system=system).compile(
            _PROBE.encode(), format="pdf", sys_inputs={"text": character}, pdf_standards=[STANDARD]
        )
    except typst.TypstError:
        return False
    return True
