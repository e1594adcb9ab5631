"""Which command takes an option, on a page of the logbook: what is missing there is entered by another command."""

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from ..records.trial import Trial
    from ..reports.words import Words

_OF_STUDENT: Mapping[str, str] = {
    "--max": "BPM",
    "--rest": "BPM",
    "--born": "YYYY-MM",
    "--sex": "female|male",
    "--ceiling": "BPM --set-by ROLE",
}
_OF_TRIAL: Mapping[str, str] = {"--rest-phase": "A-B", "--distance": "M", "--offset": "FILE=S", "--date": "YYYY-MM-DD"}
_OF_PROTOCOL: Mapping[str, str] = {"--placement": "placement", "--target": "target"}


def commands_of(code: str, protocol: str, trial: int | None = None) -> dict[str, str]:
    """The whole command of each option, for a page of one student.

    trial : the number of the page's trial; None: the page is of several
    """
    number = "N" if trial is None else trial
    return {
        **{option: f"ownmark student edit {code} {option} {value}" for option, value in _OF_STUDENT.items()},
        **{option: f"ownmark trial edit {number} {option} {value}" for option, value in _OF_TRIAL.items()},
        **{
            option: f"ownmark protocol edit {protocol} --set {field}=… --also-earlier"
            for option, field in _OF_PROTOCOL.items()
        },
    }


def terminal_words(language: str, code: str, protocol: str, trial: int | None = None) -> "Words":
    """The words of a page that is printed, with the commands that enter what is missing."""
    from ..reports.words import Words

    return Words(language, terminal=True, commands=commands_of(code, protocol, trial))


def told_in_of(words: "Words") -> "Callable[[Trial], Words]":
    """The words of what one trial lacks, on a printed page of many students."""
    return lambda trial: terminal_words(words.language, trial.code, trial.protocol, trial.id)
