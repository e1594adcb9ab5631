"""What the screens of a class's day share: its day, the time on the wall, and which test a form means."""

from datetime import date, datetime

from starlette.exceptions import HTTPException
from starlette.requests import Request

from ..records.day.happened import DayTest, Happened
from .forms import whole
from .rendering import parts_of


def day_of(request: Request) -> date:
    """The day in the address."""
    text = request.path_params["date"]
    try:
        found = date.fromisoformat(text)
    except ValueError:
        raise HTTPException(404) from None
    if text != found.isoformat():
        raise HTTPException(404)
    return found


def wall(request: Request) -> datetime:
    """The time on the wall now, to the second."""
    return parts_of(request).now().replace(tzinfo=None, microsecond=0)


def on_list(found: Happened) -> tuple[DayTest, ...]:
    """The tests of the day's class, those of whom something was entered too."""
    return tuple(test for test in found.tests if test.listed is not None or test.presses or test.begun)


def key_of(test: DayTest) -> str:
    """What names a test in a form: it is sent in a form's body, never in an address."""
    return f"{test.code} {test.turn}"


def test_of(found: Happened, key: str) -> DayTest | None:
    """The test that a form names."""
    code, _, text = key.rpartition(" ")
    turn = whole(text)
    return None if turn is None else found.test(code, turn)
