"""Whether the page runs and this window may use it: asked by a script before a form is sent."""

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route


async def alive(_request: Request) -> Response:
    """Nothing, with success; the guard answers for whoever has no session."""
    return Response(status_code=204)


ROUTES = [Route("/alive", alive)]
