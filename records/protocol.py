"""A protocol: everything that must be written down so that a test can be given again in the same way.

With an adapted test there is no standard, so this record is the standard. A field that is not fixed is left out,
and unknown is None, never a guess. Versions are never changed: an edit makes the next one.
"""

from collections.abc import Mapping
from types import MappingProxyType
from typing import ClassVar, Literal, Self, TypeAlias

from pydantic import Field, field_validator, model_validator

from ..errors import BasisError, NotAProtocol, OwnmarkError
from ..words.vocabulary import Placement, PulseSensor
from .rules import MUST, SHOULD, TOLD, Rule
from .texts import ENTRY, TEXT
from .value import Value

Component: TypeAlias = Literal["aerobic", "strength", "trunk", "flexibility"]
WorkMode: TypeAlias = Literal["legs", "arms", "arms and legs", "power chair", "breath", "other"]
Assistance: TypeAlias = Literal[
    "independent", "indirect cue", "gesture", "direct verbal", "model", "partial physical", "full physical"
]
"""From least to most help. Sources disagree on whether a gesture or a word is the lesser help: the order is fixed
here, as the first of them has it."""
Better: TypeAlias = Literal["higher", "lower", "no direction"]
Kind: TypeAlias = Literal["count", "hold time", "range by ruler", "range by tape", "distance", "time", "other"]


class _OfProtocol(Value):
    refusal: ClassVar[type[OwnmarkError]] = NotAProtocol
    called: ClassVar[str] = "a protocol"


class HandMeasure(_OfProtocol):
    """A result that a person reads off and enters: its unit, how it is taken, and whether each side has its own."""

    called: ClassVar[str] = "a hand measure"
    longer: ClassVar[Mapping[str, int]] = {"how": ENTRY}

    name: str = Field(pattern=r"^[a-z][a-z0-9_]{1,39}$")
    unit: str
    kind: Kind
    sides: bool
    attempts: int = Field(ge=1, le=20)
    how: str
    resolution: float | None = Field(default=None, gt=0, description="smallest step in which it is read")
    limit: float | None = Field(default=None, gt=0, description="the most that it can be, where the test ends there")


Amount = Field(default=None, gt=0)
FromZero = Field(default=None, ge=0)


