"""The page as an ASGI application: every route, its refusals as pages, and the guard around all of it."""

import asyncio
import logging
import threading
from collections.abc import Callable
from typing import Any

from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.middleware.exceptions import ExceptionMiddleware
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import BaseRoute
from starlette.types import ASGIApp, Receive, Scope, Send

from ..errors import OwnmarkError
from .body_limits import body_limit
from .guard import Guard, longest_of
from .parts import Parts
from .rendering import screen, text_of, words_of
from .routes import every_route, frame_routes

_STATUS = {"unknown_code": 404, "unknown_trial": 404, "unknown_protocol": 404, "logbook_locked": 503}
"""Refusals by their code; any other is a 422: understood, and not done."""
_NAMES = {400: "bad_request", 404: "not_found", 405: "no_such_method", 413: "too_long"}


def build(
    parts: Parts,
    port: int,
    fault: Callable[[BaseException], None] = lambda _found: None,
    after_first: Callable[[], None] = lambda: None,
) -> Guard:
    """The application for the port that it listens on.

    fault : told of every fault of ownmark
    after_first : done once the first screen has been shown, in a thread: what the next ones will need
    """
    logging.getLogger("python_multipart").disabled = True  # it tells of what was sent
    inner = _Screens(exception_handlers={HTTPException: _http, OwnmarkError: _refused})
    inner.state.parts = parts
    inner.state.fault = fault
    inner.state.after_first = Once(lambda: (inner.all_there(), after_first()))

    def refuse(scope: Scope, name: str, status: int) -> ASGIApp:
        scope["app"] = inner
        return refusal(Request(scope), name, status)

    return Guard(inner, port=port, sessions=parts.sessions, longest=inner.longest, refuse=refuse, fault=fault)


class Once:
    """A function that does its work the first time only, whichever thread calls it."""

    def __init__(self, work: Callable[[], object]) -> None:
        self._work = work
        self._lock = threading.Lock()
        self.done = False

    def __call__(self) -> None:
        """Do it, or wait until it is done, or nothing."""
        with self._lock:
            if not self.done:
                self._work()
                self.done = True


class _Screens(Starlette):
    """The routes and their refusals; whatever else goes wrong is the guard's, who knows whether an answer has begun.

    Screens behind the first one load much, so their modules are imported when one of them is asked for.
    """

    def __init__(self, **settings: Any) -> None:  # noqa: ANN401 as Starlette
        super().__init__(routes=frame_routes(), **settings)
        self.router.redirect_slashes = False
        self.state.paths = frozenset(route.path for route in frame_routes())
        self.all_there = Once(self._load)
        self._longest = longest_of([])

    def _load(self) -> None:
        routes = every_route()
        limits = [(route.path.partition("{")[0], most) for route in routes if (most := body_limit(route.endpoint))]
        self._longest = longest_of(limits)
        self.state.paths = frozenset(route.path for route in routes)
        self.router.routes = list[BaseRoute](routes)

    def longest(self, method: str, path: str) -> int:
        """How many bytes a request may send; whoever sends some has seen a screen, so that all are there."""
        if method == "POST" and not self._in_frame(path):
            self.all_there()
        return self._longest(method, path)

    def _in_frame(self, path: str) -> bool:
        return any(route.path_regex.match(path) for route in frame_routes())

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer; what is not there yet is fetched."""
        if not self.all_there.done and not self._in_frame(scope["path"]):
            await asyncio.to_thread(self.all_there)
        await super().__call__(scope, receive, send)

    def build_middleware_stack(self) -> ASGIApp:
        """Starlette's own without what answers faults: it would answer before the guard."""
        return ExceptionMiddleware(self.router, handlers=self.exception_handlers)


def refusal(request: Request, name: str, status: int) -> Response:
    """The page of a reason: its title and what to do stand in the catalogue under its name."""
    return screen(request, "error.html", status, name=name, what="", mend="")


def _http(request: Request, found: Exception) -> Response:
    status = found.status_code if isinstance(found, HTTPException) else 500
    answer = refusal(request, _NAMES.get(status, "bad_request"), status)
    answer.headers.update(getattr(found, "headers", None) or {})
    return answer


def _refused(request: Request, found: Exception) -> Response:
    """What ownmark refuses, in its own words."""
    if not isinstance(found, OwnmarkError):
        raise found
    words = words_of(request)
    what, mend = text_of(words, found.what), text_of(words, found.mend) if found.mend else ""
    return screen(request, "error.html", _STATUS.get(found.code, 422), name="refused", what=what, mend=mend)
