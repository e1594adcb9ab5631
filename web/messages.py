"""What the page itself has to say."""

from ..words.message import Message, Quoted

WEB_PAGE_ENDED = Message("web.page_ended")
WEB_TOO_LONG = Message("web.too_long")
WEB_WORKER_FAULT = Message("web.worker_fault")
WEB_DAY_ROW_GONE = Message("web_day.row_gone")
WEB_NOW_KEPT_LIST = Message("web_now.kept_list")
WEB_NOW_NOT_A_TIME = Message("web_now.not_a_time")


def web_now_not_known(students: tuple[Quoted, ...]) -> Message:
    """Codes that the logbook does not have."""
    return Message.of("web_now.not_known", students=students)
