"""On every page of a trial: what of it is at the most that its test can show."""

from collections.abc import Iterator

from ...records.change.limits import limits_of_trial
from ...records.protocol import Protocol
from ...records.trial import Trial
from ..page import Block, Paragraph
from ..words import Words


def at_limit(trial: Trial, protocol: Protocol, words: Words) -> Iterator[Block]:
    """A line for each figure or hand measure at its limit."""
    for each in limits_of_trial(trial, protocol):
        yield Paragraph(words.message(each.message()))
