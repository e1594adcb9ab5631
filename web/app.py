"""The page as an ASGI application: every route, its refusals as pages, and the guard around all of it."""

from collections.abc import Callable

from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.middleware.exceptions import ExceptionMiddleware
from starlette.requests import Request
from starlette.responses import Response
from starlette.types import ASGIApp, Scope

from ..errors import OwnmarkError
from .guard import Guard, longest_of
from .parts import Parts
from .rendering import screen, text_of, words_of
from .routes import every_route

_STATUS = {"unknown_code": 404, "unknown_trial": 404, "unknown_protocol": 404, "logbook_locked": 503}
"""Refusals by their code; any other is a 422: understood, and not done."""
_NAMES = {400: "bad_request", 404: "not_found", 405: "no_such_method", 413: "too_long"}


def build(parts: Parts, port: int, fault: Callable[[BaseException], None] = lambda _found: None) -> Guard:
    """The application for the port that it listens on.

    fault : told of every fault of ownmark
    """
    routes = every_route()
    inner = _Screens(routes=routes, exception_handlers={HTTPException: _http, OwnmarkError: _refused})
    inner.router.redirect_slashes = False
    inner.state.parts = parts
    inner.state.fault = fault
    inner.state.paths = frozenset(route.path for route in routes)

    def refuse(scope: Scope, name: str, status: int) -> ASGIApp:
        scope["app"] = inner
        return refusal(Request(scope), name, status)

    limits = [(route.path.partition("{")[0], most) for route in routes if (most := body_limit(route.endpoint))]
    return Guard(inner, port=port, sessions=parts.sessions, longest=longest_of(limits), refuse=refuse, fault=fault)


class _Screens(Starlette):
    """The routes and their refusals; whatever else goes wrong is the guard's, who knows whether an answer has begun."""

    def build_middleware_stack(self) -> ASGIApp:
        """Starlette's own without what answers faults: it would answer before the guard."""
        return ExceptionMiddleware(self.router, handlers=self.exception_handlers)


def takes_up_to(most: int) -> Callable[[Callable[..., object]], Callable[..., object]]:
    """Mark a route's function as one that takes more than a form has [bytes]."""

    def marked(endpoint: Callable[..., object]) -> Callable[..., object]:
        endpoint.takes_up_to = most  # type: ignore[attr-defined]
        return endpoint

    return marked


def body_limit(endpoint: Callable[..., object]) -> int:
    """How many bytes a route's function takes; 0 where it is no more than a form."""
    return getattr(endpoint, "takes_up_to", 0)


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
