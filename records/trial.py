"""A trial: one administration of a protocol, as it was done."""

import re
from collections.abc import Mapping
from datetime import date
from types import MappingProxyType
from typing import ClassVar, Literal

from pydantic import Field, field_validator

from ..errors import NotATrial, OwnmarkError
from ..metrics.figure import EffortSheet
from ..words.shapes import is_object
from .protocol import Assistance
from .rules import MUST, SHOULD, TOLD, Rule
from .student import check_code, check_note, check_tester
from .texts import ENTRY, TEXT
from .value import Value

Percent = Field(default=None, ge=0, le=100)
EXERTION_RANGES: Mapping[str, tuple[float, float]] = MappingProxyType(
    {"6-20": (6, 20), "0-10": (0, 10), "pictures 0-10": (0, 10)}
)


class _OfTrial(Value):
    refusal: ClassVar[type[OwnmarkError]] = NotATrial
    called: ClassVar[str] = "a trial"


class KeptFile(_OfTrial):
    """A kept file. ``path`` is its bare name as given, ``sha256`` and ``size`` are of what is kept.

    Of a shared or long file that is an excerpt: ``of`` is the SHA-256 of the whole recording, and ``part_s`` the span
    that was cut out of it, on its own clock [s]. Of a packed file that is kept whole ``content_sha256`` is of what it
    unpacks to. ``heart_keys`` are of what is kept (``ingest/heart_keys.py``).
    """

    called: ClassVar[str] = "a kept file"

    path: str = Field(min_length=1)
    sha256: str = Field(pattern=r"^[0-9a-f]{64}$")
    size: int = Field(ge=0)
    of: str | None = Field(default=None, pattern=r"^[0-9a-f]{64}$")
    part_s: tuple[float, float] | None = None
    content_sha256: str | None = Field(default=None, pattern=r"^[0-9a-f]{64}$")
    heart_keys: tuple[str, ...] = ()

    @property
    def recording(self) -> str:
        """SHA-256 of the whole recording unpacked, of which this is all or a part: by it a recording is known again."""
        return self.of or self.content_sha256 or self.sha256

    @property
    def without_keys(self) -> "KeptFile":
        """The file as an ownmark names it that knew no keys of hearts."""
        return self.model_copy(update={"heart_keys": ()})

    @field_validator("heart_keys")
    @classmethod
    def _keys(cls, keys: tuple[str, ...]) -> tuple[str, ...]:
        if any(re.fullmatch(r"[0-9a-f]{16}", each) is None for each in keys):
            raise NotATrial("a key of a heart is 16 hexadecimal digits.")
        return keys

    @field_validator("path")
    @classmethod
    def _bare_name(cls, path: str) -> str:
        # Folders can carry a name: only what stands behind the last stroke is kept.
        return re.split(r"[/\\]", path)[-1] or path


class HandResult(_OfTrial):
    """One attempt at a hand measure."""

    called: ClassVar[str] = "a hand result"

    name: str
    value: float
    side: Literal["left", "right"] | None = None
    attempt: int = Field(default=1, ge=1)


class Stop(_OfTrial):
    """When the student stopped (as written, "09:14") and why."""

    called: ClassVar[str] = "a stop"
    longer: ClassVar[Mapping[str, int]] = {"why": ENTRY}

    at: str
    why: str


