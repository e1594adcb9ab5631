"""The link of the terminal: it begins a session, once."""

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from ..rendering import parts_of, screen


def start(request: Request) -> Response:
    """Begin a session and go on to the page.

    The answer is a page that leads on and no redirect: a cookie of the same site only is not sent with a redirect from
    elsewhere. Who only fetches ahead, or asks for the headers, does not use the link up.
    """
    ahead = request.headers.get("sec-purpose", request.headers.get("purpose", ""))
    if request.method == "HEAD" or "prefetch" in ahead:
        return Response(status_code=403)
    cookie = request.scope["state"]["cookie"]
    session = parts_of(request).sessions.begin(request.path_params["token"], request.cookies.get(cookie))
    if session is None:
        return screen(request, "error.html", 403, name="used_link", what="", mend="")
    request.scope["state"]["session"] = session
    place = session.place
    answer = screen(request, "start.html", to=place)
    session.place = place  # and not the link, which leads nowhere any more
    answer.set_cookie(cookie, session.key, httponly=True, samesite="strict", path="/")
    return answer


ROUTES = [Route("/start/{token:str}", start)]
