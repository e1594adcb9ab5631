"""A page as one HTML file: nothing from outside, readable on a phone, at 200 % and in print.

Roles are written out, so that a table stays one when its cells are stacked on a narrow screen.
"""

import re
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

from markupsafe import Markup, escape

from .. import palette
from ..page import Block, Page, kept_together

if TYPE_CHECKING:
    import jinja2

_HERE = Path(__file__).parent
SHORT = 16
"""Amounts of up to so many characters are kept on one line."""
_POLICY = "default-src 'none'; style-src 'unsafe-inline'; img-src data:; font-src data:"


def to_html(page: Page) -> bytes:
    """The whole file, in UTF-8. Every text is escaped: markup in a note is shown as it was typed."""
    template = _environment().get_template("page.html")
    return template.render(page=page, policy=_POLICY, style=_style()).encode("utf-8", "replace")


@lru_cache
def _environment() -> "jinja2.Environment":
    """The templates, with what a page's texts go through."""
    import jinja2

    found = jinja2.Environment(
        loader=jinja2.FileSystemLoader(_HERE / "templates"),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        keep_trailing_newline=True,
    )
    found.filters |= {"shown": shown, "svg": _svg, "block_name": _block_name}
    found.tests["amount"] = is_amount
    return found


@lru_cache
def _style() -> Markup:
    """The style sheet with the palette's colours in it."""
    css = (_HERE / "look" / "page.css").read_text(encoding="utf-8")
    return Markup(re.sub(r"\$([A-Z]+)", lambda found: getattr(palette, found[1]), css))  # noqa: S704 our own file


def shown(text: str) -> Markup:
    """Text with its markup escaped and line breaks kept; characters that no page may hold are left out."""
    plain = "".join(each for each in text if each in "\n\t" or each.isprintable() or each in "\u200d\u2067\u2069")
    return Markup("<br>").join(kept_together(plain).split("\n"))


def _block_name(block: Block) -> str:
    return type(block).__name__


def is_amount(text: str) -> bool:
    """Whether a cell is a short amount, which stays on one line."""
    return 0 < len(text) <= SHORT and any(map(str.isdigit, text))


def _svg(svg: bytes, alt: str, name: str, kind: str) -> Markup:
    """An SVG for a place inside HTML: no prologue, metadata, script or address; its own ids; its own name."""
    text = svg.decode("utf-8", "replace")
    text = text[text.index("<svg") :]
    text = re.sub(r"<(metadata|script|title|desc)\b.*?</\1>", "", text, flags=re.DOTALL)
    text = re.sub(r'\sxmlns(?::\w+)?="[^"]*"', "", text)
    text = re.sub(r'\bid="', f'id="{name}-', text)
    text = re.sub(r'(href="|url\()#', rf"\1#{name}-", text)
    text = re.sub(r"<style[^>]*>.*?</style>", lambda found: _scoped(found[0], name), text, flags=re.DOTALL)
    opening, close, rest = text.partition(">")
    opening = re.sub(r'\s(?:width|height|role|aria-\w+|class)="[^"]*"', "", opening)
    named = f'{opening} id="{name}" class="{kind}" role="img" aria-label="{escape(alt)}"'
    return Markup(f"{named}{close}{rest}".strip())  # noqa: S704 drawn by this package


def _scoped(style: str, name: str) -> str:
    """A picture's own style, for that picture only."""
    return re.sub(r"(?<=[>}])\s*([^<>{}]+)\{", lambda found: _selectors(found[1], name), style)


def _selectors(text: str, name: str) -> str:
    return ", ".join(f"#{name} {each.strip()}" for each in text.split(",")) + " {"
