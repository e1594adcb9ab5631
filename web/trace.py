"""What the trace's template needs, as plain JSON: made in the page or in the child that reads files."""

from collections.abc import Callable, Mapping
from typing import Any
from urllib.parse import urlencode

from ..ingest.flags import RULES
from ..metrics.phases import MARGIN_S
from ..reports.pictures.alt_text import said_of_trial, why_no_zones
from ..reports.pictures.series import PHASES, Series
from ..reports.trace.levels import level
from ..reports.trace.scale import layout_of
from ..reports.trace.svg import left_scale, names_below, plot, right_names
from ..reports.trace.table import Row, rows_of
from ..reports.trace.trace import LEAST_VIEW_S, Trace, View, view_of
from ..reports.words import Words
from ..words.message import Message
from ..words.numbers import clock, nearest
from ..words.vocabulary import ON_CHAIR

FIELDS = {"rest": "rest_phase", "work": "work", "recovery": "recovery"}
"""The field of a trial by the name of its phase."""
HALF_PHASE = Message("web_trace.half_phase")
_STEP = 3.0
"""How much closer one press looks. Our own choice."""


def asked_view(trace: Trace, query: Mapping[str, str]) -> View:
    """The part that an address asks for (``from`` and ``until``, seconds); all of it where it says nothing of use."""
    return view_of(trace.whole, _number(query.get("from")), _number(query.get("until")))


def _number(text: str | None) -> float | None:
    try:
        return None if text is None else float(text)
    except ValueError:
        return None


def shown(
    trace: Trace,
    words: Words,
    *,
    view: View | None = None,
    flags: bool = False,
    address: str = "",
    data: str = "",
    editable: bool = False,
    name: str = "trace",
) -> dict[str, Any]:
    """All that ``templates/trace.html`` shows of a trace.

    Parameters
    ----------
    view : what is looked at; None: the whole recording
    flags : show the samples that rules flagged
    address : of the screen, to which the part that is looked at is added
    data : address that gives ``levels`` of a part
    editable : with fields for the phases; the form around them is the caller's
    name : of the trace on its page; ids begin with it
    """
    seen = view or view_of(trace.whole)
    times = Times(trace.series)
    return {
        "name": name,
        "alt": said_of_trial(trace.series, words),
        "part": words.get(
            "web_trace.part", begin=times.at(seen.from_s), end=times.at(seen.until_s), length=clock(seen.length_s)
        ),
        "plot": plot(trace, seen, words, name, flags=flags),
        "left": left_scale(trace),
        "right": right_names(trace, words),
        "key": key_of(trace, words),
        "names": names_below(trace, words),
        "notes": _notes(trace, words),
        "ways": _ways(trace, seen, address, flags=flags),
        "flags": flags,
        "has_flags": len(trace.flagged) > 0,
        "kept": kept_told(trace, words),
        "table": _table(trace, seen, words),
        "caption": words.get("web_trace.table_caption", begin=times.at(seen.from_s), end=times.at(seen.until_s)),
        "phases": _fields(trace, words) if editable else [],
        "times": times.kind,
        "editable": editable,
        "script": _script(trace, seen, words, data=data, editable=editable),
    }


def levels(trace: Trace, query: Mapping[str, str]) -> dict[str, Any]:
    """The numbers of a part for the script; of the whole recording where the address names no part."""
    return level(trace, asked_view(trace, query) if "from" in query else None)


class Times:
    """Moments as people read them: the clock's where the recording knows it, else from the start."""

    def __init__(self, series: Series) -> None:
        self._series = series
        self.kind = "start" if series.start is None else "clock"

    def at(self, seconds: float) -> str:
        """A moment to the second."""
        moment = self._series.moment(float(nearest(seconds)))
        return clock(seconds) if moment is None else f"{moment:%H:%M:%S}"

    @property
    def start_s(self) -> float | None:
        """What the clock shows at second 0, in seconds after midnight."""
        moment = self._series.moment(0.0)
        if moment is None:
            return None
        return moment.hour * 3600 + moment.minute * 60 + moment.second + moment.microsecond / 1e6


