"""``ownmark recompute``: every sheet again from the original files, and what changed."""

import argparse
import sys
from contextlib import AbstractContextManager, nullcontext
from typing import TYPE_CHECKING

from .figure_changes import said
from .logbook import add_logbook_option, opened
from .parts import many
from .terminal import say
from .workers import add_worker_options, opened_workers, tell_away

if TYPE_CHECKING:
    from ..executors import Executor

EXAMPLE = "ownmark recompute TH-11 --only-show"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the options."""
    parser.add_argument("code", nargs="?", metavar="CODE", help="only this student")
    parser.add_argument("--protocol", metavar="NAME", help="only this protocol")
    parser.add_argument("--only-show", action="store_true", help="show what would change, and keep the old sheets")
    add_worker_options(parser)
    add_logbook_option(parser)


def run(args: argparse.Namespace) -> int:
    """Work out the sheets, tell of each that changed or was refused."""
    from tqdm import tqdm

    from ..records.patience import Patience
    from ..records.recompute import recompute

    changed = refused = total = 0
    with opened(args) as logbook, _whoever_measures(args) as executor:
        code = logbook.student(args.code).code if args.code else None
        if args.protocol:
            logbook.protocol(args.protocol)
        count = sum(1 for each in logbook.trials(code, args.protocol, with_sheets=False) if each.files)
        patience = Patience(away=tell_away)
        found = recompute(logbook, code, args.protocol, store=not args.only_show, executor=executor, patience=patience)
        for each in tqdm(found, total=count, unit="trial", disable=None, leave=False, file=sys.stderr):
            total += 1
            if each.refused is not None:
                refused += 1
                say(f"trial {each.trial_id}, {each.code}: not done, the old sheet stays. {each.refused}")
            if each.changed:
                changed += 1
                say(f"trial {each.trial_id}, {each.code}:")
                for figure in each.changed:
                    say(f"  {said(figure, colon=':')}")
    would = "would change" if args.only_show else "changed"
    say(f"{many(total, 'sheet')} worked out again: {changed} {would}, {refused} refused.")
    return 1 if refused else 0


def _whoever_measures(args: argparse.Namespace) -> "AbstractContextManager[Executor | None]":
    """Nobody else, where nothing is asked for: a student's few sheets are done before another process has started."""
    from ..records.sheet_facts import PRELOAD

    if args.workers is None and args.cluster is None:
        return nullcontext()
    return opened_workers(args, PRELOAD)
