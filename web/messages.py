"""What the page itself has to say."""

from ..words.message import Message, Quoted

WEB_PAGE_ENDED = Message("web.page_ended")
WEB_TOO_LONG = Message("web.too_long")
WEB_WORKER_FAULT = Message("web.worker_fault")
WEB_DAY_NO_DAY = Message("web_day.no_day")
WEB_DAY_NOT_ASKED = Message("web_day.not_asked")
WEB_DAY_NOTHING_CHOSEN = Message("web_day.nothing_chosen")
WEB_DAY_UNFINISHED = Message("web_day.unfinished")
WEB_NOW_KEPT_LIST = Message("web_now.kept_list")
WEB_NOW_NOT_A_TIME = Message("web_now.not_a_time")


def web_now_not_known(students: tuple[Quoted, ...]) -> Message:
    """Codes that the logbook does not have."""
    return Message.of("web_now.not_known", students=students)


def web_day_arrived(fresh: int, again: int) -> Message:
    """Files came; some were there already."""
    return Message.of("web_day.arrived" if not again else "web_day.arrived_again", count=fresh, again=again)


def web_day_left_out(why: Message) -> Message:
    """A file that was not taken."""
    return Message.of("web_day.left_out", why=why)


def web_day_added(count: int) -> Message:
    """Rows went into the logbook."""
    return Message.of("web_day.added", count=count)


def web_day_stays(student: Quoted, why: Quoted) -> Message:
    """A row did not go in."""
    return Message.of("web_day.stays", student=student, why=why)


def web_day_deleted(file: Quoted) -> Message:
    """A file that was put away is gone."""
    return Message.of("web_day.deleted", file=file)


def web_day_there(file: Quoted) -> Message:
    """A file of a drop lay there already."""
    return Message.of("web_day.there", file=file)


def web_day_list(count: int) -> Message:
    """The list of the class was taken over."""
    return Message.of("web_day.list", count=count)
