"""Today: what is to be done now, and the doors to everything else."""

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from ..rendering import NAV, parts_of, screen, words_of


def home(request: Request) -> Response:
    """The first screen. It needs nothing that takes long to load."""
    words, there = words_of(request), request.app.state.paths
    today = parts_of(request).now().date()
    doors = [
        (words.get(f"web_frame.nav_{name}"), where, words.get(f"web_frame.door_{name}"))
        for name, where in NAV
        if where != "/" and where in there
    ]
    return screen(
        request,
        "home.html",
        date=words.date(today),
        day=today.isoformat() if "/day/{date}" in there else "",
        doors=doors,
    )


ROUTES = [Route("/", home)]
