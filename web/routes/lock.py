"""Locking the page by hand, before someone else sits down."""

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from ..forms import Form, posted
from ..rendering import parts_of, screen, session_of


@posted
def lock(request: Request, _form: Form) -> Response:
    """Lock this session; only a new link goes on."""
    session = session_of(request)
    if session is not None:
        parts_of(request).sessions.lock(session)
    return screen(request, "error.html", name="locked", what="", mend="")


ROUTES = [Route("/lock", lock, methods=["POST"])]
