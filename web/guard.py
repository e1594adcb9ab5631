"""Who is answered, and how much is read: a layer around the whole page, before any route is looked for.

Three checks are made, because each alone lets someone through: the name in ``Host`` (a foreign site whose name was
made to lead here), ``Sec-Fetch-Site`` or ``Origin`` (a foreign site's form, and a program on another port of this
computer, which the browser takes for the same site), and the session (any other program, any other account).
"""

import asyncio
from collections.abc import Callable, Iterable

from starlette.datastructures import Headers, MutableHeaders
from starlette.requests import ClientDisconnect
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from .session import Session, Sessions

POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self'; "
    "form-action 'self'; frame-src 'self'; frame-ancestors 'none'; base-uri 'none'"
)
HEADERS = {
    "Content-Security-Policy": POLICY,
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(), geolocation=(), microphone=(), payment=(), usb=()",
}
"""Of every answer that does not state its own."""
NO_STORE = "no-store"
OPEN = ("/start/", "/static/")
"""Addresses without a session: what begins one, and what looks the same for everybody."""
METHODS = frozenset({"GET", "HEAD", "POST"})
FORM_BYTES = 256 * 1024
"""A form without files is never longer."""
CHUNK_WAIT_S = 20.0
"""Whoever sends or takes nothing for so long is not waited for."""

Refuse = Callable[[Scope, str, int], ASGIApp]
"""What shows a refusal: the request, the name of the reason, the status."""


class TooLong(Exception):
    """A body is longer than its address takes."""


class TooSlow(Exception):
    """The rest of a body did not come."""


class NotTaken(Exception):
    """The other side does not read what is sent."""


def cookie_name(port: int) -> str:
    """Cookies are sent to every port of this computer, so each port has a name of its own."""
    return f"ownmark-{port}"


