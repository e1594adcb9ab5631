"""``ownmark look``: what a file holds, before any figure is made of it."""

import argparse
from typing import TYPE_CHECKING, Any

from ..words.numbers import clock, nearest
from ..words.render import Words, english
from .inputs import add_input_options, hints_from, read_all
from .terminal import say, say_json

if TYPE_CHECKING:
    from ..ingest.recording import Recording, Stream

EXAMPLE = "ownmark look strap.fit wrist.csv"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the options."""
    add_input_options(parser)


def run(args: argparse.Namespace) -> int:
    """Read, judge and describe each file."""
    from ..ingest.cleaning.judge import clean

    recordings, refused = read_all(args.files, hints_from(args))
    described = [_describe(clean(recording)) for recording in recordings]
    if args.json:
        page: dict[str, Any] = {"files": described}
        if refused:
            page["refused"] = [
                {"path": each.path, "code": each.reason.code, "why": str(each.reason)} for each in refused
            ]
        say_json(page)
    elif described:
        say("\n\n".join(_text(each) for each in described))
    return 1 if refused else 0


def _describe(recording: "Recording") -> dict[str, Any]:
    """One file as plain data."""
    source = recording.sources[0]
    return {
        "path": source.path,
        "format": source.format,
        "sha256": source.sha256,
        "start": recording.start.isoformat() if recording.start else None,
        "clock_s": recording.clock_s,
        "streams": {stream.name: _stream(stream) for stream in reversed(recording.streams)},
        "marks": [
            {"time_s": mark.time_s, "kind": mark.kind, "label": mark.label, "until_s": mark.until_s}
            for mark in recording.marks
        ],
        "notes": [english(note) for note in recording.notes],
    }


def _stream(stream: "Stream") -> dict[str, Any]:
    """One stream as plain data. Gaps are stretches without a usable value."""
    from ..metrics.timeline import hold, own_span, sampling_of, whole_span

    first, last = own_span(stream)
    found = sampling_of(stream)
    steady = stream.cover_s is None and (found.regular or found.whole_share == 1)
    return {
        "samples": len(stream),
        "start_s": round(first, 6),
        "span_s": round(float(stream.time[-1] - stream.time[0]) if stream.cover_s is None else last - first, 6),
        "rate_hz": round(1 / found.usual_s, 4) if found.usual_s and steady else None,
        "gaps": [[round(begin, 3), round(end, 3)] for begin, end in hold(stream, *whole_span(stream)).gaps()],
        "flags": stream.flag_counts(),
    }


def _rate(rate_hz: float | None) -> str:
    """How often, as a person says it."""
    if not rate_hz:
        return ", at uneven times"
    return f", {rate_hz:g} a second" if rate_hz >= 1 else f", one every {1 / rate_hz:.3g} s"


def _began(page: dict[str, Any]) -> str:
    """When the recording began, as far as the file says it."""
    if page["start"]:
        return f"starts {page['start'].replace('T', ' ')}"
    if page["clock_s"] is None:
        return "gives no date"
    at = int(page["clock_s"])
    return f"starts at {at // 3600:02d}:{at // 60 % 60:02d}:{at % 60:02d} by its clock, gives no date"


def _text(page: dict[str, Any]) -> str:
    """One file for a person."""
    lines, words = [f"{page['path']}: {page['format']}, {_began(page)}"], Words("en", terminal=True)
    for name, stream in page["streams"].items():
        rate = _rate(stream["rate_hz"])
        lines.append(
            f"  {words.get(f'stream.{name}')}: {stream['samples']} samples over {clock(stream['span_s'])}"
            f" from {clock(stream['start_s'])}{rate}"
        )
        for rule, count in stream["flags"].items():
            lines.append(f"    {words.get(f'rule_name.{rule}')}: {count} ({words.get(f'rule_finds.{rule}')})")
        longest = sorted(stream["gaps"], key=lambda gap: gap[0] - gap[1])[:5]
        for begin, end in sorted(longest):
            lines.append(f"    without a usable value {clock(begin)} to {clock(end)} ({nearest(end - begin)} s)")
        if len(stream["gaps"]) > len(longest):
            lines.append(f"    and shorter stretches: {len(stream['gaps']) - len(longest)}")
    for mark in page["marks"]:
        until = f" to {clock(mark['until_s'])}" if mark["until_s"] is not None else ""
        lines.append(f"  {mark['label'] or mark['kind']} at {clock(mark['time_s'])}{until}")
    lines += [f"  note: {note}" for note in page["notes"]]
    lines.append(f"  sha256 {page['sha256']}")
    return "\n".join(lines)
