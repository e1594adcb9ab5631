"""The language of a session's screens."""

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from ...words.pseudo import LANGUAGE as PSEUDO
from ...words.render import LANGUAGES
from ..forms import Form, posted
from ..rendering import see, session_of


@posted
def choose(request: Request, form: Form) -> Response:
    """Show the screens in another language from now on, and this one again."""
    session, language = session_of(request), form.text("language")
    if session is not None and language in (*LANGUAGES, PSEUDO):
        session.language = language
    return see(request, session.place if session is not None else "/")


ROUTES = [Route("/language", choose, methods=["POST"])]