class Protocol(_OfProtocol):
    """One version of a protocol. Units stand in the names of the fields."""

    longer: ClassVar[Mapping[str, int]] = {
        **dict.fromkeys(("task", "set_up", "instructions", "warm_up", "practice", "rests_allowed", "why"), TEXT),
        **dict.fromkeys(("comparable", "cannot_say"), TEXT),
        **dict.fromkeys(("motivators", "course", "movement", "seating", "straps"), TEXT),
        **dict.fromkeys(("footwear_orthoses", "helpers"), TEXT),
        **dict.fromkeys(("write_down", "ask", "cautions"), ENTRY),
    }
    name: str = Field(pattern=r"^[a-z0-9]+(-[a-z0-9]+)*$", max_length=60)
    version: int = Field(default=1, ge=1)
    title: str = Field(min_length=1)
    component: Component
    from_catalogue: str | None = None

    task: str | None = None
    set_up: str | None = None
    instructions: str | None = None
    write_down: tuple[str, ...] = ()
    warm_up: str | None = None
    practice: str | None = None
    motivators: str | None = None
    rests_allowed: str | None = None

    place: Literal["overground", "rollers", "treadmill", "stationary"] | None = None
    surface: str | None = None
    slope_percent: float | None = None
    course: str | None = None
    course_length_m: float | None = Amount
    course_width_m: float | None = Amount
    turn_radius_m: float | None = Amount
    gates: int | None = Amount
    gate_spacing_m: float | None = Amount
    laps: int | None = Amount
    turning: Literal["left", "right", "both"] | None = None
    distance_m: float | None = Amount
    duration_s: float | None = Amount

    work_mode: WorkMode | None = None
    limbs: Literal["left", "right", "both", "in turn"] | None = None
    movement: str | None = None
    movement_range: str | None = None
    pacing: Literal["own pace", "set rhythm", "set speed", "peer", "guide"] | None = None
    cadence_target_per_min: float | None = Amount
    speed_target_m_per_s: float | None = Amount
    resistance: str | None = None
    power_w: float | None = FromZero
    load_kg: float | None = FromZero
    gear: str | None = None
    crank_mode: Literal["together", "in turn"] | None = None
    crank_height_cm: float | None = Amount
    crank_distance_cm: float | None = Amount
    body_weight_support_percent: float | None = Field(default=None, ge=0, le=100)

    device: str | None = None
    device_id: str | None = None
    device_mass_kg: float | None = Amount
    wheel_size_cm: float | None = Amount
    tyre_pressure_kpa: float | None = Amount
    camber_degrees: float | None = FromZero
    speed_setting: str | None = None
    drive_mode: str | None = None
    battery_start_least_percent: float | None = Field(default=None, ge=0, le=100)
    seating: str | None = None
    straps: str | None = None
    footwear_orthoses: str | None = None

    assistance: Assistance | None = None
    helpers: str | None = None
    guide: str | None = None
    tether_cm: float | None = Amount

    rest_posture: str | None = None
    rest_minutes: float | None = Amount
    rest_s: float | None = Amount
    work_s: float | None = Amount
    recovery_s: float | None = Amount
    recovery_posture: str | None = None

    pulse_sensor: PulseSensor | None = None
    pulse_site: str | None = None
    placement: Placement | None = None
    placement_side: Literal["left", "right", "middle"] | None = None
    equation: str | None = None
    target: str | None = None
    pause_s: float | None = Field(default=None, ge=0, le=60)
    stop_s: float | None = Field(default=None, gt=0, le=60)
    dip_s: float | None = Field(default=None, ge=0, le=60)
    exertion_scale: Literal["6-20", "0-10", "pictures 0-10"] | None = None

    hand_measures: tuple[HandMeasure, ...] = ()
    primary_figure: str
    better: Better
    smallest_worthwhile_change: float | None = Amount
    why: str | None = None
    comparable: str | None = None
    cannot_say: str | None = None
    ask: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()

    @field_validator("equation")
    @classmethod
    def _known_equation(cls, equation: str | None) -> str | None:
        if equation is None:
            return None
        from ..metrics.maximum import EQUATIONS

        if equation not in EQUATIONS:
            raise NotAProtocol(f"there is no equation “{equation}”.", mend=f"Use one of {', '.join(EQUATIONS)}.")
        return equation

    @field_validator("target")
    @classmethod
    def _a_band(cls, target: str | None) -> str | None:
        return None if target is None else _band_text(target)

    @model_validator(mode="after")
    def _primary_is_measured(self) -> Self:
        from ..words.vocabulary import FIGURES

        by_hand = [each.name for each in self.hand_measures]
        if len(set(by_hand)) < len(by_hand) or set(by_hand) & set(FIGURES):
            raise NotAProtocol("two measures of the protocol have the same name.", mend="Name each one differently.")
        if self.primary_figure not in FIGURES and self.primary_figure not in by_hand:
            raise NotAProtocol(
                f"the primary figure “{self.primary_figure}” is neither a figure of the sheet nor a hand measure.",
                mend=f"Use one of {', '.join([*by_hand, *FIGURES])}.",
            )
        if self.primary_figure.startswith("cadence") and self.better != "no direction":
            raise NotAProtocol(
                "a rhythm has no better direction: training can lower it as well as raise it.",
                mend="Use “no direction”, or another primary figure.",
            )
        return self

    def hand_measure(self, name: str) -> HandMeasure | None:
        """The hand measure of that name."""
        return next((each for each in self.hand_measures if each.name == name), None)


def _band_text(target: str) -> str:
    """A target band in the one way in which it is kept: "40-60%" or "110-130bpm"."""
    from ..metrics import Band

    try:
        band = Band.of(target)
    except BasisError as wrong:
        raise NotAProtocol(wrong.what, mend="Write 40-60% of reserve, or 110-130bpm.") from None
    return f"{band.low:g}-{band.high:g}{'%' if band.unit == '%' else 'bpm'}"


def _must(label: str, unit: str = "", **more: object) -> Rule:
    return Rule(MUST, label, unit, **more)  # pyright: ignore[reportArgumentType]


