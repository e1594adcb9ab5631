"""Options that say what a student can do and needs when a test is chosen."""

import argparse
import difflib
from collections.abc import Sequence
from typing import TYPE_CHECKING

from ..errors import UsageError
from ..records.abilities import MOVEMENTS, NEEDS, SENSES
from .inputs import NONE

if TYPE_CHECKING:
    from datetime import date

    from ..records.student import Answers


def add_ability_options(part: argparse.ArgumentParser) -> None:
    """Declare what the student can do, and what the student needs."""
    part.add_argument(
        "--can",
        metavar="WORD,…",
        help=f"what the student can do, to choose a test: {', '.join(MOVEMENTS)}; also {', '.join(SENSES)}",
    )
    part.add_argument("--needs", metavar="WORD,…", help=f"what a test must offer: {', '.join(NEEDS)}")


def words_given(text: str, allowed: Sequence[str], option: str) -> tuple[str, ...]:
    """Words of a closed list out of typed text, each once, in the order of the list.

    Raises
    ------
    UsageError
        For a word that is not in the list, with the nearest; and for no word at all.
    """
    typed = [" ".join(part.split()).lower().replace(" ", "-").replace("_", "-") for part in text.split(",")]
    given = {part for part in typed if part}
    for part in sorted(given - set(allowed)):
        close = difflib.get_close_matches(part, allowed, n=2, cutoff=0.5)
        hint = f"Did you mean {' or '.join(close)}? " if close else ""
        raise UsageError(f"{option}: there is no word “{part}”.", mend=f"{hint}There are: {', '.join(allowed)}.")
    if not given:
        raise UsageError(f"{option}: no word was given.", mend=f"There are: {', '.join(allowed)}.")
    return tuple(each for each in allowed if each in given)


def can_given(text: str) -> tuple[str, ...]:
    """What the student can do, out of ``--can``."""
    return words_given(text, (*MOVEMENTS, *SENSES), "--can")


def needs_given(text: str) -> tuple[str, ...]:
    """What the student needs, out of ``--needs``."""
    return words_given(text, NEEDS, "--needs")


def answers_given(args: argparse.Namespace, last: "Answers | None", on: "date | None") -> "Answers":
    """What is said of choosing a test, with what stays as it was said last."""
    from ..records.student import Answers

    can = last.can if last and args.can is None else () if args.can is None else can_given(args.can)
    if args.needs is None:
        needs: tuple[str, ...] = last.needs if last else ()
    else:
        needs = () if args.needs == NONE else needs_given(args.needs)
    return Answers.model_validate({"can": can, "needs": needs, "on": on})
