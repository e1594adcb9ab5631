"""A second maker of class recordings that shares no formula with ``class_recordings``: what holds on one is no chance.

Here the heart follows work by an S-shaped answer with a delay, falls at two speeds, rises ahead of the start as a ramp,
and swings with 1/f noise. Its beats are summed to intervals, and the strap writes the rate of its last beats. Dropouts
come in bursts, most of them short; a strap that is handed on lies bare, and finds the next heart in one go or two.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from ownmark.ingest.cleaning.judge import clean
from ownmark.ingest.flags import Flag
from ownmark.ingest.recording import HEART_RATE, Provenance, Recording, Stream

Floats = NDArray[np.float64]
Span = tuple[float, float]
USUAL_RISE, POWER_RISE = (22.0, 85.0), (10.0, 25.0)
SOON_S, LATE_S = (1.0, 5.0), (6.0, 14.0)
"""How long a heart hesitates before it follows: within some beats, as its nerves slow and speed it; or longer, where
these are cut or blocked, or the sensor shows a mean of long ago [s]. From memory."""


@dataclass(frozen=True)
class Worn:
    """What one student's strap saw: the rate a second, and its phases [s]."""

    bpm: Floats
    work: Span
    recovery_until: float


@dataclass(frozen=True, eq=False)
class Made:
    """A recording, cleaned, with its truth: the work of the (first) student and when the strap changed hands [s]."""

    recording: Recording
    work: Span
    handed: Span | None = None


def worn(
    rng: np.random.Generator,
    rise: Span = USUAL_RISE,
    *,
    ahead: bool = False,
    pause: bool = False,
    works: bool = True,
    lag_s: Span = SOON_S,
) -> Worn:
    """One student: settling in, rest, work (or none), recovery, and a while until the strap comes off."""
    begin = float(rng.gamma(6.0, 45.0)) + 90.0
    length = float(rng.choice((180.0, 240.0, 360.0, 480.0, 600.0)) + rng.normal(0.0, 6.0))
    recovery = float(rng.uniform(75.0, 240.0))
    seconds = int(begin + length + recovery + rng.exponential(40.0))
    second = np.arange(seconds)
    effort = ((second >= begin) & (second < begin + length)).astype(np.float64)
    if pause:
        at = begin + length * float(rng.uniform(0.25, 0.7))
        effort[(second >= at) & (second < at + float(rng.uniform(15.0, 60.0)))] = float(rng.uniform(0.0, 0.4))
    top = float(rng.uniform(*rise)) if works else 0.0
    out = _answer(effort, lag_s, rng) * top * (1 + 0.12 * np.clip((second - begin) / 600.0, 0.0, 1.0) * rng.random())
    if ahead:
        lead = float(rng.uniform(15.0, 60.0))
        out = np.maximum(
            out, float(rng.uniform(3.0, 10.0)) * np.clip(1 + (second - begin) / lead, 0, 1) * (second < begin)
        )
    rest = float(rng.uniform(60.0, 95.0))
    settle = float(rng.uniform(0.0, 8.0)) * np.exp(-second / 50.0)
    swing = float(rng.uniform(0.9, 2.6)) * _pink(seconds, rng)
    breath = float(rng.uniform(0.3, 2.5)) * np.sin(second * 2 * np.pi * rng.uniform(0.2, 0.33) + rng.uniform(0, 6))
    return Worn(
        _strap(rest + settle + out + swing + breath / (1 + out / 30), rng),
        (begin, begin + length),
        begin + length + recovery,
    )


def _answer(effort: Floats, lag_s: Span, rng: np.random.Generator) -> Floats:
    """Share of the rise, by two filters in a row up (an S with a delay) and two speeds down."""
    up, down_fast, down_slow = float(rng.uniform(8, 28)), float(rng.uniform(15, 40)), float(rng.uniform(60, 140))
    share, delay, lag = float(rng.uniform(0.5, 0.9)), int(rng.integers(0, 4)), float(rng.uniform(*lag_s))
    late = np.concatenate((np.zeros(delay), effort))[: len(effort)]
    first = fast = slow = 0.0
    out = np.empty(len(late))
    for at, goal in enumerate(late.tolist()):
        first += (goal - first) / lag
        fast += (first - fast) / (up if first > fast else down_fast)
        slow += (first - slow) / (up if first > slow else down_slow)
        out[at] = share * fast + (1 - share) * slow
    return out


