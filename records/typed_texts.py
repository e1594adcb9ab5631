"""What stands in a field of a trial, as a person would type it: ``entry.edited`` reads each text back as the same."""

from ..words.numbers import shortest
from ..words.shapes import is_list
from .entry import TYPED
from .trial import HandResult, Stop, Trial

JOINT = "; "


def typed_text(trial: Trial, name: str) -> str:
    """The text of a field of ``entry.TYPED``; empty where nothing is written down."""
    if name not in TYPED:
        raise ValueError(f"nobody types {name}")
    value: object = getattr(trial, name)
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float | int):
        return shortest(value)
    return JOINT.join(map(_part, value)) if is_list(value) else str(value)


def _part(value: object) -> str:
    return f"{value.at} {value.why}" if isinstance(value, Stop) else str(value)


def result_header(name: str, side: str | None, attempt: int) -> str:
    """The column of a hand result: ``grip_force left 2``."""
    return " ".join((name, *([side] if side else []), str(attempt)))


def parts_of_header(header: str) -> tuple[str, str | None, int] | None:
    """Name, side and attempt of a column that ``result_header`` wrote; None: it is none of these."""
    name, *side, attempt = (header if " " in header else f" {header}").split(" ")
    if not name or not attempt.isdecimal() or side not in ([], ["left"], ["right"]):
        return None
    return name, side[0] if side else None, int(attempt)


def result_texts(trial: Trial) -> dict[str, str]:
    """The hand results by their columns."""
    return {_header(each): shortest(each.value) for each in trial.hand_results}


def _header(result: HandResult) -> str:
    return result_header(result.name, result.side, result.attempt)
