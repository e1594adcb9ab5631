"""Another figure than the protocol's primary one, for a second verdict beside the first.

Which figure counts is agreed before the re-test. One that is chosen when the numbers are known finds a change by chance
more easily, so its verdict never stands alone, has no better direction, and is said to be chosen afterwards.
"""

import difflib

from ..errors import UsageError
from ..words.message import Quoted
from ..words.vocabulary import FIGURES
from . import refusal_messages as say
from .field_hints import plain
from .protocol import Protocol


def figure_named(name: str, protocol: Protocol) -> str:
    """The figure or hand measure of this name.

    Raises
    ------
    UsageError
        If there is none, with the nearest; if it is the primary one, of which the verdict is given anyway.
    """
    wanted, known = plain(name), [*(each.name for each in protocol.hand_measures), *FIGURES]
    if wanted == protocol.primary_figure:
        raise UsageError(say.refusal_primary(Quoted(wanted), Quoted(protocol.name)), mend=say.REFUSAL_OTHER_FIGURE)
    if wanted in known:
        return wanted
    close = difflib.get_close_matches(wanted, known, n=3, cutoff=0.5)
    near, there = (tuple(map(Quoted, names)) for names in (close, known))
    mend = say.refusal_figures_near(near, there) if near else say.refusal_figures(there)
    raise UsageError(say.refusal_no_figure(Quoted(name)), mend=mend)


def judged_by(protocol: Protocol, figure: str) -> Protocol:
    """The protocol as if this figure were its primary one: with no better direction, which nobody stated."""
    return protocol.model_copy(
        update={"primary_figure": figure, "better": "no direction", "smallest_worthwhile_change": None}
    )
