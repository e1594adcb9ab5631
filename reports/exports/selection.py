"""What an export was asked for."""

from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True, slots=True)
class Asked:
    """Which trials (both days included), whether with each student's comparison, and whether with conditions."""

    since: date | None = None
    until: date | None = None
    protocol: str | None = None
    change: bool = False
    with_health: bool = False
