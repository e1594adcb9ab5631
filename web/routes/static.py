"""The style sheet and the scripts, under addresses that change with what they hold."""

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from ..static_files import assets


async def static(request: Request) -> Response:
    """One file, which may be kept: the same address never holds anything else."""
    found = assets().get(request.path_params["name"])
    if found is None or found.mark != request.path_params["mark"]:
        raise HTTPException(404)
    headers = {"Cache-Control": "private, max-age=31536000, immutable"}
    return Response(found.content, media_type=found.media_type, headers=headers)


ROUTES = [Route("/static/{mark:str}/{name:str}", static)]
