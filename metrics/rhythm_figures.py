"""The rhythm figures of a sheet: cadence, its variation and cycles, what one cycle is, and where there is no rhythm.

Whole cycles are counted everywhere. On the trunk of a walker that is a stride, two steps: where left and right are
alike, steps could be counted as well, but a walker who limps a little more would be counted by strides the next time,
and half the number would pass for a change. What is counted stays on the sheet, and two trials that may differ in it
are not compared.
"""

from ..words.numbers import nearest
from .bounds import Bounded
from .figure import Counting
from .glossary import ON_CHAIR
from .motion.rhythm import Rhythm
from .motion.rhythm_notes import halves_note, paired, steps_note
from .sheet_builder import Drafts

MOST_KNOCKS = 0.25
"""With more of the movement of a chair's frame left out as knocks of the floor, what is left tells no rhythm: between
made knocks that fill 0.3 of the time, pushes of 47 and 80 a minute were read wrongly."""
NAMES = ("cadence_mean", "cadence_variation", "cycle_count")
_POWER_CHAIR = "Not given: the frame of a power chair has no rhythm of the student's."
_WHEEL = (
    "Not given: a sensor on a wheel turns with it, so its rhythm is that of the wheel and not of the pushes. For"
    " pushes, put it on the frame or on a wrist."
)


def what_is_counted(beat: Rhythm, placement: str, *, power_chair: bool) -> Counting | None:
    """What a cycle is; None where there is no rhythm of the student's.

    Legs work in turn, so on the trunk a cycle without like halves may be a single step as well.
    """
    if beat.cadence_mean is None or _no_rhythm(beat, placement, power_chair=power_chair):
        return None
    if paired(beat.halves):
        return "pair"
    return "cycle or half" if placement == "trunk" else "cycle"


def add_rhythm(drafts: Drafts, beat: Rhythm, placement: str, covered: float | None) -> None:
    """Add the three figures, given or withheld.

    Parameters
    ----------
    beat : rhythm of the work phase
    placement : where the sensor sat
    covered : share of the work phase with movement measured  [%]
    """
    why = _no_rhythm(beat, placement, power_chair=drafts.basis.power_chair)
    mean, count, spread = beat.cadence_mean, beat.cycle_count, beat.cadence_variation_percent
    if why or mean is None or count is None or spread is None or mean.value is None:
        for name in NAMES:
            drafts.withhold(name, why or f"Not given: {beat.note}")
        return
    on_trunk = placement == "trunk"
    what = steps_note(mean.value, beat.halves) if on_trunk else "whole cycles, not halves"
    more = () if on_trunk else halves_note(mean.value, beat.halves)
    note = " ".join((f"{what}, over {nearest(beat.rhythmic_s)} s with a rhythm.", *more, *beat.remarks))
    drafts.give(NAMES[0], mean, note=note, coverage=covered)
    drafts.give(NAMES[1], Bounded(spread, spread, spread), note="no direction is better", coverage=covered)
    counted = f"{what}, in the {nearest(beat.rhythmic_s)} s with a rhythm"
    drafts.give(NAMES[2], count, note=counted, coverage=covered)


def _no_rhythm(beat: Rhythm, placement: str, *, power_chair: bool) -> str:
    """Why what repeats itself is not the student's rhythm; empty if it may be."""
    if placement == "wheel":
        return _WHEEL
    if placement not in ON_CHAIR:
        return ""
    if power_chair:
        return _POWER_CHAIR
    if beat.knocks_s > MOST_KNOCKS * beat.moving_s:
        share = 100.0 * beat.knocks_s / beat.moving_s
        return f"Not given: knocks as from the joints of a floor fill {nearest(share)} % of the movement."
    return ""
