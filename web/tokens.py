"""What stands for a student in an address: never the code, which would stay in the browser's history.

The identifier hangs on a secret of this run of the page, so that an address says nothing once the page has ended.
"""

import hashlib
import hmac
import secrets
import threading
from collections.abc import Callable, Iterable

DIGITS = 16


def student_id(secret: bytes, code: str) -> str:
    """The identifier of a code: the first 16 hex digits of its HMAC-SHA-256 (RFC 2104)."""
    return hmac.new(secret, code.encode(), hashlib.sha256).hexdigest()[:DIGITS]


class StudentIds:
    """Identifiers of students and the way back, through the codes that the logbook has now."""

    def __init__(self, codes: Callable[[], Iterable[str]], secret: bytes | None = None) -> None:
        self._codes = codes
        self._secret = secret or secrets.token_bytes(32)
        self._known: dict[str, str] = {}
        self._lock = threading.Lock()

    def of(self, code: str) -> str:
        """The identifier of a student's code."""
        return student_id(self._secret, code)

    def code(self, identifier: str) -> str | None:
        """The code behind an identifier; None where no student of the logbook has it."""
        with self._lock:
            if identifier not in self._known:
                self._known = {self.of(code): code for code in self._codes()}
            return self._known.get(identifier)
