"""Options that say what a student can do and needs when a test is chosen."""

import argparse
import difflib
from collections.abc import Sequence
from typing import TYPE_CHECKING

from ..errors import UsageError
from ..records.abilities import MOVEMENTS, NEEDS, SENSES, plain_word
from .inputs import NONE

if TYPE_CHECKING:
    from datetime import date

    from ..records.student import Answers


class _Together(argparse.Action):
    """An option that is given again adds its words: the last alone would drop the others unseen."""

    def __call__(
        self,
        parser: argparse.ArgumentParser,
        namespace: argparse.Namespace,
        values: "str | Sequence[object] | None",
        option_string: str | None = None,
    ) -> None:
        """Put the words behind those that stand there."""
        del parser, option_string
        before = getattr(namespace, self.dest)
        setattr(namespace, self.dest, values if before is None else f"{before},{values}")


def add_ability_options(part: argparse.ArgumentParser) -> None:
    """Declare what the student can do, and what the student needs."""
    part.add_argument(
        "--can",
        action=_Together,
        metavar="WORD,…",
        help=f"what the student can do, to choose a test: {', '.join(MOVEMENTS)}; also {', '.join(SENSES)}",
    )
    part.add_argument(
        "--needs", action=_Together, metavar="WORD,…", help=f"what a test must offer: {', '.join(NEEDS)}; or none"
    )


_LONGEST_SHOWN = 40


def words_given(text: str, allowed: Sequence[str], option: str) -> tuple[str, ...]:
    """Words of a closed list out of typed text, each once, in the order of the list.

    Raises
    ------
    UsageError
        For a word that is not in the list, with the nearest; and for no word at all.
    """
    given = {word for part in text.split(",") if (word := plain_word(part))}
    for part in sorted(given - set(allowed)):
        close = difflib.get_close_matches(part[:_LONGEST_SHOWN], allowed, n=2, cutoff=0.5)
        hint = f"Did you mean {' or '.join(close)}? " if close else ""
        shown = part if len(part) <= _LONGEST_SHOWN else f"{part[:_LONGEST_SHOWN]}…"
        raise UsageError(f"{option}: there is no word “{shown}”.", mend=f"{hint}There are: {', '.join(allowed)}.")
    if not given:
        raise UsageError(f"{option}: no word was given.", mend=f"There are: {', '.join(allowed)}.")
    return tuple(each for each in allowed if each in given)


def nothing_given(text: str | None) -> bool:
    """Whether ``none`` was typed, and nothing else."""
    return text is not None and plain_word(text) == NONE


def can_given(text: str) -> tuple[str, ...]:
    """What the student can do, out of ``--can``."""
    return words_given(text, (*MOVEMENTS, *SENSES), "--can")


def needs_given(text: str) -> tuple[str, ...]:
    """What the student needs, out of ``--needs``; ``none`` says that it is nothing."""
    return () if nothing_given(text) else words_given(text, NEEDS, "--needs")


def answers_given(args: argparse.Namespace, last: "Answers | None", on: "date | None") -> "Answers":
    """What is said of choosing a test, with what stays as it was said last."""
    from ..records.student import Answers

    can = last.can if last and args.can is None else () if args.can is None else can_given(args.can)
    needs = needs_given(args.needs) if args.needs is not None else last.needs if last else ()
    return Answers.model_validate({"can": can, "needs": needs, "on": on})
