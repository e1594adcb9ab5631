"""The rhythm figures of a sheet: cadence, its variation and cycles, what one cycle is, and where there is no rhythm.

Whole cycles are counted everywhere. On the trunk of a walker that is a stride, two steps: where left and right are
alike, steps could be counted as well, but a walker who limps a little more would be counted by strides the next time,
and half the number would pass for a change. What is counted stays on the sheet, and two trials that may differ in it
are not compared.
"""

from ..words.message import Message
from ..words.vocabulary import ON_CHAIR
from .bounds import Bounded
from .figure import Counting
from .messages import movement as say
from .motion.rhythm import Rhythm
from .motion.rhythm_notes import count_note, halves_notes, over_note, paired
from .sheet_builder import Drafts

MOST_KNOCKS = 0.25
"""With more of the movement of a chair's frame left out as knocks of the floor, what is left tells no rhythm: between
made knocks that fill 0.3 of the time, pushes of 47 and 80 a minute were read wrongly."""
NAMES = ("cadence_mean", "cadence_variation", "cycle_count")


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
            drafts.withhold(name, why or say.why_because(beat.notes[0]))
        return
    trunk = placement == "trunk"
    what = over_note(mean.value, beat.halves, beat.rhythmic_s, trunk=trunk)
    more = () if trunk else halves_notes(mean.value, beat.halves)
    drafts.give(NAMES[0], mean, note=(what, *more, *beat.remarks), coverage=covered)
    drafts.give(NAMES[1], Bounded(spread, spread, spread), note=say.NOTE_NO_DIRECTION, coverage=covered)
    counted = count_note(mean.value, beat.halves, beat.rhythmic_s, trunk=trunk)
    drafts.give(NAMES[2], count, note=counted, coverage=covered)


def _no_rhythm(beat: Rhythm, placement: str, *, power_chair: bool) -> Message | None:
    """Why what repeats itself is not the student's rhythm; None if it may be."""
    if placement == "wheel":
        return say.WHY_WHEEL_RHYTHM
    if placement not in ON_CHAIR:
        return None
    if power_chair:
        return say.WHY_CHAIR_RHYTHM
    if beat.knocks_s > MOST_KNOCKS * beat.moving_s:
        return say.why_knocks(100.0 * beat.knocks_s / beat.moving_s)
    return None
