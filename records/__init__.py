"""The logbook: students by code, the set-up to repeat, trials with their original files, and whether anything changed.

from ownmark.records import open_logbook
with open_logbook("class.db") as logbook:
    trial = logbook.add_trial(trial, [("strap.fit", data)])

A name is imported from its module on first use: whoever needs only ``check_code`` loads no database.
"""

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from .protocol import HandMeasure, Protocol
    from .store.archive import verify
    from .store.backup import back_up
    from .store.disclose import disclose
    from .store.forgetting import forget
    from .store.location import default_place
    from .store.logbook import Logbook, open_logbook
    from .store.many_trials import add_trials, figures_of
    from .store.restore import restore
    from .student import Ceiling, MeasuredRate, Student, check_code
    from .trial import HandResult, KeptFile, Stop, Trial

_HOME = {
    "Ceiling": "student",
    "HandMeasure": "protocol",
    "HandResult": "trial",
    "KeptFile": "trial",
    "Logbook": "store.logbook",
    "MeasuredRate": "student",
    "Protocol": "protocol",
    "Stop": "trial",
    "Student": "student",
    "Trial": "trial",
    "add_trials": "store.many_trials",
    "back_up": "store.backup",
    "check_code": "student",
    "default_place": "store.location",
    "disclose": "store.disclose",
    "figures_of": "store.many_trials",
    "forget": "store.forgetting",
    "open_logbook": "store.logbook",
    "restore": "store.restore",
    "verify": "store.archive",
}


def __getattr__(name: str) -> object:
    """Import a name from its module on first use."""
    if name in _HOME:
        from importlib import import_module

        return getattr(import_module(f".{_HOME[name]}", __name__), name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")


__all__ = [
    "Ceiling",
    "HandMeasure",
    "HandResult",
    "KeptFile",
    "Logbook",
    "MeasuredRate",
    "Protocol",
    "Stop",
    "Student",
    "Trial",
    "add_trials",
    "back_up",
    "check_code",
    "default_place",
    "disclose",
    "figures_of",
    "forget",
    "open_logbook",
    "restore",
    "verify",
]
