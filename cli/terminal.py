"""All that a command prints. Nothing that stands in a record reaches the screen with its control characters.

Printing never stops a command half-way: what could not be printed is remembered, the work goes on, and at the end
``main`` says so, and what was written before (``ledger``). So a full disk behind ``>`` or a reader that went away can
neither undo nor hide a change.
"""

import errno
import io
import json
import os
import sys
import warnings
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from typing import TextIO

from ..words.letters import in_letters_of, json_in_letters_of
from ..words.plain import printable, printable_json, printable_lines

_WHY = {
    errno.ENOSPC: "there is no room where it was to go",
    errno.EDQUOT: "there is no room where it was to go",
    errno.EPIPE: "the program that was to read it has ended",
    errno.EIO: "the terminal is gone",
    errno.EBADF: "the terminal is closed",
}


def hold_standard() -> None:
    """Open what was closed of input, output and errors, here and for what is started from here, to nothing.

    Else a database or the way to a worker gets the number of one of them, and is written over or closed.
    """
    for number in range(3):
        try:
            os.fstat(number)
        except OSError:
            os.set_inheritable(os.open(os.devnull, os.O_RDWR), True)  # the lowest that is free: this one


class Printed:
    """What became of the printing of one command; ``failure`` is the first that went wrong."""

    def __init__(self) -> None:
        self.failure: Exception | None = None

    @property
    def nobody_reads(self) -> bool:
        """Whether the reader went away, as ``head`` does when it has enough."""
        return isinstance(self.failure, BrokenPipeError)

    @property
    def why(self) -> str:
        """What went wrong, in words."""
        if isinstance(self.failure, UnicodeError):
            return "this terminal's character set does not have its letters"
        code = self.failure.errno if isinstance(self.failure, OSError) else errno.EBADF
        return _WHY.get(code or 0, "the place where it was to go does not take it")

    def finish(self) -> None:
        """Send on what is still held back; after this, ``failure`` is known."""
        try:
            if sys.stdout is not None:
                sys.stdout.flush()
        except (OSError, ValueError) as failure:
            self.failure = self.failure or failure
        if self.failure is not None:
            _let_go()


_now = Printed()


@contextmanager
def printing() -> Iterator[Printed]:
    """Keep account of what this command prints; commands may run inside each other."""
    global _now  # noqa: PLW0603 there is one terminal
    before, _now = _now, Printed()
    try:
        yield _now
    finally:
        _now = before


def say(text: str = "") -> None:
    """Print lines of text."""
    _print(in_letters_of(_letters(sys.stdout), printable_lines(text)), sys.stdout)


def say_json(page: object) -> None:
    """Print plain data, or JSON text, as JSON: what cannot be shown is escaped, so that nothing is lost."""
    text = page if isinstance(page, str) else json.dumps(page, indent=2, ensure_ascii=False)
    _print(json_in_letters_of(_letters(sys.stdout), printable_json(text)), sys.stdout)


def complain(text: object) -> None:
    """Print a refusal, or what else is not the answer, in one line; where even that fails, nobody can be told."""
    with suppress(OSError, ValueError):
        _write(in_letters_of(_letters(sys.stderr), printable(str(text))), sys.stderr)


def _letters(stream: TextIO | None) -> str | None:
    """The character set of a stream, None where it has none of its own."""
    return getattr(stream, "encoding", None)


def _print(text: str, stream: TextIO | None) -> None:
    if _now.failure is not None and not isinstance(_now.failure, UnicodeError):
        return
    try:
        _write(text, stream)
    except (OSError, ValueError) as failure:  # a UnicodeError, and a closed stream, are ValueErrors
        _now.failure = _now.failure or failure


def _write(text: str, stream: TextIO | None) -> None:
    """Write lines; a progress bar steps aside."""
    if stream is None:  # it was closed before the program began
        return
    if "tqdm" in sys.modules:
        from tqdm import tqdm

        tqdm.write(text, file=stream)
    else:
        stream.write(f"{text}\n")


def _let_go() -> None:
    """Point the output at nothing: what is held back there would be tried again, and fail, when Python ends."""
    with suppress(OSError, ValueError, io.UnsupportedOperation):
        nothing = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nothing, sys.stdout.fileno())
        os.close(nothing)


@contextmanager
def quiet_libraries() -> Iterator[None]:
    """Keep what libraries tell programmers from the screen: a path of a source file means nothing to a teacher.

    A warning that is an error stays one (tests ask for that), and ``OWNMARK_TRACEBACK`` shows everything.
    """
    if os.environ.get("OWNMARK_TRACEBACK"):
        yield
        return
    import logging

    shown, last, ignored = warnings.showwarning, logging.lastResort, sys.unraisablehook
    warnings.showwarning = lambda *_args, **_more: None
    logging.lastResort = logging.NullHandler()  # without any, it says that nobody heard
    sys.unraisablehook = lambda _found: None
    try:
        yield
    finally:
        warnings.showwarning, logging.lastResort, sys.unraisablehook = shown, last, ignored
