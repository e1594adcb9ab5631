"""Why a student's page of a whole class cannot be made, where the index tells it: one name a message."""

from ..words.message import Message, Quoted

REFUSAL_RESTORE = Message("refusal.restore")
REFUSAL_OTHER_FIGURE = Message("refusal.other_figure")
REFUSAL_ENTRY_GONE = Message("refusal.entry_gone")


def refusal_changed(what: Message) -> Message:
    """Something of the logbook that changed on the disk."""
    return Message.of("refusal.changed", what=what)


def refusal_original(file: Quoted) -> Message:
    """An original file, by the begin of its SHA-256."""
    return Message.of("refusal.original", file=file)


def refusal_same_heart(trial: int) -> Message:
    """A recording holds readings that another student's trial holds out of another file."""
    return Message.of("refusal.same_heart", trial=trial)


def refusal_mend_same_heart(trial: int) -> Message:
    """What mends it."""
    return Message.of("refusal.mend_same_heart", trial=trial)


def refusal_primary(figure: Quoted, protocol: Quoted) -> Message:
    """Another figure was asked for, and it is the protocol's primary one."""
    return Message.of("refusal.primary", figure=figure, protocol=protocol)


def refusal_no_figure(name: Quoted) -> Message:
    """A figure that the protocol does not have."""
    return Message.of("refusal.no_figure", name=name)


def refusal_figures(known: tuple[Quoted, ...]) -> Message:
    """The figures that there are."""
    return Message.of("refusal.figures", known=known)


def refusal_figures_near(near: tuple[Quoted, ...], known: tuple[Quoted, ...]) -> Message:
    """The same, with those that are spelled alike."""
    return Message.of("refusal.figures_near", near=near, known=known)
