"""What is said of phases that were found in a recording, and of a strap that may have been handed on.

Messages without values are constants; a function gives each of the others its values. Times are in seconds from the
recording's start, rates in beats/min. ``witness`` is what the phases rest on, a key of ``proposal_seen_by``.
"""

from ...words.message import Message

PROPOSAL_NOTHING_MEASURED = Message("proposal.nothing_measured")
PROPOSAL_NO_ONSET = Message("proposal.no_onset")
PROPOSAL_SEVERAL_MOVEMENTS = Message("proposal.several_movements")
PROPOSAL_MARKS_UNCLEAR = Message("proposal.marks_unclear")
PROPOSAL_MARKS_UNCONFIRMED = Message("proposal.marks_unconfirmed")
PROPOSAL_NO_REST = Message("proposal.no_rest")


def proposal_too_long(minutes: float) -> Message:
    """A recording in which more than one effort is likely."""
    return Message.of("proposal.too_long", minutes=minutes)


def proposal_rests_on(witness: str, within: float) -> Message:
    """How good a proposal is."""
    return Message.of("proposal.rests_on", witness=witness, within=within)


def proposal_start_rests_on(witness: str, within: float) -> Message:
    """How good the start is, where the end rests on something else."""
    return Message.of("proposal.start_rests_on", witness=witness, within=within)


def proposal_end_rests_on(witness: str, within: float) -> Message:
    """How good the end is, where the start rests on something else."""
    return Message.of("proposal.end_rests_on", witness=witness, within=within)


def proposal_start_unsure(within: float) -> Message:
    """A start that is no more than a guess."""
    return Message.of("proposal.start_unsure", within=within)


def proposal_end_unsure(within: float) -> Message:
    """An end that is no more than a guess."""
    return Message.of("proposal.end_unsure", within=within)


def proposal_by_length(moved: float, expected: float) -> Message:
    """Ends that the protocol's length has moved."""
    return Message.of("proposal.by_length", moved=moved, expected=expected)


def proposal_begun_before(until: float) -> Message:
    """A recording that begins when the heart is up, and when it comes down."""
    return Message.of("proposal.begun_before", until=until)


def proposal_end_not_seen(start: float) -> Message:
    """A recording that ends before the heart comes down."""
    return Message.of("proposal.end_not_seen", start=start)


def proposal_second(first: float, second: float) -> Message:
    """Two stretches of work that are nearly alike."""
    return Message.of("proposal.second", first=first, second=second)


def proposal_too_vague(within: float, most: float) -> Message:
    """Ends that cannot be told well enough."""
    return Message.of("proposal.too_vague", within=within, most=most)


def proposal_other_length(length: float, expected: float) -> Message:
    """Work that is longer or shorter than the protocol says."""
    return Message.of("proposal.other_length", length=length, expected=expected)


def proposal_other_start(found: float, expected: float) -> Message:
    """Work that begins elsewhere than it was to."""
    return Message.of("proposal.other_start", found=found, expected=expected)


def proposal_only_stated(start: float) -> Message:
    """Phases that nothing in the recording shows."""
    return Message.of("proposal.only_stated", start=start)


def proposal_late_strap(start: float, first: float) -> Message:
    """A strap that was put on when the work had begun."""
    return Message.of("proposal.late_strap", start=start, first=first)


def proposal_cut(until: float, last: float) -> Message:
    """A recording that ends before the work was to end."""
    return Message.of("proposal.cut", until=until, last=last)


def proposal_marks_elsewhere(start: float, until: float) -> Message:
    """Presses or laps that lie nowhere near the work that was found."""
    return Message.of("proposal.marks_elsewhere", start=start, until=until)


def proposal_movement_elsewhere(start: float, until: float) -> Message:
    """Movement that lies nowhere near the work that the heart rate shows."""
    return Message.of("proposal.movement_elsewhere", start=start, until=until)


def hand_over_contact(at: float, seconds: float) -> Message:
    """No skin contact for a while."""
    return Message.of("hand_over.contact", at=at, seconds=seconds)


def hand_over_gap(at: float, seconds: float) -> Message:
    """No values for a while."""
    return Message.of("hand_over.gap", at=at, seconds=seconds)


def hand_over_leaps(at: float, seconds: float) -> Message:
    """Rates that leap as no heart does."""
    return Message.of("hand_over.leaps", at=at, seconds=seconds)


def hand_over_equal(at: float, seconds: float) -> Message:
    """One value for a while."""
    return Message.of("hand_over.equal", at=at, seconds=seconds)
