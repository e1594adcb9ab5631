"""Recordings as straps bring them back from a class: rest, work and recovery of one student, or of two in turn.

A heart here is richer than any curve a program could fit: part of its answer comes at once and part slowly, it rises
before the start, drifts, wanders and breathes; the student arrives warm, pauses on the way and leaves before the file
ends. The sensor smooths, is late, writes whole beats and loses some. Every number is drawn from a seed; the truth is
kept beside. Nothing here is shared with the code under test.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray
from ownmark.ingest.cleaning.judge import clean
from ownmark.ingest.flags import Flag
from ownmark.ingest.recording import HEART_RATE, Mark, Provenance, Recording, Stream

from tests.makers.motion import Bout, Placement, Sensor, motion
from tests.makers.pulse import shown, spans_mask, wandering

Floats = NDArray[np.float64]
Span = tuple[float, float]
SHORT_LOSS_S, LONG_LOSS_S = (2.0, 10.0), (2.0, 20.0)
"""How long an ordinary dropout lasts [s]."""


@dataclass(frozen=True)
class Life:
    """How one heart answers.

    rest_bpm, rise_bpm : at rest, and by how much more it heads for at work  [/min]
    rise_s, fall_s : time constants of the slow part of the answer  [s]
    quick : share of the answer that comes and goes at once, within some 5 s
    before_bpm, before_s : rise ahead of the start, and how long ahead  [/min], [s]
    drift_bpm : further rise over ten minutes of work  [/min]
    wander_bpm, breath_bpm : standard deviation of the slow swings, height of breathing  [/min]
    """

    rest_bpm: float = 80.0
    rise_bpm: float = 45.0
    rise_s: float = 35.0
    fall_s: float = 45.0
    quick: float = 0.2
    before_bpm: float = 0.0
    before_s: float = 30.0
    drift_bpm: float = 5.0
    wander_bpm: float = 1.5
    breath_bpm: float = 2.0


@dataclass(frozen=True)
class Day:
    """What lies where in one student's part of a file [s], on its own clock from 0 on.

    moving : when the student worked, pauses left out
    warm : how far above rest the student comes in  [/min]; None: at rest
    leaves : from when the student is on the way, and how far above rest that is  [s], [/min]; None: not in the file
    """

    seconds: int
    rest: Span
    work: Span
    recovery: Span
    moving: tuple[Span, ...]
    warm: float | None = None
    leaves: tuple[float, float] | None = None


@dataclass(frozen=True, eq=False)
class Sitting:
    """A made recording with its truth: phases [s], and from when until when the strap was handed on [s]."""

    recording: Recording
    day: Day
    life: Life
    handed: Span | None = None
    style: str = ""


def life(rng: np.random.Generator, rise_bpm: Span = (25.0, 80.0), *, before: bool = False) -> Life:
    """A heart at random."""
    return Life(
        rest_bpm=float(rng.uniform(60, 95)),
        rise_bpm=float(rng.uniform(*rise_bpm)),
        rise_s=float(rng.uniform(20, 60)),
        fall_s=float(rng.uniform(25, 70)),
        quick=float(rng.uniform(0.0, 0.4)),
        before_bpm=float(rng.uniform(3, 12)) if before else 0.0,
        before_s=float(rng.uniform(15, 60)),
        drift_bpm=float(rng.uniform(0, 10)),
        wander_bpm=float(rng.uniform(0.8, 2.5)),
        breath_bpm=float(rng.uniform(0.5, 3.0)),
    )


def day(rng: np.random.Generator, *, pause: bool = False, around: bool = False) -> Day:
    """Two to five minutes of rest, three to ten of work, one to four of recovery, and the strap a little longer."""
    lead, tail = float(rng.uniform(0, 120)), float(rng.uniform(0, 120))
    rest_s, work_s, recovery_s = float(rng.uniform(120, 300)), float(rng.uniform(180, 600)), float(rng.uniform(60, 240))
    begin = lead + rest_s
    until = begin + work_s
    moving: tuple[Span, ...] = ((begin, until),)
    if pause:
        length = float(rng.uniform(20, 60))
        at = begin + float(rng.uniform(0.2, 0.8)) * (work_s - length)
        moving = ((begin, at), (at + length, until))
    leaves = (until + recovery_s, float(rng.uniform(8, 30))) if around else None
    return Day(
        int(until + recovery_s + tail + (60 if around else 0)),
        (lead, begin),
        (begin, until),
        (until, until + recovery_s),
        moving,
        float(rng.uniform(10, 40)) if around else None,
        leaves,
    )


def true_rate(heart: Life, when: Day, rng: np.random.Generator) -> Floats:
    """The heart's rate at each second, shape (seconds,) [/min]."""
    second = np.arange(when.seconds)
    working = spans_mask(when.moving, second)
    ahead = (second >= when.work[0] - heart.before_s) & (second < when.work[0])
    toward = np.where(working, heart.rise_bpm, np.where(ahead, heart.before_bpm, 0.0))
    if when.leaves is not None:
        toward = np.where(second >= when.leaves[0], when.leaves[1], toward)
    slow, quick, out = (when.warm or 0.0), 0.0, np.empty(when.seconds)
    for at, goal in enumerate(toward.tolist()):
        slow += ((1 - heart.quick) * goal - slow) / (heart.rise_s if goal > slow + quick else heart.fall_s)
        quick += (heart.quick * goal - quick) / 5.0
        out[at] = slow + quick
    drift = np.cumsum(working) * heart.drift_bpm / 600.0 * np.where(second < when.work[1], 1.0, 0.0)
    after = second >= when.work[1]
    drift[after] = drift[~after].max(initial=0.0) * np.exp(-(second[after] - when.work[1]) / heart.fall_s)
    breath = np.sin(2 * np.pi * np.cumsum(0.27 * (1 + 0.2 * rng.standard_normal(when.seconds))))
    calm = 1.0 / (1.0 + out / 40.0)  # breathing shows less in a heart that works
    swings = heart.wander_bpm * wandering(when.seconds, 12.0, rng) + heart.breath_bpm * calm * breath
    return heart.rest_bpm + out + drift + swings