FIELDS: Mapping[str, Rule] = MappingProxyType(
    {
        "title": Rule(TOLD, "title", typed=True),
        "component": _must("component"),
        "task": _must("task", asked=True, typed=True),
        "set_up": Rule(SHOULD, "set-up in words", typed=True),
        "instructions": Rule(SHOULD, "instructions said to the student", typed=True),
        "write_down": Rule(TOLD, "what to write down"),
        "warm_up": Rule(SHOULD, "warm-up", typed=True),
        "practice": Rule(SHOULD, "practice before the trial", typed=True),
        "motivators": Rule(SHOULD, "music, peers and other encouragement", typed=True),
        "rests_allowed": _must("rests allowed", typed=True),
        "place": _must("place of the work"),
        "surface": _must("surface", aerobic=True, asked=True, typed=True),
        "slope_percent": _must("slope", "%"),
        "course": _must("course", typed=True),
        "course_length_m": _must("length of the course", "m"),
        "course_width_m": _must("width of the course", "m"),
        "turn_radius_m": _must("radius of the turns", "m"),
        "gates": _must("number of gates"),
        "gate_spacing_m": _must("distance between gates", "m"),
        "laps": _must("laps"),
        "turning": _must("direction of the turns"),
        "distance_m": _must("distance to cover", "m"),
        "duration_s": _must("duration", "s"),
        "work_mode": _must("what does the work", asked=True, aerobic=True),
        "limbs": _must("limbs at work"),
        "movement": _must("movement", typed=True),
        "movement_range": _must("range of the movement", typed=True),
        "pacing": _must("who sets the pace"),
        "cadence_target_per_min": _must("set rhythm", "/min"),
        "speed_target_m_per_s": _must("set speed", "m/s"),
        "resistance": _must("resistance", typed=True),
        "power_w": _must("power", "W"),
        "load_kg": _must("load", "kg"),
        "gear": _must("gear", typed=True),
        "crank_mode": _must("cranks together or in turn"),
        "crank_height_cm": _must("height of the crank", "cm"),
        "crank_distance_cm": _must("distance to the crank", "cm"),
        "body_weight_support_percent": _must("body weight carried by the device", "%"),
        "device": _must("chair, machine or other device", asked=True, typed=True),
        "device_id": _must("which one of these devices", typed=True),
        "device_mass_kg": _must("mass of the device", "kg"),
        "wheel_size_cm": _must("wheel size", "cm"),
        "tyre_pressure_kpa": _must("tire pressure", "kPa"),
        "camber_degrees": Rule(SHOULD, "camber of the wheels", "degrees"),
        "speed_setting": _must("speed setting", typed=True),
        "drive_mode": _must("drive mode", typed=True),
        "battery_start_least_percent": Rule(SHOULD, "least battery charge at the start", "%"),
        "seating": Rule(SHOULD, "seating", typed=True),
        "straps": Rule(SHOULD, "straps", typed=True),
        "footwear_orthoses": Rule(SHOULD, "footwear, orthoses and gloves, as planned", typed=True),
        "assistance": _must("assistance allowed", asked=True),
        "helpers": Rule(SHOULD, "who helps", typed=True),
        "guide": _must("guide", typed=True),
        "tether_cm": _must("length of the tether", "cm"),
        "rest_posture": _must("posture at rest", asked=True, aerobic=True, typed=True),
        "rest_minutes": _must("rest before the trial", "min"),
        "rest_s": _must("length of the rest phase", "s"),
        "work_s": _must("length of the work phase", "s"),
        "recovery_s": Rule(SHOULD, "length of the recovery phase", "s"),
        "recovery_posture": Rule(SHOULD, "posture in recovery", typed=True),
        "pulse_sensor": _must("kind of heart-rate sensor", asked=True, aerobic=True),
        "pulse_site": _must("site of the heart-rate sensor", asked=True, aerobic=True, typed=True),
        "placement": _must("place of the movement sensor"),
        "placement_side": _must("side of the movement sensor"),
        "equation": _must("equation for the maximum"),
        "target": _must("target band"),
        "pause_s": _must("pause that does not end a movement", "s"),
        "stop_s": _must("stillness that is a stop", "s"),
        "dip_s": _must("dip that does not end a stay in the band", "s"),
        "exertion_scale": Rule(TOLD, "scale of perceived exertion"),
        "hand_measures": _must("hand measures"),
        "primary_figure": Rule(TOLD, "primary figure"),
        "better": Rule(TOLD, "which way is better"),
        "smallest_worthwhile_change": Rule(TOLD, "smallest change that matters"),
        "why": Rule(TOLD, "why this figure", typed=True),
        "comparable": Rule(TOLD, "must stay the same", typed=True),
        "cannot_say": Rule(TOLD, "what it cannot say", typed=True),
        "ask": Rule(TOLD, "what to ask first"),
        "cautions": Rule(TOLD, "cautions of the protocol"),
    }
)
"""How each planned fact is compared, with its label. Which of them must match is common practice: task, device,
course or resistance, sensor and its site, assistance, rest method. Name, version and origin are not facts of the
set-up."""
