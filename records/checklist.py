"""How to give a test again: everything the protocol fixes and the last trial did, as a checklist.

With an adapted test the record of how it was done is the standard. What is not written down stands on the list too, as
something to settle before the re-test: a set-up that nobody knows cannot be repeated.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from .protocol import FIELDS, HandMeasure, Protocol
from .rules import MUST, Rule
from .trial import TRIAL_FIELDS, Trial

GROUPS: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("The test", ("title", "component", "task", "why")),
    (
        "Place and course",
        (
            *("place", "surface", "slope_percent", "course", "course_length_m", "course_width_m", "turn_radius_m"),
            *("gates", "gate_spacing_m", "laps", "turning", "distance_m", "duration_s", "set_up"),
        ),
    ),
    (
        "Chair, machine or device",
        (
            *("device", "device_id", "device_mass_kg", "wheel_size_cm", "tyre_pressure_kpa", "camber_degrees"),
            *("speed_setting", "drive_mode", "battery_start_least_percent", "crank_mode", "crank_height_cm"),
            *("crank_distance_cm", "gear", "resistance", "power_w", "load_kg", "body_weight_support_percent"),
            *("seating", "straps", "footwear_orthoses"),
        ),
    ),
    (
        "The work",
        (
            *("instructions", "work_mode", "limbs", "movement", "movement_range", "pacing", "cadence_target_per_min"),
            *("speed_target_m_per_s", "target", "rests_allowed", "motivators", "warm_up", "practice"),
        ),
    ),
    ("Help", ("assistance", "helpers", "guide", "tether_cm")),
    ("Rest, work, recovery", ("rest_posture", "rest_minutes", "rest_s", "work_s", "recovery_s", "recovery_posture")),
    ("Sensors", ("pulse_sensor", "pulse_site", "placement", "placement_side")),
    ("How figures are made", ("equation", "pause_s", "stop_s", "dip_s", "primary_figure", "better")),
    ("Write down", ("write_down", "exertion_scale", "hand_measures", "smallest_worthwhile_change", "cautions")),
)
"""Every fact of a protocol, in the order in which a test is set up; a test holds it against the protocol's fields."""
LAST_TIME = "As it was at the last trial"
SETTLE = "not written down: settle it before the re-test"


@dataclass(frozen=True, slots=True)
class Item:
    """One line of the checklist. ``must`` tells whether a difference would forbid the comparison."""

    label: str
    value: str
    known: bool
    must: bool


@dataclass(frozen=True, slots=True)
class Section:
    """Lines that belong together."""

    title: str
    items: tuple[Item, ...]


def checklist(protocol: Protocol, last: Trial | None) -> tuple[Section, ...]:
    """What to set up, in order; facts that nobody fixed stand there only where much hangs on them."""
    sections = [Section(title, tuple(_planned(protocol, names))) for title, names in GROUPS]
    if last is not None:
        sections.append(Section(f"{LAST_TIME}, {last.on.isoformat()}", tuple(_done(last, protocol))))
    return tuple(section for section in sections if section.items)


def _planned(protocol: Protocol, names: tuple[str, ...]) -> Iterator[Item]:
    """Lines of the protocol's fields."""
    for name in names:
        yield from _line(getattr(protocol, name), FIELDS[name], protocol)


def _done(last: Trial, protocol: Protocol) -> Iterator[Item]:
    """Lines of what the last trial recorded."""
    for name, rule in TRIAL_FIELDS.items():
        yield from _line(getattr(last, name), rule, protocol)


def _line(value: object, rule: Rule, protocol: Protocol) -> Iterator[Item]:
    """One line, or none where a fact is unknown and little hangs on it."""
    must = rule.rule == MUST
    if value is None or value in ("", ()):
        if rule.asked and (not rule.aerobic or protocol.component == "aerobic"):
            yield Item(rule.label, SETTLE, known=False, must=must)
        return
    if isinstance(value, tuple):
        text = "; ".join(measure_words(each) if isinstance(each, HandMeasure) else str(each) for each in value)
    else:
        text = f"{value:g}" if isinstance(value, float) else str(value)
    if rule.unit and not isinstance(value, tuple):
        text = f"{text} {rule.unit}" if _is_number(value) else text
    yield Item(rule.label, text, known=True, must=must)


def _is_number(value: object) -> bool:
    return isinstance(value, int | float)


def measure_words(each: HandMeasure) -> str:
    """A hand measure in words."""
    sides = ", left and right apart" if each.sides else ""
    tries = f", {each.attempts} attempts" if each.attempts > 1 else ""
    return f"{each.name.replace('_', ' ')} in {each.unit} ({each.kind}{sides}{tries}): {each.how}"
