"""The school's time zone as it is asked on the page: where it is asked, and what can be chosen."""

ZONES = {
    "America/New_York": "new_york",
    "America/Chicago": "chicago",
    "America/Denver": "denver",
    "America/Phoenix": "phoenix",
    "America/Los_Angeles": "los_angeles",
    "America/Anchorage": "anchorage",
    "Pacific/Honolulu": "honolulu",
    "America/Puerto_Rico": "puerto_rico",
    "Pacific/Guam": "guam",
}
"""Those of the United States, from east to west, each with the key of its name in ``web_zone``; any other is typed."""
ASKED_BY = frozenset({"day_plan.no_zone", "guard.zone"})
"""Questions that a time zone answers."""
