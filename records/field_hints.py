"""What a mistyped name of a field can mean: by its letters, by its label, and by what people call the same thing."""

import difflib
import re
from collections.abc import Iterable, Mapping
from types import MappingProxyType

from .protocol import FIELDS
from .trial import TRIAL_FIELDS

CALLED: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        **dict.fromkeys(("cones", "cone", "pylons", "posts", "obstacles"), ("gates", "course")),
        **dict.fromkeys(("chair", "wheelchair", "walker", "machine", "bike"), ("device", "device_used")),
        **dict.fromkeys(("floor", "ground", "track"), ("surface",)),
        **dict.fromkeys(("shoes", "braces", "orthotics", "afo"), ("footwear_orthoses",)),
        **dict.fromkeys(("music", "encouragement", "peers"), ("motivators",)),
        **dict.fromkeys(("help", "support", "prompting"), ("assistance", "assistance_given")),
        **dict.fromkeys(("hills", "incline", "grade"), ("slope_percent",)),
        **dict.fromkeys(("tires", "tyres"), ("tyre_pressure_kpa",)),
        **dict.fromkeys(("weather", "heat"), ("temperature_c", "humidity_percent")),
        **dict.fromkeys(("meds", "medication", "medications", "drugs"), ("medicines",)),
        **dict.fromkeys(("minutes", "time", "length"), ("duration_s", "work_s")),
        **dict.fromkeys(("tester", "teacher", "staff"), ("tested_by",)),
        **dict.fromkeys(("speed", "setting"), ("speed_setting", "speed_target_m_per_s")),
        **dict.fromkeys(("sensor", "strap", "monitor"), ("pulse_sensor", "sensor_used")),
        **dict.fromkeys(("rpe", "borg"), ("exertion_scale", "exertion")),
    }
)
"""Fields by other words for them. Our own choice, from how set-ups are described."""
_MOST = 3
_LEAST_ALIKE = 0.6


def plain(typed: str) -> str:
    """A name of a field as it could have been meant: small letters, and one stroke between words."""
    return re.sub(r"[\s_\-]+", "_", typed.strip().lower())


def meant(typed: str, names: Iterable[str]) -> tuple[str, ...]:
    """Which of the fields a mistyped name can mean, the likeliest first, three at most; empty where none is near.

    What is called so, or has just this label, stands alone before what is only spelled like it.
    """
    wanted, known = plain(typed), tuple(names)
    labels = {name: plain(_label(name)) for name in known}
    named = [name for name in CALLED.get(wanted, ()) if name in known]
    named += [name for name, label in labels.items() if label == wanted]
    if named:
        return tuple(dict.fromkeys(named))[:_MOST]
    words = set(wanted.split("_"))
    within = [name for name, label in labels.items() if words <= {*label.split("_"), *name.split("_")}]
    close = difflib.get_close_matches(wanted, known, n=_MOST, cutoff=_LEAST_ALIKE)
    return tuple(dict.fromkeys((*close[:1], *within, *close)))[:_MOST]


def _hint(found: Iterable[str]) -> str:
    """A question that names what can be meant, with a space behind; empty where nothing is near."""
    names = tuple(found)
    return f"Did you mean {' or '.join(names)}? " if names else ""


def hint_of_protocol(typed: str, names: Iterable[str]) -> str:
    """What a mistyped field of a protocol can mean; one that only a trial has is said to be the trial's."""
    known = tuple(names)
    of_trial = tuple(name for name in TRIAL_FIELDS if name not in known)
    found = meant(typed, known)
    other = _exact(typed, of_trial) or (None if found else next(iter(meant(typed, of_trial)), None))
    if other is not None and _exact(typed, known) is None:
        return f"That is written down of a trial: `ownmark trial add … --set {other}=…`. "
    return _hint(found)


def hint_of_trial(typed: str, names: Iterable[str], short: Mapping[str, str]) -> str:
    """What a mistyped field of a trial can mean; one that only a protocol has is said to be the protocol's.

    short : other names by which fields are known, and the field of each
    """
    known = tuple(names)
    other = _exact(typed, (name for name in FIELDS if name not in known))
    if other is not None and _exact(typed, known) is None:
        return f"That is fixed in the protocol: `ownmark protocol edit NAME --set {other}=…`. "
    return _hint(dict.fromkeys(short.get(name, name) for name in meant(typed, (*known, *short))))


def _exact(typed: str, names: Iterable[str]) -> str | None:
    """The field whose name, with its unit or without, label or other word this is."""
    wanted = plain(typed)
    for name in names:
        rule = FIELDS.get(name) or TRIAL_FIELDS.get(name)
        bare = name.rpartition("_")[0] if rule is not None and rule.unit else name
        if wanted in (name, bare, plain(_label(name))) or name in CALLED.get(wanted, ()):
            return name
    return None


def _label(name: str) -> str:
    """The field in words; its name where it has none."""
    rule = FIELDS.get(name) or TRIAL_FIELDS.get(name)
    return name if rule is None else rule.label
