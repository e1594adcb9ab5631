"""The school's time zone as it is asked on the page: where it is asked, and what can be chosen."""

ZONES = (
    *("America/New_York", "America/Chicago", "America/Denver", "America/Phoenix", "America/Los_Angeles"),
    *("America/Anchorage", "Pacific/Honolulu", "America/Puerto_Rico", "Pacific/Guam"),
)
"""Those of the United States, from east to west, with a name of their own in ``web_zone``; any other can be typed."""
ASKED_BY = frozenset({"day_plan.no_zone", "guard.zone"})
"""Questions that a time zone answers."""


def key_of(zone: str) -> str:
    """The key of a zone's name: ``new_york``."""
    return zone.rpartition("/")[2].lower()
