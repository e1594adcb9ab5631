"""A screen out of a template, in the language of the session; a sheet as it is printed; the way to another screen."""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import chain
from pathlib import Path
from typing import TYPE_CHECKING, Literal

import jinja2
from markupsafe import Markup, escape
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response, StreamingResponse

from ..reports.page import RIGHT_TO_LEFT
from ..reports.words import LANGUAGES, Words
from ..words.message import Message
from .parts import Parts
from .session import Session
from .static_files import address
from .zones import ZONES

if TYPE_CHECKING:
    from ..reports.page import Page

_HERE = Path(__file__).parent
_HTML = "text/html; charset=utf-8"
_FLUSH = Markup("\0")
SHEET_POLICY = "default-src 'none'; style-src 'unsafe-inline'; img-src data:; font-src data:; sandbox allow-modals"
"""A sheet is what a printer gets: its style is in it, and nothing in it runs or leads anywhere."""
NAV = (
    ("today", "/"),
    ("students", "/students"),
    ("caseload", "/caseload"),
    ("district", "/district"),
    ("find", "/find"),
)
"""The screens that every screen leads to: key of ``web_frame``'s name, address."""
HOME_OF = {
    "/day": "/",
    "/student": "/students",
    "/students": "/students",
    "/trial": "/students",
    "/district": "/district",
    "/find": "/find",
}
"""Which of these a screen belongs to, by the beginning of its address."""


@dataclass(frozen=True, slots=True)
class Way:
    """A line of the navigation."""

    name: str
    address: str
    here: bool


def screen(request: Request, template: str, /, status: int = 200, **values: object) -> Response:
    """The screen ``templates/TEMPLATE`` with its values.

    Every template also has ``w`` (the texts of the session's language), ``lang``, ``dir``, ``nav``, ``told`` (messages
    from the screen before), ``asset("page.css")`` and ``student_id(code)``.
    """
    text = _environment().get_template(template).render(_context(request, status), **values)
    return Response(text.encode("utf-8", "replace"), status, media_type=_HTML)


def streamed(request: Request, template: str, /, **values: object) -> Response:
    """A screen that is shown piece by piece: what stands before each ``{{ flush }}`` is sent before the rest is made.

    ``flush`` stands in a block of the template itself, never in a macro. What is made late is given as a function that
    the template calls behind it. What goes wrong there cannot become a page of its own any more, and is said there.
    """
    pieces = _pieces(request, _environment().get_template(template).generate(_context(request, 200), **values))
    first = next(pieces)  # what goes wrong so far is answered as everywhere
    return StreamingResponse(chain((first,), pieces), media_type=_HTML)


def _pieces(request: Request, made: Iterator[str]) -> Iterator[bytes]:
    """The parts of a template between its marks."""
    begun: list[str] = []
    sent = False
    try:
        for text in made:
            if text == _FLUSH:
                yield "".join(begun).encode("utf-8", "replace")
                begun, sent = [], True
            else:
                begun.append(text)
    except Exception as found:
        if not sent:
            raise
        request.app.state.fault(found)
        begun.append(str(escape(words_of(request).get("web_frame.what_fault"))))
    yield "".join(begun).encode("utf-8", "replace")


def _context(request: Request, status: int) -> dict[str, object]:
    """What every template has."""
    session, words = session_of(request), words_of(request)
    here = session if session is not None and not session.locked else None
    if here is not None and request.method == "GET" and status == 200:
        here.place = _here_again(request)
    return {
        "w": words,
        "lang": words.language if words.language in LANGUAGES else "en",
        "dir": "rtl" if words.language in RIGHT_TO_LEFT else "ltr",
        "languages": _languages(),
        "zones": [(zone, words.get(f"web_zone.{key}")) for zone, key in ZONES.items()],
        "nav": _nav(request, words) if here else (),
        "told": _told(here, words) if here else (),
        "path": request.url.path,
        "student_id": parts_of(request).ids.of,
        "flush": _FLUSH,
    }


def _here_again(request: Request) -> str:
    """The address of a screen with what it was asked to show: filters, a page of a list, a part of a trace."""
    query = request.url.query
    return f"{request.url.path}?{query}" if query else request.url.path


