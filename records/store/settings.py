"""What holds for all of a logbook: the school's time zone. Once for everybody, so that no row has to say it."""

from typing import TYPE_CHECKING

from sqlalchemy import delete, select

from ...errors import UsageError
from ...ingest.clock_times import zone_from
from .bulk import insert_rows
from .cells import text
from .seals import sealed, unsealed
from .tables import settings

if TYPE_CHECKING:
    from .logbook import Logbook

ZONE = "zone"
NAMES = frozenset({ZONE})


def zone_of(logbook: "Logbook") -> str | None:
    """The school's time zone as it was written, ``America/Denver``; None where nobody said it."""
    with logbook.reading() as connection:
        row = connection.execute(select(settings).where(settings.c.name == ZONE)).one_or_none()
    return None if row is None else text(unsealed(row, "the time zone")[1])


def set_zone(logbook: "Logbook", zone: str | None) -> None:
    """Keep the school's time zone for trials added from now on; None takes it away.

    Raises
    ------
    UsageError
        If it is no time zone.
    """
    if zone is not None:
        check_zone(zone)
    with logbook.writing() as connection:
        connection.execute(delete(settings).where(settings.c.name == ZONE))
        if zone is not None:
            insert_rows(connection, settings, [sealed(ZONE, zone)])


def check_zone(zone: str) -> None:
    """Refuse what is no time zone, or is too long to be one.

    Raises
    ------
    UsageError
    """
    if len(zone) > 100 or not zone:
        raise UsageError("that is not a time zone.", mend="Write it as America/Denver.")
    zone_from(zone)
