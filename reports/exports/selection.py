"""What an export was asked for."""

from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True, slots=True)
class Asked:
    """Which trials (both days included), and whether with the comparison of each student's last one."""

    since: date | None = None
    until: date | None = None
    protocol: str | None = None
    change: bool = False