@lru_cache
def _languages() -> tuple[tuple[str, str], ...]:
    """Every language and its own name for itself."""
    return tuple((each, Words(each).get("web_frame.language_name")) for each in LANGUAGES)


def sheet(page: "Page", *, file_name: str | None = None) -> Response:
    """A printable page, as one HTML file under a policy of its own; ``file_name``: to be kept, not shown."""
    from ..reports.render.html import to_html

    headers = {"Content-Security-Policy": SHEET_POLICY}
    if file_name is not None:
        headers["Content-Disposition"] = f'attachment; filename="{_plain_name(file_name)}"'
    text = to_html(page).decode()
    if file_name is None:  # the browser would keep the title, with the student's code, in its history
        text = re.sub(r"<title>.*?</title>", "<title>ownmark</title>", text, count=1, flags=re.DOTALL)
    return Response(text, media_type="text/html; charset=utf-8", headers=headers)


def pdf(page: "Page", *, file_name: str) -> Response:
    """A printable page as a PDF. Neither its name nor its title tells the student's code: a browser keeps both."""
    from ..reports.render.pdf import to_pdf

    headers = {"Content-Disposition": f'inline; filename="{_plain_name(file_name)}"'}
    return Response(to_pdf(page, named="ownmark"), media_type="application/pdf", headers=headers)


def see(request: Request, path: str, *told: Message, kind: Literal["done", "attention"] = "done") -> Response:
    """The answer to a press: look at ``path`` (an address of ours, in ASCII), where ``told`` is said."""
    session = session_of(request)
    if session is not None:
        session.told.extend((kind, each) for each in told)
    if not path.startswith("/") or path.startswith(("//", "/\\")) or not path.isascii() or not path.isprintable():
        raise ValueError("not an address of this page")
    return RedirectResponse(path, 303)


def parts_of(request: Request) -> Parts:
    """What the screens work with."""
    return request.app.state.parts


def session_of(request: Request) -> Session | None:
    """The session of a request; None only where none is needed."""
    return request.scope["state"]["session"]


def words_of(request: Request) -> Words:
    """The texts of the session's language."""
    session = session_of(request)
    return Words(session.language if session is not None else parts_of(request).sessions.language)


def text_of(words: Words, found: str | Message) -> str:
    """A refusal's part: a message in the reader's language, or the English that it still is."""
    return words.message(found) if isinstance(found, Message) else found


def _told(session: Session, words: Words) -> Sequence[tuple[str, str]]:
    """Messages of the screen before, once."""
    told = [(kind, words.message(each)) for kind, each in session.told]
    session.told.clear()
    return told


def _nav(request: Request, words: Words) -> Sequence[Way]:
    """The ways to the main screens."""
    path = request.url.path
    home = next((home for begin, home in HOME_OF.items() if path == begin or path.startswith(f"{begin}/")), path)
    return [Way(words.get(f"web_frame.nav_{name}"), where, home == where) for name, where in NAV]


def _plain_name(name: str) -> str:
    """A file's name for a header: letters and digits of ASCII, and nothing that could end it."""
    return "".join(each if each.isascii() and (each.isalnum() or each in "-_.") else "-" for each in name)


@lru_cache
def _environment() -> jinja2.Environment:
    found = jinja2.Environment(
        loader=jinja2.FileSystemLoader(_HERE / "templates"),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        auto_reload=False,
    )
    found.globals["asset"] = address
    found.filters |= {"sentence": _sentence, "shown": _shown, "picture": _picture, "block_name": _block_name}
    found.tests["amount"] = _is_amount
    return found


def _shown(text: str) -> Markup:
    from ..reports.render.html import shown

    return shown(text)


def _sentence(text: str) -> str:
    """A refusal as a sentence of its own: it begins with a capital where its file or field is not named before it."""
    return text[:1].upper() + text[1:]


def _is_amount(text: str) -> bool:
    from ..reports.render.html import is_amount

    return is_amount(text)


def _block_name(block: object) -> str:
    return type(block).__name__


def _picture(svg: bytes) -> str:
    """A drawing as an address that holds it: as a picture of its own it keeps its own style under our policy."""
    from base64 import b64encode

    return f"data:image/svg+xml;base64,{b64encode(svg).decode()}"
