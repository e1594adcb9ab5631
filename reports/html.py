"""A page as one HTML file: nothing from outside, readable on a phone, at 200 % and in print.

Roles are written out, so that a table stays one when its cells are stacked on a narrow screen.
"""

import re
from functools import lru_cache
from html import escape
from pathlib import Path

from . import palette
from .page import Blank, Block, Checklist, Heading, Listing, Note, Page, Paragraph, Picture, Table, kept_together

_CSS = Path(__file__).parent / "look" / "page.css"
SHORT = 16
"""Amounts of up to so many characters are kept on one line."""
_POLICY = "default-src 'none'; style-src 'unsafe-inline'; img-src data:; font-src data:"


def to_html(page: Page) -> bytes:
    """The whole file, in UTF-8. Every text is escaped: markup in a note is shown as it was typed."""
    body = "\n".join(_block(block, place) for place, block in enumerate(page.blocks))
    foot = "\n".join(f'<p dir="auto">{_text(line)}</p>' for line in page.footer)
    footer = f"<footer>\n{foot}\n</footer>\n" if page.footer else ""
    return (
        f'<!DOCTYPE html>\n<html lang="{escape(page.language)}">\n<head>\n<meta charset="utf-8">\n'
        f'<meta http-equiv="Content-Security-Policy" content="{_POLICY}">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{_text(page.title)}</title>\n<style>\n{_style()}</style>\n</head>\n<body>\n"
        f'<header>\n<h1>{_text(page.title)}</h1>\n<p class="subtitle">{_text(page.subtitle)}</p>\n</header>\n'
        f"<main>\n{body}\n</main>\n{footer}</body>\n</html>\n"
    ).encode("utf-8", "replace")


@lru_cache
def _style() -> str:
    """The style sheet with the palette's colours in it."""
    css = _CSS.read_text(encoding="utf-8")
    return re.sub(r"\$([A-Z]+)", lambda found: getattr(palette, found[1]), css)


def _text(text: str) -> str:
    """Text with its markup escaped and line breaks kept; characters that no page may hold are left out."""
    plain = "".join(each for each in text if each in "\n\t" or each.isprintable() or each == "\u200d")
    return escape(kept_together(plain)).replace("\n", "<br>")


def _block(block: Block, place: int) -> str:
    match block:
        case Heading():
            return f"<h{block.level}>{_text(block.text)}</h{block.level}>"
        case Paragraph():
            kind = "" if block.kind == "plain" else f' class="{block.kind}"'
            return f'<p{kind} dir="auto">{_text(block.text)}</p>'
        case Listing():
            return "<ul>\n" + "\n".join(f'<li dir="auto">{_text(item)}</li>' for item in block.items) + "\n</ul>"
        case Checklist():
            return _checklist(block)
        case Table():
            return _table(block)
        case Picture():
            return _picture(block, place)
        case Note():
            title = f"<strong>{_text(block.title)}</strong>" if block.title else ""
            return f'<div class="{block.kind}">{title}<p dir="auto">{_text(block.text)}</p></div>'
        case Blank():
            lines = "".join(f"<dt>{_text(label)}</dt><dd></dd>" for label in block.labels)
            return f'<dl class="blank">{lines}</dl>'


def _checklist(block: Checklist) -> str:
    items = []
    for tick in block.items:
        mark = f'<span class="mark">{_text(tick.mark)}</span>' if tick.mark else ""
        items.append(
            f'<li><label><input type="checkbox"><span class="what">{_text(tick.label)}{mark}</span>'
            f'<span class="how" dir="auto">{_text(tick.value)}</span></label></li>'
        )
    return f'<ul class="ticks" aria-label="{escape(block.name)}">\n' + "\n".join(items) + "\n</ul>"


def _table(block: Table) -> str:
    """A table with roles written out, because a browser drops them where a cell is no longer displayed as one."""
    heads = block.heads()
    head = "".join(
        f'<th scope="col" role="columnheader"{_cell_class(block, place)}>{_text(text)}</th>'
        for place, text in enumerate(heads)
    )
    rows = []
    for row in block.rows:
        first = f'<th scope="row" role="rowheader" dir="auto">{_text(row[0])}</th>'
        cells = "".join(
            f'<td role="cell" dir="auto" data-label="{escape(heads[place])}"{_cell_class(block, place, text)}>'
            f"{_text(text)}</td>"
            for place, text in enumerate(row)
            if place
        )
        rows.append(f'<tr role="row">{first}{cells}</tr>')
    kind = ' class="facts"' if len(heads) == 2 else ""
    return (
        f'<table role="table"{kind}>\n<caption class="hidden">{_text(block.caption)}</caption>\n{_columns(block)}'
        f'<thead role="rowgroup"><tr role="row">{head}</tr></thead>\n<tbody role="rowgroup">\n'
        + "\n".join(rows)
        + "\n</tbody>\n</table>"
    )


def _columns(block: Table) -> str:
    """The columns' shares of the width."""
    widths = block.widths()
    columns = "".join(f'<col style="width:{100 * each / sum(widths):.1f}%">' for each in widths)
    return f"<colgroup>{columns}</colgroup>\n"


def _cell_class(block: Table, place: int, text: str = "") -> str:
    if place in block.numeric:
        return ' class="number"'
    return ' class="value"' if 0 < len(text) <= SHORT and any(map(str.isdigit, text)) else ""


def _picture(block: Picture, place: int) -> str:
    """The picture in the page itself, its text equivalent as its name; the one for a narrow screen beside it."""
    phone = block.phone_svg
    parts = [_svg(block.svg, block.alt, f"picture{place}", "for-paper")]
    if phone is not None:
        parts.append(_svg(phone, block.alt, f"phone{place}", "for-phone"))
    kind = ' class="has-phone"' if phone is not None else ""
    caption = f"<figcaption>{_text(block.caption)}</figcaption>" if block.caption else ""
    return f"<figure{kind}>{''.join(parts)}{caption}</figure>"


def _svg(svg: bytes, alt: str, name: str, kind: str) -> str:
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
    return f'{opening} id="{name}" class="{kind}" role="img" aria-label="{escape(alt)}"{close}{rest}'.strip()


def _scoped(style: str, name: str) -> str:
    """A picture's own style, for that picture only."""
    return re.sub(r"(?<=[>}])\s*([^<>{}]+)\{", lambda found: _selectors(found[1], name), style)


def _selectors(text: str, name: str) -> str:
    return ", ".join(f"#{name} {each.strip()}" for each in text.split(",")) + " {"