def _pink(seconds: int, rng: np.random.Generator) -> Floats:
    """1/f noise of standard deviation 1."""
    count = seconds + seconds % 2
    spectrum = np.fft.rfft(rng.standard_normal(count))
    scale = np.sqrt(np.maximum(np.arange(len(spectrum)), 2.0))
    found = np.fft.irfft(spectrum / scale, count)[:seconds]
    return np.asarray(found / found.std(), dtype=np.float64)


def _strap(rate: Floats, rng: np.random.Generator) -> Floats:
    """Whole rates of the last beats at each second."""
    beats, at, phase = [0.0], 0.0, 0.0
    while at < len(rate) - 1:
        step = 60.0 / rate[int(at)] * (1 + 0.008 * rng.standard_normal())
        at, phase = at + step, phase + 1
        beats.append(at)
    times, over = np.array(beats), int(rng.integers(2, 9))
    last = np.clip(np.searchsorted(times, np.arange(len(rate)), "right") - 1, 1, len(times) - 1)
    first = np.maximum(last - over, 0)
    return np.floor(60.0 * (last - first) / (times[last] - times[first]) + 0.5)


def dropouts(seconds: int, rng: np.random.Generator, usual: float, most_s: float) -> list[Span]:
    """Dropouts: their number about ``usual``, in bursts, each of 2 s and longer, most of them short."""
    found: list[Span] = []
    for _ in range(rng.poisson(usual)):
        near = found and rng.random() < 0.3
        begin = found[-1][1] + float(rng.exponential(25.0)) + 2 if near else float(rng.uniform(15, seconds - 30))
        found.append((begin, begin + min(2.0 + float(rng.exponential(5.0)), most_s)))
    return [span for span in found if span[1] < seconds - 10]


def one(seed: int, usual: float = 2.0, most_s: float = 20.0, *, hard: bool = False, lag_s: Span = SOON_S) -> Made:
    """A strap on one student."""
    rng = np.random.default_rng([seed, 31])
    got = worn(
        rng, POWER_RISE if hard else USUAL_RISE, ahead=hard or rng.random() < 0.5, pause=rng.random() < 0.5, lag_s=lag_s
    )
    return Made(_written(got.bpm, dropouts(len(got.bpm), rng, usual, most_s), rng), got.work)


def two(
    seed: int, shortest_s: float = 20.0, longest_s: float = 300.0, *, power: bool = False, idle: bool = False
) -> Made:
    """A strap on two students in turn, off the body for so long between them; *idle*: the second one only sat."""
    rng = np.random.default_rng([seed, 32])
    rise = POWER_RISE if power else USUAL_RISE
    first, second = worn(rng, rise), worn(rng, rise, works=not idle)
    off = int(rng.uniform(np.sqrt(shortest_s), np.sqrt(longest_s)) ** 2)
    begin = len(first.bpm)
    bpm = np.concatenate((first.bpm, np.full(off, first.bpm[-1]), second.bpm))
    lost = dropouts(begin, rng, 1.0, 20.0) + [
        (a + begin + off, b + begin + off) for a, b in dropouts(len(second.bpm), rng, 1.0, 20.0)
    ]
    bare = [(float(begin), float(begin + off))]
    if off > 40 and rng.random() < 0.4:  # the first go finds the heart for some seconds
        go = begin + off - float(rng.uniform(10, 18))
        bare = [(float(begin), go), (go + float(rng.uniform(1, 4)), float(begin + off))]
    return Made(_written(bpm, lost, rng, bare), first.work, (float(begin), float(begin + off)))


def _written(bpm: Floats, lost: list[Span], rng: np.random.Generator, bare: list[Span] | None = None) -> Recording:
    """The strap's rows: dropouts and a bare strap are missing rows, zeros, or without contact."""
    time, value, flag = np.arange(len(bpm), dtype=np.float64), bpm.copy(), np.zeros(len(bpm), np.uint16)
    keep = np.ones(len(bpm), bool)
    style = int(rng.integers(3))
    for begin, until in lost + (bare or []):
        inside = (time >= begin) & (time < until)
        keep &= ~inside if style == 0 else True
        value[inside] = 0.0 if style == 1 else value[inside]
        flag[inside] |= np.uint16(Flag.NO_CONTACT if style == 2 else 0)
    stream = Stream.from_samples(HEART_RATE, time[keep], value[keep], flags=flag[keep], source="strap.csv")
    return clean(Recording(streams=(stream,), sources=(Provenance("strap.csv", "0" * 64, "table", "test"),)))
