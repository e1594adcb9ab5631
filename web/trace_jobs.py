"""Jobs of the worker about the trace of received files: what a screen shows of them, and its numbers for the script."""

from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from types import MappingProxyType
from typing import TYPE_CHECKING, Any, Protocol

from ..errors import NothingMeasured
from ..words.message import Message
from .pipe import Values

if TYPE_CHECKING:
    from ..records.plan.seen import Seen
    from .file_trace import FileTrace

NO_FILE = Message("web_trace.no_file")


class Sees(Protocol):
    """What reads files: ``jobs.State``."""

    last_trace: "tuple[tuple[str, ...], FileTrace] | None"
    """The one that was looked at last: who looks closer asks for it again and again."""

    def see(self, path: Path, zone: str | None) -> "Seen":
        """A file as it was read."""
        ...


def trace(state: Sees, paths: list[str], zone: str | None, language: str, **more: Any) -> Values:  # noqa: ANN401
    """What ``templates/trace.html`` shows of files that are stored nowhere yet; ``more``: as ``file_shown``."""
    from .file_trace import file_shown

    return file_shown(_trace(state, paths, zone), language, **more)


def trace_numbers(state: Sees, paths: list[str], zone: str | None, query: Mapping[str, str]) -> Values:
    """The numbers of a part of it, for the script."""
    from .file_trace import file_levels

    return file_levels(_trace(state, paths, zone), query)


def _trace(state: Sees, paths: Sequence[str], zone: str | None) -> "FileTrace":
    """The files of one trial together.

    Raises
    ------
    OwnmarkError
        If none of them can be read, or they cannot belong together.
    """
    from .file_trace import file_trace

    key = (zone or "", *paths)
    if state.last_trace is None or state.last_trace[0] != key:
        read = [found for path in paths if (found := state.see(Path(path), zone).recording) is not None]
        if not read:
            raise NothingMeasured(NO_FILE)
        state.last_trace = (key, file_trace(read, zone))
    return state.last_trace[1]


TRACE_JOBS: Mapping[str, Callable[..., Any]] = MappingProxyType({"trace": trace, "trace_numbers": trace_numbers})
"""By the name that the page asks for."""
