"""The school's time zone, set once for the logbook, where it is asked."""

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from ...errors import UsageError
from ...records.store.settings import set_zone
from ...words.message import Message, Quoted
from ..forms import Form, posted
from ..rendering import parts_of, see, session_of


@posted
def keep(request: Request, form: Form) -> Response:
    """Keep it; what was read in no zone is read again. It leads back to where it was asked."""
    parts, session = parts_of(request), session_of(request)
    place = session.place if session is not None else "/"
    zone = form.text("other") or form.text("zone")
    if not zone:
        return see(request, place, Message("web_zone.missing"), kind="attention")
    try:
        set_zone(parts.logbook(), zone)
    except UsageError:
        return see(request, place, Message.of("web_zone.unknown", zone=Quoted(zone)), kind="attention")
    parts.looked.clear()
    parts.asked.clear()
    return see(request, place, Message.of("web_zone.kept", zone=Quoted(zone)))


ROUTES = [Route("/zone", keep, methods=["POST"])]
