"""Who may use the page: a one-time link begins a session, which locks when nobody uses it.

Sessions live in memory only; the browser's cookie is a random number that ends with the browser or with the program.
"""

import secrets
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass, field

from ..words.message import Message

IDLE_S = 15 * 60.0
"""A session that is not used for so long is locked [s]."""
LINK_S = 15 * 60.0
"""A link that nobody opens for so long opens nothing more [s]."""
MOST_SESSIONS = 16
"""Windows of several browsers; the one that was used longest ago makes room."""


@dataclass(slots=True)
class Session:
    """One browser's session.

    language : of its screens
    used : when it was used last, by the clock of ``Sessions`` [s]
    idle_s : after how long without use it locks [s]
    place : the screen that was looked at last, to come back to
    told : messages for the next screen
    """

    key: str
    language: str
    used: float
    idle_s: float = IDLE_S
    locked: bool = False
    place: str = "/"
    told: list[tuple[str, Message]] = field(default_factory=list)


class Sessions:
    """All sessions of this run, and the links that begin one. May be used from several threads."""

    def __init__(self, language: str = "en", clock: Callable[[], float] = time.monotonic) -> None:
        self.language = language
        self._clock = clock
        self._links: dict[str, float] = {}
        self._sessions: dict[str, Session] = {}
        self._lock = threading.Lock()

    def new_link(self) -> str:
        """A token that begins one session; the ones before it open nothing more."""
        token = secrets.token_urlsafe(32)
        with self._lock:
            self._links = {token: self._clock()}
        return token

    def begin(self, token: str, before: str | None = None) -> Session | None:
        """Use up a token; None if it opens nothing (used, too old, never made).

        before : the cookie that the browser had, whose language and place go on
        """
        with self._lock:
            made = self._links.pop(token, None)
            if made is None or self._clock() - made > LINK_S:
                return None
            old = self._sessions.pop(before, None) if before else None
            session = Session(
                secrets.token_urlsafe(32),
                old.language if old else self.language,
                self._clock(),
                place=old.place if old else "/",
            )
            while len(self._sessions) >= MOST_SESSIONS:
                del self._sessions[min(self._sessions.values(), key=lambda each: each.used).key]
            self._sessions[session.key] = session
            return session

    def of(self, key: str | None) -> Session | None:
        """The session of a cookie, locked or not; None where there is none. It is locked here when it was idle."""
        with self._lock:
            session = self._sessions.get(key) if key else None
            if session is not None and self._clock() - session.used > session.idle_s:
                session.locked = True
            return session

    def use(self, session: Session) -> None:
        """Note that a session is used now."""
        session.used = self._clock()

    def lock(self, session: Session) -> None:
        """Lock a session at once; only a new link goes on from there."""
        session.locked = True
