"""Trials as a comparison sees them, made in a line."""

from datetime import date, timedelta

from ownmark.metrics.figure import Figure
from ownmark.metrics.messages import heart_rate as messages
from ownmark.records.catalogue import copy
from ownmark.records.change.comparison import BasisSeen, TrialSeen
from ownmark.records.protocol import HandMeasure, Protocol
from ownmark.records.trial import HandResult, Trial
from ownmark.words.render import english


def sentences(messages):
    """Messages in English, as the terminal has them."""
    return [english(each) for each in messages]


def sentence(message):
    """A message in English; empty without one."""
    return "" if message is None else english(message)


ON_REST = (messages.basis_rest(70.0, messages.BASIS_REST_ENTERED),)
ON_MAXIMUM = (messages.basis_maximum(190.0, messages.BASIS_MAXIMUM_MEASURED),)


def figure_of(value, low=None, high=None, unit="", **more):
    """A figure of a sheet; ``rests_on`` says what it was worked out with."""
    return Figure(**{"name": "any", "value": value, "low": low, "high": high, "unit": unit, "source": "", **more})


FIRST = date(2025, 9, 1)
CRANK = copy("arm-crank-steady", "crank")
REACH = copy("seated-forward-reach", "reach")


def trial(day: int, value=None, low=None, high=None, *, protocol: Protocol = CRANK, basis=None, figures=None, **facts):
    """A trial ``day`` days after the first; ``value`` is that of the protocol's primary figure."""
    known = dict(figures or {})
    if value is not None:
        known[protocol.primary_figure] = figure_of(value, low, high, "/min", rests_on=ON_REST)
    counted = facts.pop("counted", None)
    conditions, work_s = facts.pop("conditions", ()), facts.pop("work_s", None)
    made = Trial(
        **{
            "id": day + 1,
            "code": "TH-11",
            "protocol": protocol.name,
            "protocol_version": protocol.version,
            "on": FIRST + timedelta(days=day),
            **facts,
        }
    )
    return TrialSeen(made, protocol, known, basis or BasisSeen(rest_bpm=70.0), work_s, conditions, counted=counted)


def reached(day: int, left=None, right=None, *, protocol: Protocol = REACH, **facts):
    """A trial of forward reach, one or several attempts a side [cm]."""
    results = [
        HandResult(name=protocol.primary_figure, value=value, side=side, attempt=attempt)
        for side, values in (("left", left), ("right", right))
        for attempt, value in enumerate([] if values is None else values if isinstance(values, tuple) else (values,), 1)
    ]
    return trial(day, protocol=protocol, hand_results=tuple(results), **facts)


def by_hand(kind: str, name: str = "result", unit: str = "m", **fields) -> Protocol:
    """A protocol whose primary figure is entered by hand."""
    measure = HandMeasure(name=name, unit=unit, kind=kind, sides=False, attempts=1, how="as read")
    return Protocol(
        **{
            "name": "own",
            "title": "Own",
            "component": "aerobic",
            "primary_figure": name,
            "better": "higher",
            "hand_measures": (measure,),
            **fields,
        }
    )
