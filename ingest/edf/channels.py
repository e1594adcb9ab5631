"""Which channels of an EDF file become which streams: by label and dimension, with the words that tables use too."""

from collections.abc import Iterable
from dataclasses import dataclass

from ...words.message import Message
from .. import messages as say
from ..recording import ACCELERATION, ANGULAR_RATE, ECG, HEART_RATE, WAVEFORM
from ..table.columns import AXES, UNIT_OF_PART, quoted, recognise, split_unit, stream_of, tokens_of
from ..table.units import OTHER, RATE, Unit, unit_of
from ..waveform.channel_words import kind_of_words
from .header import Channel

_NO_WAVES = frozenset("rate frequency frequenz frecuencia freq hr bpm quality index interval".split())
"""Words beside ECG or pulse that make a channel a number and no wave."""


@dataclass(frozen=True, slots=True)
class Part:
    """One channel, or three for the axes: numbers of the file's channels, the unit to take them from, and the kind."""

    name: str
    channels: tuple[int, ...]
    unit: Unit | None = None
    kind: str = ""


@dataclass(frozen=True, slots=True)
class _Seen:
    """What one channel is."""

    number: int
    part: str
    unit: Unit | None
    group: tuple[object, ...] = ()
    kind: str = ""


def assign_channels(channels: Iterable[Channel]) -> tuple[list[Part], list[Message]]:
    """The streams that the channels give, and notes on those that could have been one."""
    seen = [found for number, channel in enumerate(channels) if (found := _see(number, channel))]
    parts = [
        Part(entry.part, (entry.number,), entry.unit, entry.kind)
        for entry in seen
        if entry.part in (WAVEFORM, HEART_RATE)
    ]
    notes: list[Message] = []
    for name in (ACCELERATION, ANGULAR_RATE):
        groups = {entry.group: None for entry in seen if stream_of(entry.part) == name}
        for group in groups:
            of_group = [entry for entry in seen if entry.group == group and stream_of(entry.part) == name]
            three = {entry.part[-1]: entry for entry in of_group}
            if len(three) != len(AXES) or len(of_group) != len(AXES):
                notes.append(say.edf_no_axes(name))
            elif three["x"].unit is None:
                notes.append(say.edf_no_unit(name))
            else:
                parts.append(Part(name, tuple(three[axis].number for axis in AXES), three["x"].unit))
    return parts, list(dict.fromkeys(notes))


def unused(channels: Iterable[Channel], parts: Iterable[Part]) -> Message | None:
    """What is said of channels that become no stream; None where there are none."""
    used = {number for part in parts for number in part.channels}
    names = [
        quoted(channel.label) for number, channel in enumerate(channels) if number not in used and not channel.notes
    ]
    shown = ", ".join(names[:8]) + (f" and {len(names) - 8} more" if len(names) > 8 else "")
    return say.edf_unused(shown) if names else None


def _see(number: int, channel: Channel) -> _Seen | None:
    """What a channel is; None for one that is no stream of ours."""
    if channel.notes or not channel.samples:
        return None
    label, stated = split_unit(channel.label)
    unit = unit_of(channel.dimension) or stated
    words = set(tokens_of(label))
    kind = ECG if label[:3].upper() in ("ECG", "EKG") else kind_of_words(words)
    if kind and not words & _NO_WAVES and (unit is None or unit.measures == OTHER):
        return _Seen(number, WAVEFORM, unit, kind=kind)
    if words == {"pr"} and unit is not None and unit.measures == RATE:
        return _Seen(number, HEART_RATE, unit)
    column = recognise(f"{label} [{channel.dimension}]" if unit else label)
    if column is None:
        return None
    name = stream_of(column.part)
    if name == HEART_RATE:
        return _Seen(number, HEART_RATE, unit) if unit is None or unit.measures == RATE else None
    if name == WAVEFORM:
        return _Seen(number, WAVEFORM, unit, kind=kind)
    if name in (ACCELERATION, ANGULAR_RATE):
        unit = unit if unit is not None and unit.measures == UNIT_OF_PART[name] else None
        return _Seen(number, column.part, unit, (channel.samples, unit, frozenset(words - set(AXES))))
    return None
