"""From any supported file to one immutable ``Recording``. It flags; it never deletes or invents.

from ownmark.ingest import read
recording = read("strap.fit")
pulse = recording["heart_rate"]      # Stream: .time [s], .values, .flags
"""

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from .files import Refused, finished, parse_each, read, read_each
    from .flags import REJECTING, Flag
    from .recording import Hints, Mark, Provenance, Recording, Stream

_HOME = {
    "REJECTING": "flags",
    "Flag": "flags",
    "Hints": "recording",
    "Mark": "recording",
    "Provenance": "recording",
    "Recording": "recording",
    "Refused": "files",
    "Stream": "recording",
    "finished": "files",
    "parse_each": "files",
    "read": "files",
    "read_each": "files",
}


def __getattr__(name: str) -> object:
    """Import a name from its module on first use: whoever needs only ``Stream`` loads no reader."""
    if name in _HOME:
        from importlib import import_module

        return getattr(import_module(f".{_HOME[name]}", __name__), name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")


__all__ = [
    "REJECTING",
    "Flag",
    "Hints",
    "Mark",
    "Provenance",
    "Recording",
    "Refused",
    "Stream",
    "finished",
    "parse_each",
    "read",
    "read_each",
]