class Guard:
    """The layer.

    app : what is guarded
    port : the one that is listened on
    longest : how many bytes a request of this method and path may send
    refuse : shows why a request is not answered
    fault : told of what went wrong inside, which nobody but the person at the terminal learns
    """

    def __init__(
        self,
        app: ASGIApp,
        *,
        port: int,
        sessions: Sessions,
        longest: Callable[[str, str], int],
        refuse: Refuse,
        fault: Callable[[BaseException], None],
        chunk_wait_s: float = CHUNK_WAIT_S,
    ) -> None:
        self.app = app
        self.host = f"127.0.0.1:{port}"
        self.origin = f"http://{self.host}"
        self.cookie = cookie_name(port)
        self.sessions = sessions
        self.longest = longest
        self.refuse = refuse
        self.fault = fault
        self.chunk_wait_s = chunk_wait_s

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer a request, or say why not."""
        if scope["type"] != "http":
            return  # no websocket is spoken here: the server closes it
        headers = Headers(scope=scope)
        scope["state"] = {**scope.get("state", {}), "session": None, "cookie": self.cookie}
        reason = self._refusal(scope, headers)
        body = _Body(receive, headers, self.longest(scope["method"], scope["path"]), self.chunk_wait_s)
        answer = _Answer(send, body, self.chunk_wait_s, keep=scope["path"].startswith("/static/"))
        if reason is not None:
            name, status = reason
            await self.refuse(scope, name, status)(scope, receive, answer.send)
            return
        await self._answered(scope, body, answer)

    async def _answered(self, scope: Scope, body: "_Body", answer: "_Answer") -> None:
        """Let the page answer; what goes wrong there becomes a page too."""
        try:
            await self.app(scope, body.receive, answer.send)
        except Exception as found:  # noqa: BLE001 whatever it is, nobody sees where it happened
            cause = body.failed or found
            name, status = _NAMES.get(type(cause), ("fault", 500))
            if status == 500:
                self.fault(cause)
            if not answer.begun:
                await self.refuse(scope, name, status)(scope, body.receive, answer.send)

    def _refusal(self, scope: Scope, headers: Headers) -> tuple[str, int] | None:
        """The name and status of the first reason not to answer."""
        path = scope["path"]
        if headers.getlist("host") != [self.host]:
            return "wrong_host", 421
        if scope["method"] not in METHODS:
            return "no_such_method", 405
        if not self._from_here(scope["method"], path, headers):
            return "from_elsewhere", 403
        scope["state"]["session"] = session = self.sessions.of(self._key(headers))
        if not path.startswith(OPEN):
            if session is None:
                return "no_session", 403
            if session.locked:
                return "locked", 403
        if session is not None and not session.locked:
            self.sessions.use(session)
        return self._too_long(scope["method"], path, headers)

    def _from_here(self, method: str, path: str, headers: Headers) -> bool:
        """Whether a page of ours, or the person at the browser, asks for this."""
        site, origin = headers.getlist("sec-fetch-site"), headers.getlist("origin")
        if origin and origin != [self.origin]:
            return False
        if method == "POST":
            return site == ["same-origin"] or (not site and origin == [self.origin])
        if path.startswith("/start/"):  # the first page of all is opened from elsewhere
            return headers.get("sec-fetch-dest", "document") == "document"
        return not site or site in (["same-origin"], ["none"])

    def _too_long(self, method: str, path: str, headers: Headers) -> tuple[str, int] | None:
        """A body that says itself that it is too long is not read at all."""
        length = headers.get("content-length", "0")
        if not (length.isascii() and length.isdigit() and len(length) < 20):
            return "bad_request", 400
        return ("too_long", 413) if int(length) > self.longest(method, path) else None

    def _key(self, headers: Headers) -> str | None:
        """What our cookie holds; other programs of this computer set cookies too, some under its name."""
        pairs = (each.partition("=") for line in headers.getlist("cookie") for each in line.split(";"))
        values = [value.strip() for name, _, value in pairs if name.strip() == self.cookie]
        return next((each for each in values if self.sessions.of(each) is not None), None)


_NAMES: dict[type[BaseException], tuple[str, int]] = {
    TooLong: ("too_long", 413),
    TooSlow: ("too_slow", 408),
    NotTaken: ("too_slow", 408),
    ClientDisconnect: ("bad_request", 400),  # nobody reads it
}


class _Body:
    """The body of a request, counted while it comes, and not waited for without end.

    ended : nothing more of it will come
    """

    def __init__(self, receive: Receive, headers: Headers, most: int, wait_s: float) -> None:
        self._receive = receive
        self._left = most
        self._wait_s = wait_s
        self.ended = "transfer-encoding" not in headers and headers.get("content-length", "0") == "0"
        self.failed: BaseException | None = None

    async def receive(self) -> Message:
        """The next piece.

        Raises
        ------
        TooLong, TooSlow
        """
        wait_s = None if self.ended else self._wait_s  # what comes at the end says that the other side has gone
        try:
            message = await asyncio.wait_for(self._receive(), wait_s)
        except TimeoutError:
            self.failed = TooSlow()
            raise self.failed from None
        if message["type"] == "http.request":
            self._left -= len(message.get("body", b""))
            self.ended = not message.get("more_body", False)
        if self._left < 0:
            self.failed = TooLong()
            raise self.failed
        return message


class _Answer:
    """What goes back, with the headers that every answer has.

    Who is answered before the whole body came would otherwise send all of it: the connection ends with that answer.
    """

    def __init__(self, send: Send, body: _Body, wait_s: float, *, keep: bool) -> None:
        self._send = send
        self._body = body
        self._wait_s = wait_s
        self._keep = keep
        self.begun = False

    async def send(self, message: Message) -> None:
        """Send on.

        Raises
        ------
        NotTaken
        """
        if message["type"] == "http.response.start":
            headers = MutableHeaders(scope=message)
            if any(sign in value for value in headers.values() for sign in "\r\n\0"):
                raise ValueError("a header would end before its end")
            self.begun = True
            for name, value in HEADERS.items():
                headers.setdefault(name, value)
            if not (self._keep and message["status"] == 200):
                headers["Cache-Control"] = NO_STORE
            if not self._body.ended:
                headers["Connection"] = "close"
        try:
            await asyncio.wait_for(self._send(message), self._wait_s)
        except TimeoutError:
            raise NotTaken from None


def longest_of(limits: Iterable[tuple[str, int]]) -> Callable[[str, str], int]:
    """How long a body may be, by the beginnings of paths that take more than a form has; only a POST has a body."""
    known = sorted(limits, key=lambda each: -len(each[0]))

    def longest(method: str, path: str) -> int:
        if method != "POST":
            return 0
        return next((most for begin, most in known if path.startswith(begin)), FORM_BYTES)

    return longest


def session_of(scope: Scope) -> Session | None:
    """The session of a request that passed."""
    return scope["state"]["session"]