def key_of(trace: Trace, words: Words) -> list[tuple[str, str]]:
    """What is drawn how: the swatch's name, and what it stands for."""
    series = trace.series
    chair = "chair_" if series.placement in ON_CHAIR else ""
    found = [("gap", "picture.not_measured")] if series.unmeasured or series.movement_unmeasured else []
    if trace.kept is not None:
        found.append(("kept", "web_trace.kept"))
    if series.crossings:
        found.append(("crossing", "picture.above_ceiling"))
    if series.possible:
        found.append(("possible", "picture.possible"))
    if series.moving is not None:
        found += [("moving", f"picture.{chair}moving"), ("still", f"picture.{chair}still")]
    if series.assisted:
        found.append(("assisted", "picture.assisted"))
    if len(trace.flagged):
        found += [("cross", "web_trace.set_aside")] if not trace.flagged.used.all() else []
        found += [("ring", "web_trace.flagged_used")] if trace.flagged.used.any() else []
    return [(kind, words.get(key)) for kind, key in found]


def _notes(trace: Trace, words: Words) -> list[str]:
    """What a reader would look for and not find."""
    series, found = trace.series, []
    if not series.has_pulse:
        found.append(words.get("picture.no_heart_rate"))
    elif series.zones is None and series.measured.any():
        found.append(why_no_zones(series, words))
    if not series.clocks_agree and series.moving is not None:
        found.append(words.get("picture.clocks"))
    return found


def kept_told(trace: Trace, words: Words) -> str:
    """What of the recording is kept with the trial."""
    if trace.kept is None:
        return words.get("web_trace.kept_whole")
    begin, end = map(Times(trace.series).at, trace.kept)
    return words.get("web_trace.kept_span", begin=begin, end=end, margin=clock(trace.margin_s))


def _ways(trace: Trace, seen: View, address: str, *, flags: bool) -> dict[str, str]:
    """Addresses of nearer and farther views; they work without a script."""
    middle, length = (seen.from_s + seen.until_s) / 2, seen.length_s

    def to(begin: float, end: float, *, marked: bool = flags) -> str:
        part = view_of(trace.whole, begin, end)
        query: dict[str, str] = {}
        if part.span != trace.whole:
            query |= {"from": f"{part.from_s:.3f}", "until": f"{part.until_s:.3f}"}
        query |= {"flags": "1"} if marked else {}
        return f"{address}?{urlencode(query)}#trace" if query else f"{address}#trace"

    ways = {
        "zoom_in": to(middle - length / _STEP / 2, middle + length / _STEP / 2),
        "zoom_out": to(middle - length * _STEP / 2, middle + length * _STEP / 2),
        "earlier": to(seen.from_s - length / 2, seen.until_s - length / 2),
        "later": to(seen.from_s + length / 2, seen.until_s + length / 2),
        "whole": to(*trace.whole),
    }
    work = trace.series.phases.get("work")
    if work is not None and not trace.series.whole:
        more = 0.1 * (work[1] - work[0])
        ways["to_work"] = to(work[0] - more, work[1] + more)
    if len(trace.flagged):
        ways["flags"] = to(*seen.span, marked=not flags)
    return ways


def _table(trace: Trace, seen: View, words: Words) -> dict[str, Any]:
    """Heads and rows of text, without columns of which there is nothing."""
    times, rows = Times(trace.series), rows_of(trace, seen)
    none = words.get("web_trace.nothing")

    def number(value: float | None, digits: int = 0) -> str:
        return none if value is None else words.number(value, digits)

    def percent(value: float | None) -> str:
        return none if value is None else words.get("web_trace.percent", share=words.number(value))

    columns: list[tuple[str, Callable[[Row], str]]] = [
        ("col_until", lambda row: times.at(row.until_s)),
        ("col_phase", lambda row: words.get(f"picture.{row.phase}") if row.phase else ""),
    ]
    if trace.series.has_pulse:
        columns += [
            ("col_mean", lambda row: number(row.mean, 1)),
            ("col_low", lambda row: number(row.low)),
            ("col_high", lambda row: number(row.high)),
            ("col_share", lambda row: percent(row.share)),
        ]
    columns += [("col_strength", lambda row: number(row.strength, 2))] if len(trace.movement) else []
    columns += [("col_moving", lambda row: percent(row.moving))] if trace.series.moving is not None else []
    return {
        "heads": [words.get("web_trace.col_time"), *(words.get(f"web_trace.{key}") for key, _ in columns)],
        "rows": [[times.at(row.from_s), *(text(row) for _, text in columns)] for row in rows],
    }


