"""A sheet for people who need the figures and not the student's health: no condition, and nothing that tells of one.

A figure that a condition forbids stays not given; the reason says so without naming it.
"""

from ...metrics.conditions import GENERAL_CAUTIONS
from ...metrics.figure import EffortSheet, Figure, as_messages
from ...metrics.messages.heart_rate import BASIS_MAXIMUM_EQUATION, NOTE_DOWN_MEASURED, WHY_HEALTH
from ...words.message import ENGLISH, Message, Value

FOR_A_DIAGNOSIS = frozenset({"fernhall", "fernhall-id", "verschuren-cp"})
"""Equations that are used for students of one diagnosis alone."""
_TELLING = frozenset({"reason", "equation"})
"""Sections of messages that say what a condition does, and for whom an equation is."""
_NAMING = frozenset({ENGLISH, "note.predicted", NOTE_DOWN_MEASURED.code})
"""A sentence of an older sheet may name a condition, and a formula may have a term for one."""


def without_health(sheet: EffortSheet) -> EffortSheet:
    """The sheet with no condition in it: as it is where none was written down when it was made."""
    made = sheet.provenance
    if not made.basis.conditions:
        return sheet
    general = set(as_messages(GENERAL_CAUTIONS))
    top = made.basis.maximum_from
    basis = made.basis.model_copy(update={"conditions": (), "maximum_from": None if top is None else _plain(top)})
    notes = tuple(each for each in made.notes if not tells_health(each))
    return sheet.model_copy(
        update={
            "figures": {name: _figure(figure) for name, figure in sheet.figures.items()},
            "cautions": tuple(each for each in sheet.cautions if each in general),
            "provenance": made.model_copy(update={"basis": basis, "notes": notes}),
        }
    )


def tells_health(message: Message) -> bool:
    """Whether a message names a condition, or what one does; a sentence of an older sheet may."""
    if message.code in _NAMING or message.code.partition(".")[0] in _TELLING:
        return True
    return any(name == "condition" or _tells(name, value) for name, value in message.values)


def _tells(name: str, value: Value) -> bool:
    if isinstance(value, Message):
        return tells_health(value)
    if isinstance(value, tuple):
        return any(_tells(name, each) for each in value)
    return name == "equation" and value in FOR_A_DIAGNOSIS


def _figure(figure: Figure) -> Figure:
    reason = WHY_HEALTH if figure.reason is not None and tells_health(figure.reason) else figure.reason
    notes = tuple(each for each in figure.notes if not tells_health(each))
    rests_on = tuple(_plain(each) for each in figure.rests_on)
    return figure.model_copy(update={"reason": reason, "notes": notes, "rests_on": rests_on})


def _plain(message: Message) -> Message:
    """The message, in which an equation for one diagnosis is an equation."""
    if any(_tells(name, value) for name, value in message.values if not isinstance(value, Message)):
        return BASIS_MAXIMUM_EQUATION
    values = tuple((name, _plain(value) if isinstance(value, Message) else value) for name, value in message.values)
    return Message(message.code, values)
