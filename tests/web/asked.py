"""Requests to the page as bare ASGI scopes: exactly the bytes that a test states, and nothing that a client adds."""

import asyncio
from dataclasses import dataclass, field

from tests.web.conftest import PORT

HOST = f"127.0.0.1:{PORT}"
ORIGIN = f"http://{HOST}"


@dataclass
class Answer:
    """What came back."""

    status: int = 0
    headers: list = field(default_factory=list)
    body: bytes = b""

    def header(self, name):
        return next((value.decode() for each, value in self.headers if each.decode().lower() == name.lower()), None)

    @property
    def text(self):
        return self.body.decode()


def ask(app, path="/", method="GET", headers=None, body=b"", *, host=HOST, site="same-origin", cookie=None, more=()):
    """One request. ``headers`` None: Host, Sec-Fetch-Site and the cookie; ``more`` are (name, value) besides."""
    if headers is None:
        headers = [("host", host)]
        headers += [("sec-fetch-site", site)] if site else []
        headers += [("cookie", f"ownmark-{PORT}={cookie}")] if cookie else []
        headers += [("content-length", str(len(body)))] if method == "POST" else []
        headers += [("content-type", "application/x-www-form-urlencoded")] if method == "POST" else []
    pieces = [body] if isinstance(body, bytes) else list(body)
    scope = {
        "type": "http",
        "asgi": {"version": "3.0"},
        "http_version": "1.1",
        "method": method,
        "scheme": "http",
        "path": path,
        "raw_path": path.encode(),
        "root_path": "",
        "query_string": b"",
        "headers": [(name.lower().encode(), value.encode("latin-1")) for name, value in [*headers, *more]],
        "client": ("127.0.0.1", 50000),
        "server": ("127.0.0.1", PORT),
        "state": {},
    }
    answer = Answer()
    taken = [0]

    async def receive():
        if pieces:
            piece = pieces.pop(0)
            taken[0] += len(piece)
            return {"type": "http.request", "body": piece, "more_body": bool(pieces)}
        await asyncio.sleep(30)
        return {"type": "http.disconnect"}

    async def send(message):
        if message["type"] == "http.response.start":
            answer.status, answer.headers = message["status"], message["headers"]
        else:
            answer.body += message.get("body", b"")

    asyncio.run(app(scope, receive, send))
    answer.taken = taken[0]
    return answer


def begun(parts):
    """The cookie of a new session."""
    return parts.sessions.begin(parts.sessions.new_link()).key
