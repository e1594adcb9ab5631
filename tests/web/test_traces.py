"""Traces are held: the last few, until somebody writes."""

from ownmark.web.traces import MOST, Traces


def test_a_trace_is_made_once_and_the_one_asked_for_longest_ago_makes_room():
    made, held = [], Traces()

    def of(number):
        return held.of(number, lambda: made.append(number) or f"trace {number}")

    assert [of(1), of(1)] == ["trace 1", "trace 1"]
    for number in range(2, MOST + 1):
        of(number)
    of(1)
    of(MOST + 1)
    of(1)
    of(2)
    assert made == [*range(1, MOST + 2), 2]