def strap(bpm: Floats, rng: np.random.Generator) -> Floats:
    """What a chest strap writes once a second: whole beats, a mean of the last seconds, a little late."""
    return shown(bpm, rng, smooth_s=int(rng.integers(1, 8)), late_s=int(rng.integers(0, 4)), noise_bpm=0.3)


def losses(seconds: float, rng: np.random.Generator, length_s: Span = SHORT_LOSS_S, usual: float = 2.0) -> list[Span]:
    """Ordinary dropouts: ``usual`` of them on average."""
    return [
        (float(begin), float(begin + rng.uniform(*length_s)))
        for begin in rng.uniform(20, seconds - 30, rng.poisson(usual))
    ]


def written(
    bpm: Floats, lost: Sequence[Span] = (), from_s: float = 0.0, flags: NDArray[np.uint16] | None = None
) -> Stream:
    """A judged heart-rate stream of 1 Hz without the rows that were lost, and without those before ``from_s``."""
    time = np.arange(len(bpm), dtype=np.float64)
    keep = ~spans_mask(lost, time) & (time >= from_s)
    flag = np.zeros(len(bpm), np.uint16) if flags is None else flags
    return Stream.from_samples(HEART_RATE, time[keep], bpm[keep], flags=flag[keep], source="strap.csv")


def held(*streams: Stream, marks: Sequence[Mark] = ()) -> Recording:
    """A recording of these streams."""
    return Recording(
        streams=tuple(streams), marks=tuple(marks), sources=(Provenance("strap.csv", "0" * 64, "table", "test"),)
    )


POWER = (10.0, 25.0)
CASES: dict[str, dict[str, object]] = {  # the order seeds the recordings: add at the end
    "plain": {},
    "anticipation and a pause": {"before": True, "pause": True},
    "power chair": {"rise": POWER},
    "power chair, anticipation and a pause": {"rise": POWER, "before": True, "pause": True},
    "late strap": {"before": True, "pause": True, "late": True},
    "arrives warm, leaves on the file": {"before": True, "around": True},
}
PRESS_SD_S = 1.5


def sitting(case: str, seed: int) -> Sitting:
    """One recording of a case, with nothing but a heart rate."""
    kind, rng = CASES[case], np.random.default_rng([seed, list(CASES).index(case)])
    when = day(rng, pause=bool(kind.get("pause")), around=bool(kind.get("around")))
    rise = POWER if kind.get("rise") else (25.0, 80.0)
    heart = life(rng, rise, before=bool(kind.get("before")))
    bpm = strap(true_rate(heart, when, rng), rng)
    lost = losses(when.seconds, rng)
    late = float(rng.uniform(30, 0.7 * when.work[0])) if kind.get("late") else 0.0
    return Sitting(held(written(bpm, lost, late)), when, heart)


def pressed(made: Sitting, seed: int, presses: str) -> Sitting:
    """The same with presses of the button, each a person's second or two off.

    presses : ``both`` at the start and the end, ``start`` alone, ``all`` four ends, ``stray`` with one more anywhere
    """
    rng = np.random.default_rng([seed, 900])
    when = made.day
    at = {"both": when.work, "start": when.work[:1], "all": (when.rest[0], *when.work, when.recovery[1])}
    moments = [*at.get(presses, when.work)]
    moments += [rng.uniform(30, when.seconds - 30)] if presses == "stray" else []
    marks = [Mark(float(each + PRESS_SD_S * rng.standard_normal()), "button") for each in sorted(moments)]
    return replace(made, recording=replace(made.recording, marks=tuple(marks)))


def lapped(made: Sitting, seed: int) -> Sitting:
    """The same with the laps of a watch: rest, work, recovery, from a second or two off."""
    rng = np.random.default_rng([seed, 901])
    begin, until = (float(each + PRESS_SD_S * rng.standard_normal()) for each in made.day.work)
    edges = (0.0, begin, until, float(made.day.seconds))
    marks = tuple(Mark(a, "lap", "", b) for a, b in pairwise(edges))
    return replace(made, recording=replace(made.recording, marks=marks))