def _fields(trace: Trace, words: Words) -> list[dict[str, Any]]:
    """Two fields a phase, and what they hold."""
    times = Times(trace.series)
    low, high = trace.whole
    found = []
    for phase in PHASES:
        span = None if trace.series.whole else trace.series.phases.get(phase)
        texts = ("", "") if span is None else tuple(map(times.at, span))
        ends = []
        for which, text in zip(("from", "until"), texts, strict=True):
            label = words.get(f"web_trace.{which}_{phase}")
            ends.append(
                {
                    "field": f"{phase}_{which}",
                    "label": label,
                    "slider": words.get("web_trace.slide", end=label),
                    "text": text,
                    "wrong": None,
                    "least": int(low // 1),
                    "most": int(-(-high // 1)),
                }
            )
        found.append(
            {
                "phase": phase,
                "name": words.get(f"picture.{phase}"),
                "ends": ends,
                "was": "-".join(texts),
                "mark": words.get(f"web_trace.mark_{phase}"),
                "lasts": "" if span is None else clock(span[1] - span[0]),
            }
        )
    return found


def phase_texts(sent: Mapping[str, str]) -> dict[str, str]:
    """What a form says of the phases, as fields of a trial: only those that are not what was shown.

    sent : ``rest_from``, ``rest_until``, ``rest_was`` and so on; ``times`` is ``clock`` where times are the clock's

    Raises
    ------
    HalfPhase
        If a phase has one end only.
    """
    mark = "@" if sent.get("times") == "clock" else ""
    found: dict[str, str] = {}
    for phase, field in FIELDS.items():
        begin, end = (sent.get(f"{phase}_{which}", "").strip() for which in ("from", "until"))
        if f"{begin}-{end}" == sent.get(f"{phase}_was", "-").strip():
            continue
        if bool(begin) != bool(end):
            raise HalfPhase(f"{phase}_until" if begin else f"{phase}_from")
        found[field] = "-".join(f"{mark}{each.lstrip('@')}" for each in (begin, end)) if begin else "none"
    return found


class HalfPhase(ValueError):
    """A phase with one end; ``field`` is the one that is empty."""

    def __init__(self, field: str) -> None:
        super().__init__(field)
        self.field = field


def _script(trace: Trace, seen: View, words: Words, *, data: str, editable: bool) -> dict[str, Any]:
    """What the script is told: scales, phases and texts with their holes."""
    series = trace.series
    free = [None if abs(each) == float("inf") else each for each in trace.free]
    hole = {name: f"{{{name}}}" for name in _HOLES}

    def text(key: str) -> str:
        return words.get(f"web_trace.{key}", **hole)

    panels = [[each.name, each.top, each.height, each.low, each.high] for each in layout_of(trace).panels]
    return {
        "data": data,
        "whole": trace.whole,
        "view": seen.span,
        "least": LEAST_VIEW_S,
        "start": Times(series).start_s,
        "panels": panels,
        "phases": {} if series.whole else {name: list(span) for name, span in series.phases.items()},
        "editable": editable,
        "margin": MARGIN_S if trace.margin_s is None else trace.margin_s,
        "beside": [list(each) for each in trace.beside],
        "free": free,
        "decimal": words.get("form.decimal"),
        "rules": [words.get(f"rule_name.{name}") for name in RULES],
        "names": {name: words.get(f"picture.{name}") for name in PHASES},
        "gap": words.get("picture.not_measured"),
        "texts": {key: text(key) for key in _SAID},
    }


_HOLES = (
    "clock",
    "start",
    "bpm",
    "low",
    "high",
    "strength",
    "rate",
    "word",
    "rule",
    "at",
    "phase",
    "length",
    "begin",
    "end",
    "margin",
)
_SAID = (
    *("moment", "moment_start", "beats", "beats_between", "unmeasured", "strength", "strength_between", "cadence"),
    *("flagged", "flagged_none", "flagged_beats", "edge", "lasts", "part", "kept_span", "kept_whole", "offline"),
    *("show_flags", "hide_flags"),
)
"""Texts that the script fills."""
