"""How to give a test again: everything the protocol fixes and the last trial did, as a checklist.

With an adapted test the record of how it was done is the standard. What is not written down stands on the list too, as
something to settle before the trial: a set-up that nobody knows cannot be repeated.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date

from ..words.render import Words
from ..words.shapes import is_list
from .protocol import FIELDS, HandMeasure, Protocol
from .rules import MUST, TOLD, Rule
from .trial import IN_TRIAL, TRIAL_FIELDS, Trial

GROUPS: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("test", ("title", "component", "task", "why", "cannot_say", "comparable", "ask")),
    (
        "place",
        (
            *("place", "surface", "slope_percent", "course", "course_length_m", "course_width_m", "turn_radius_m"),
            *("gates", "gate_spacing_m", "laps", "turning", "distance_m", "duration_s", "set_up"),
        ),
    ),
    (
        "device",
        (
            *("device", "device_id", "device_mass_kg", "wheel_size_cm", "tyre_pressure_kpa", "camber_degrees"),
            *("speed_setting", "drive_mode", "battery_start_least_percent", "crank_mode", "crank_height_cm"),
            *("crank_distance_cm", "gear", "resistance", "power_w", "load_kg", "body_weight_support_percent"),
            *("seating", "straps", "footwear_orthoses"),
        ),
    ),
    (
        "work",
        (
            *("instructions", "work_mode", "limbs", "movement", "movement_range", "pacing", "cadence_target_per_min"),
            *("speed_target_m_per_s", "target", "rests_allowed", "motivators", "warm_up", "practice"),
        ),
    ),
    ("help", ("assistance", "helpers", "guide", "tether_cm")),
    ("rest", ("rest_posture", "rest_minutes", "rest_s", "work_s", "recovery_s", "recovery_posture")),
    ("sensors", ("pulse_sensor", "pulse_site", "placement", "placement_side")),
    ("figures", ("equation", "pause_s", "stop_s", "dip_s", "primary_figure", "better")),
    ("write", ("write_down", "exertion_scale", "hand_measures", "smallest_worthwhile_change", "cautions")),
)
"""Every fact of a protocol, in the order in which a test is set up; a test holds it against the protocol's fields."""
NOTES = Rule(TOLD, "notes of the staff")
"""What the staff wrote of the last trial is read before the next one."""
LAST = "last"
"""Key of the section of what the last trial recorded."""


@dataclass(frozen=True, slots=True)
class Item:
    """One line of the checklist: a field, and what is written down of it; None where nothing is."""

    name: str
    rule: Rule
    fact: object | None

    @property
    def known(self) -> bool:
        """Whether it is written down."""
        return self.fact is not None

    @property
    def must(self) -> bool:
        """Whether a difference would forbid the comparison."""
        return self.rule.rule == MUST

    @property
    def label(self) -> str:
        """The field in English."""
        return self.rule.label

    @property
    def value(self) -> str:
        """What is written down, in English and with its unit."""
        if self.fact is None:
            return Words("en").get("card.settle")
        if is_list(self.fact):
            parts = [measure_words(each) if isinstance(each, HandMeasure) else str(each) for each in self.fact]
            return "; ".join(parts).replace("?; ", "? ")
        text = f"{self.fact:g}" if isinstance(self.fact, float) else str(self.fact)
        return f"{text} {self.rule.unit}" if self.rule.unit and isinstance(self.fact, int | float) else text


@dataclass(frozen=True, slots=True)
class Section:
    """Lines that belong together; ``on``: the day of the trial that they are of."""

    key: str
    items: tuple[Item, ...]
    on: date | None = None

    def titled(self, words: Words) -> str:
        """What the lines are about."""
        return words.get(f"checklist.{self.key}", **({"on": self.on} if self.on else {}))

    @property
    def title(self) -> str:
        """The same for the terminal."""
        return self.titled(Words("en", terminal=True))


def checklist(protocol: Protocol, last: Trial | None) -> tuple[Section, ...]:
    """What to set up, in order; facts that nobody fixed stand there only where much hangs on them."""
    told = _told_elsewhere(protocol, last)
    sections = [
        Section(
            key,
            tuple(each for each in _lines(protocol, names, FIELDS, protocol) if each.known or each.name not in told),
        )
        for key, names in GROUPS
    ]
    if last is not None:
        noted = (Item("notes", NOTES, " ".join(last.notes.split())),) if last.notes.strip() else ()
        sections.append(Section(LAST, (*_lines(last, TRIAL_FIELDS, TRIAL_FIELDS, protocol), *noted), last.on))
    return tuple(section for section in sections if section.items)


def _told_elsewhere(protocol: Protocol, last: Trial | None) -> frozenset[str]:
    """Facts that need not be settled: the last trial says them, or the student stays in one place on any floor."""
    used = {planned for planned, name in IN_TRIAL.items() if last is not None and getattr(last, name)}
    return frozenset(used | ({"surface"} if protocol.place == "stationary" else set()))


def _lines(of: Protocol | Trial, names: Iterable[str], rules: Mapping[str, Rule], protocol: Protocol) -> Iterator[Item]:
    """A line a field, or none where a fact is unknown and little hangs on it."""
    for name in names:
        rule, fact = rules[name], getattr(of, name)
        if fact not in (None, "", ()):
            yield Item(name, rule, fact)
        elif rule.asked and (not rule.aerobic or protocol.component == "aerobic"):
            yield Item(name, rule, None)


def measure_words(each: HandMeasure) -> str:
    """A hand measure in words."""
    sides = ", left and right apart" if each.sides else ""
    tries = f", {each.attempts} attempts, their mean counts" if each.attempts > 1 else ""
    return f"{each.name.replace('_', ' ')} in {each.unit} ({each.kind}{sides}{tries}): {each.how}"