def moved(made: Sitting, seed: int, placement: Placement = "wrist") -> Sitting:
    """The same with a movement sensor: the work, fidgets at rest, and what else a child does with its hands."""
    rng = np.random.default_rng([seed, 902])
    power = placement == "frame"
    bouts = [_bout(span, power, rng) for span in _stretches_of(made.day, rng)]
    sensor = Sensor(rate_hz=25.0, noise_g=0.005, drift_deg=0.5 if power else 5.0, hum_g=0.003 if power else 0.0)
    stream = motion(float(made.day.seconds), bouts, placement=placement, sensor=sensor, seed=seed).acceleration
    return replace(made, recording=replace(made.recording, streams=(*made.recording.streams, stream)))


def _stretches_of(when: Day, rng: np.random.Generator) -> list[Span]:
    """Fidgets of 2 to 6 s at rest and in recovery, and the work with short stops."""
    found: list[Span] = []
    for begin, until in (when.rest, when.recovery):
        at = begin + float(rng.exponential(40))
        while at < until - 12:
            found.append((at, at + float(rng.uniform(2, 6))))
            at = found[-1][1] + float(rng.exponential(60)) + 3
    for begin, until in when.moving:
        at = begin
        while at < until - 1:
            end = min(at + float(rng.uniform(20, 90)), until)
            end = until if until - end < 8 else end
            found.append((at, end))
            at = end + float(rng.uniform(1, 4))
    return sorted(found)


def _bout(span: Span, power: bool, rng: np.random.Generator) -> Bout:
    if power:
        return Bout(*span, cadence=None, shake_g=float(rng.uniform(0.015, 0.06)), shove_g=0.03)
    return Bout(*span, cadence=float(rng.uniform(30, 80)), size_g=float(rng.uniform(0.1, 0.4)))


STYLES = ("contact", "gap", "zeros", "held", "fumbled", "noise")
"""What a strap writes while it changes hands: no contact, nothing, zeros, its last value, contact that comes and goes,
or rates out of the air."""


def handed(style: str, seed: int, loss_s: Span = SHORT_LOSS_S) -> Sitting:
    """One strap on two students, one behind the other, judged as the reader would."""
    rng = np.random.default_rng([seed, 1000 + STYLES.index(style)])
    parts, days = [], []
    for _ in range(2):
        when = day(rng)
        parts.append(strap(true_rate(life(rng), when, rng), rng))
        days.append(when)
    length = round(float(np.exp(rng.uniform(np.log(15), np.log(240)))))
    begin, until = len(parts[0]), len(parts[0]) + length
    between, flags = np.full(length, parts[0][-1]), np.zeros(length, np.uint16)
    lost: list[Span] = []
    if style in ("contact", "fumbled"):
        between = np.rint(parts[0][-1] + 10 * rng.standard_normal(length))
        flags[:] = Flag.NO_CONTACT
        if style == "fumbled":
            for at in np.arange(8, length - 4, 11):
                flags[at : at + int(rng.integers(1, 5))] = 0
    elif style == "gap":
        lost = [(begin, until)]
    elif style == "zeros":
        between = np.zeros(length)
    elif style == "held":
        lost = [(begin + rng.uniform(12, 60), until)] if rng.random() < 0.5 else []
    else:
        between = np.rint(rng.uniform(40, 200) + 30 * wandering(length, 4.0, rng))
    bpm = np.concatenate((parts[0], between, parts[1]))
    flag = np.concatenate((np.zeros(begin, np.uint16), flags, np.zeros(len(parts[1]), np.uint16)))
    whole = written(bpm, [*losses(len(bpm), rng, loss_s), *lost], flags=flag)
    return Sitting(clean(held(whole)), days[0], life(rng), (float(begin), float(until)), style)


def worn_by_one(seed: int, loss_s: Span = SHORT_LOSS_S, usual: float = 2.0) -> Sitting:
    """The same strap on one student, with ordinary dropouts: missing rows, zeros and lost contact in turn."""
    rng = np.random.default_rng([seed, 55])
    when = day(rng, pause=bool(rng.random() < 0.5))
    bpm = strap(true_rate(life(rng), when, rng), rng)
    rows, flag = [], np.zeros(len(bpm), np.uint16)
    for place, (begin, until) in enumerate(losses(when.seconds, rng, loss_s, usual)):
        part = slice(int(begin), int(until))
        if place % 3 == 0:
            rows.append((begin, until))
        elif place % 3 == 1:
            bpm[part] = 0
        else:
            flag[part] = Flag.NO_CONTACT
    return Sitting(clean(held(written(bpm, rows, flags=flag))), when, life(rng))


def idle(seed: int, *, warm: bool = False) -> Sitting:
    """A student who sat for a quarter of an hour and did nothing."""
    rng = np.random.default_rng([seed, 77])
    seconds = int(rng.uniform(600, 1200))
    when = Day(seconds, (0.0, float(seconds)), (1e9, 2e9), (1e9, 2e9), (), float(rng.uniform(10, 40)) if warm else None)
    heart = life(rng)
    return Sitting(held(written(strap(true_rate(heart, when, rng), rng), losses(seconds, rng))), when, heart)