class Trial(_OfTrial):
    """One trial. Times of phases are kept as the person typed them; ``sheet`` is the computed sheet, of any schema.

    Empty text means not written down; where there is nothing to write, the person writes "none".
    ``offsets`` and ``clock_shifts`` are by a file's name: how much later than the trial it starts, and what is added to
    its clock, which was wrong [s]. ``columns`` says which column holds what in every file that has such a column,
    ``file_columns`` in the file of that name alone. ``margin_s`` is how much of the recording before the first phase
    and after the last belongs to the trial; None: two minutes [s]. ``confirmed`` holds what a person answered when
    something of it was asked.
    """

    longer: ClassVar[Mapping[str, int]] = dict.fromkeys(
        ("notes", "health", "medicines", "footwear_orthoses", "device_used", "device_settings"), TEXT
    )
    most: ClassVar[Mapping[str, int]] = {"files": 1000, "hand_results": 1000}
    id: int | None = None
    code: str
    protocol: str
    protocol_version: int = Field(ge=1)
    on: date
    time_of_day: str | None = None

    files: tuple[KeptFile, ...] = ()
    rest_phase: str | None = None
    work: str | None = None
    recovery: str | None = None
    columns: dict[str, str] = Field(default_factory=dict)
    rate_hz: float | None = Field(default=None, gt=0)
    zone: str | None = None
    offsets: dict[str, float] = Field(default_factory=dict)
    clock_shifts: dict[str, float] = Field(default_factory=dict)
    file_columns: dict[str, dict[str, str]] = Field(default_factory=dict)
    assisted: tuple[str, ...] = ()
    floor: str | None = None
    margin_s: float | None = Field(default=None, ge=0, le=3600)
    confirmed: tuple[str, ...] = ()
    distance_m: float | None = Field(default=None, gt=0)
    notes: str = ""

    exertion: float | None = None
    exertion_scale: Literal["6-20", "0-10", "pictures 0-10"] | None = None
    battery_start_percent: float | None = Percent
    battery_end_percent: float | None = Percent
    assistance_given: Assistance | None = None
    assistance_usual: Assistance | None = None
    prompts_per_min: float | None = Field(default=None, ge=0)
    stops: tuple[Stop, ...] = ()
    temperature_c: float | None = Field(default=None, ge=-30, le=60)
    humidity_percent: float | None = Percent
    medicines: str = ""
    hours_since_medicine: float | None = Field(default=None, ge=0)
    footwear_orthoses: str = ""
    device_used: str | None = None
    device_settings: str | None = None
    sensor_used: str | None = None
    tested_by: str | None = None
    practice_trials: int | None = Field(default=None, ge=0)
    health: str = ""

    hand_results: tuple[HandResult, ...] = ()
    sheet: EffortSheet | None = None
    computed_by: str | None = None
    practice: bool = False

    @field_validator("sheet", mode="before")
    @classmethod
    def _of_any_form(cls, found: object) -> object:
        """A sheet as JSON prints it carries its English beside, which is not read back."""
        return EffortSheet.from_page(found) if is_object(found) else found

    @field_validator("code")
    @classmethod
    def _a_code(cls, code: str) -> str:
        return check_code(code)

    @field_validator("time_of_day")
    @classmethod
    def _a_time(cls, text: str | None) -> str | None:
        if text is None:
            return None
        found = re.fullmatch(r"(\d{1,2}):(\d\d)(?::\d\d)?", text.strip())
        if found is None or int(found[1]) > 23 or int(found[2]) > 59:
            raise NotATrial(f"“{text}” is not a time of day.", mend="Write HH:MM, as in 09:30.")
        return f"{int(found[1]):02d}:{found[2]}"

    @field_validator("notes", "health", "medicines")
    @classmethod
    def _no_address(cls, text: str) -> str:
        return check_note(text, NotATrial)

    @field_validator("tested_by")
    @classmethod
    def _a_tester(cls, tested_by: str | None) -> str | None:
        return None if tested_by is None else check_tester(tested_by, NotATrial)

    def model_post_init(self, _context: object, /) -> None:
        """Check what hangs together."""
        if self.exertion is not None:
            if self.exertion_scale is None:
                raise NotATrial(
                    "perceived exertion needs its scale: the same number means different things on each.",
                    mend=f"Use one of {', '.join(EXERTION_RANGES)}.",
                )
            low, high = EXERTION_RANGES[self.exertion_scale]
            if not low <= self.exertion <= high:
                raise NotATrial(f"an exertion of {self.exertion:g} is not on the scale {self.exertion_scale}.")
        seen = [(each.name, each.side, each.attempt) for each in self.hand_results]
        if len(set(seen)) < len(seen):
            raise NotATrial(
                "a hand result is given twice for the same side and attempt.",
                mend="Write them with ; between them, or number them: “forward_reach left 2”.",
            )


IN_TRIAL: Mapping[str, str] = MappingProxyType({"device": "device_used", "assistance": "assistance_given"})
"""Facts of the set-up that a trial says itself where the protocol does not: the planned field, and the trial's."""
BY_FILE = ("offsets", "clock_shifts", "file_columns")
"""Fields that name files as they were given: wherever such names may not stand, neither may these."""
TRIAL_FIELDS: Mapping[str, Rule] = MappingProxyType(
    {
        "assistance_given": Rule(MUST, "highest assistance given", asked=True),
        "assistance_usual": Rule(MUST, "usual assistance given"),
        "prompts_per_min": Rule(SHOULD, "prompts", "/min", within=1.0),
        "device_used": Rule(MUST, "device used", typed=True),
        "device_settings": Rule(MUST, "settings of the device", typed=True),
        "sensor_used": Rule(MUST, "sensor used", typed=True),
        "medicines": Rule(MUST, "medicines that act on the heart", asked=True, aerobic=True, typed=True, heart=True),
        "hours_since_medicine": Rule(SHOULD, "time since the medicine", "h", within=1.0, heart=True),
        "time_of_day": Rule(SHOULD, "time of day", "h", within=2.0),
        "temperature_c": Rule(SHOULD, "room temperature", "°C", within=3.0, heart=True),
        "footwear_orthoses": Rule(SHOULD, "footwear, orthoses and gloves", typed=True),
        "tested_by": Rule(SHOULD, "who ran the test", typed=True),
        "practice_trials": Rule(SHOULD, "practice trials before"),
        "battery_start_percent": Rule(SHOULD, "battery at the start", "%", within=20.0),
        "humidity_percent": Rule(TOLD, "humidity", "%", within=10.0),
        "health": Rule(SHOULD, "health on the day", typed=True, heart=True, noted=True),
        "exertion_scale": Rule(TOLD, "scale of perceived exertion, as used"),
    }
)
"""How each fact of a trial is compared, with its label. The 3 °C, like the choice of what must match, is common
practice as the trade tables give it; the other widths are our own choice and stand on the comparison."""
