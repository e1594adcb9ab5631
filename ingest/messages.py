"""What the readers of files remark: one name a message, for texts in ``words``.

Messages without values are constants; a function gives each of the others its values. ``quoted`` text is as a file or a
person wrote it. Those whose code begins with ``unread`` tell that a part of a file was not read.
"""

from datetime import date

from ..words.message import Message, Quoted

READ_NOT_THE_MARK = Message("read.not_the_mark")
READ_LATIN = Message("read.latin")
EDF_NO_HEART_RATE = Message("edf.no_heart_rate")
EDF_NO_START = Message("edf.no_start")
EDF_NO_DATE = Message("edf.no_date")
EDF_ONLY_TIME = Message("edf.only_time")
FIT_NO_LENGTH = Message("fit.no_length")
FIT_SHORT_HEADER = Message("fit.short_header")
FIT_CHECKSUM = Message("fit.checksum")
FIT_TOO_MANY_MESSAGES = Message("fit.too_many_messages")
FIT_CUT_DEFINITION = Message("fit.cut_definition")
FIT_TOO_MANY_LAYOUTS = Message("fit.too_many_layouts")
FIT_NO_SENSE = Message("fit.no_sense")
FIT_CUT_MESSAGE = Message("fit.cut_message")
FIT_NO_CLOCK = Message("fit.no_clock")
FIT_NO_TIME = Message("fit.no_time")
FIT_WHOLE_SECONDS = Message("fit.whole_seconds")
READ_BEAT_BY_BEAT = Message("read.beat_by_beat")
TABLE_RATE_UNUSED = Message("table.rate_unused")
TABLE_BY_INTERVALS = Message("table.by_intervals")
TABLE_NO_GRAVITY = Message("table.no_gravity")
TABLE_ACCELERATION_ASSUMED = Message("table.acceleration_assumed")
TABLE_TURNING_UNIT = Message("table.turning_unit")
TABLE_DAY_ORDER = Message("table.day_order")  # of sheets and excerpts that were kept before the days were told
EITHER_DAY = "table.either_day"
TABLE_TIME_OF_DAY = Message("table.time_of_day")
TABLE_SINCE_START = Message("table.since_start")
TABLE_MINUTES_SECONDS = Message("table.minutes_seconds")


def table_either_day(days: tuple[date, ...]) -> Message:
    """A date whose order of day and month stays open, with the days that it may be."""
    return Message.of("table.either_day", days=days)


def read_of_file(path: str, note: Message) -> Message:
    """A remark on one of several files."""
    return Message.of("read.of_file", path=Quoted(path), note=note)


def read_same_file(path: str, other: str) -> Message:
    """A file that was named twice."""
    return Message.of("read.same_file", path=Quoted(path), other=Quoted(other))


def read_joined(stream: str, other: str, source: str) -> Message:
    """Two files that were taken for one."""
    return Message.of("read.joined", stream=stream, other=Quoted(other), source=Quoted(source))


def read_overlap(stream: str, used: str, other: str, seconds: float) -> Message:
    """Two files of which one is used."""
    return Message.of("read.overlap", stream=stream, used=Quoted(used), other=Quoted(other), seconds=seconds)


def placed_given(path: str, offset: float) -> Message:
    """A file that a person placed."""
    return Message.of("placed.given", path=Quoted(path), offset=offset)


def placed_shifted(path: str, shift: Quoted) -> Message:
    """A file whose clock a person put right; ``shift`` is what was added to it."""
    return Message.of("placed.shifted", path=Quoted(path), shift=shift)


def placed_no_zone(path: str) -> Message:
    """A file without a time of a zone."""
    return Message.of("placed.no_zone", path=Quoted(path))


def placed_no_time(path: str) -> Message:
    """A file without a time of day."""
    return Message.of("placed.no_time", path=Quoted(path))


def packed_damaged(size: int) -> Message:
    """A packed file that is damaged, and the bytes that were unpacked."""
    return Message.of("packed.damaged", size=size)


def packed_cut_off(size: int) -> Message:
    """A packed file without its end."""
    return Message.of("packed.cut_off", size=size)


def unread_file(refusal: str, reason: str) -> Message:
    """A file that could not be read, and why: the refusal's code, which decides, and its sentence, which is shown."""
    return Message.of("unread.file", refusal=refusal, reason=Quoted(reason))


def unread_behind_packed(size: int) -> Message:
    """What stands behind a packed file."""
    return Message.of("unread.behind_packed", size=size)


def unread_behind_stated(size: int, records: int) -> Message:
    """Bytes behind the records that a header states."""
    return Message.of("unread.behind_stated", size=size, records=records)


def edf_cut_off(record: int) -> Message:
    """A file that ends inside a record."""
    return Message.of("edf.cut_off", record=record)


def edf_cut_off_of(record: int, stated: int) -> Message:
    """The same, of so many that the header states."""
    return Message.of("edf.cut_off_of", record=record, stated=stated)


def unread_behind_last(size: int) -> Message:
    """Bytes behind the last record."""
    return Message.of("unread.behind_last", size=size)


def edf_stated(stated: int, held: int) -> Message:
    """A header that states fewer records than there are."""
    return Message.of("edf.stated", stated=stated, held=held)


def unread_records(records: int, first: int) -> Message:
    """Records that do not stand where they should."""
    return Message.of("unread.records", records=records, first=first)


def edf_untimed(records: int) -> Message:
    """Records without a readable time."""
    return Message.of("edf.untimed", records=records)


def edf_no_scale(stream: str) -> Message:
    """A channel without a scale."""
    return Message.of("edf.no_scale", stream=stream)


def edf_far_annotations(count: int) -> Message:
    """Annotations of another week."""
    return Message.of("edf.far_annotations", count=count)


def edf_no_axes(stream: str) -> Message:
    """A movement sensor without its three channels."""
    return Message.of("edf.no_axes", stream=stream)


def edf_no_unit(stream: str) -> Message:
    """Channels without a unit."""
    return Message.of("edf.no_unit", stream=stream)


def edf_unused(labels: str) -> Message:
    """Channels that become no stream."""
    return Message.of("edf.unused", labels=Quoted(labels))


def points_no_time(some: int, points: int) -> Message:
    """Track points without a time."""
    return Message.of("points.no_time", some=some, points=points)


def points_bad_time(some: int, points: int) -> Message:
    """Track points whose time cannot be read."""
    return Message.of("points.bad_time", some=some, points=points)


def points_far(some: int, points: int) -> Message:
    """Track points of another week."""
    return Message.of("points.far", some=some, points=points)


def points_no_rate(some: int, points: int) -> Message:
    """Track points without a heart rate."""
    return Message.of("points.no_rate", some=some, points=points)


def points_bad_rate(some: int, points: int) -> Message:
    """Heart rates that are no number."""
    return Message.of("points.bad_rate", some=some, points=points)


def points_second_rate(some: int, points: int) -> Message:
    """Points with two heart rates."""
    return Message.of("points.second_rate", some=some, points=points)


def points_zone(zone: str, count: int) -> Message:
    """Times without a zone among times with one."""
    return Message.of("points.zone", zone=Quoted(zone), count=count)


def points_laps(lost: int, laps: int) -> Message:
    """Laps without a readable start."""
    return Message.of("points.laps", lost=lost, laps=laps)


def unread_rest(why: Message, points: int) -> Message:
    """A file that was not read to its end."""
    return Message.of("unread.rest", why=why, points=points)


def points_cut_off(line: int) -> Message:
    """Where a file is damaged."""
    return Message.of("points.cut_off", line=line)


def points_too_deep(depth: int) -> Message:
    """Elements inside each other without end."""
    return Message.of("points.too_deep", depth=depth)


def unread_behind_recording(count: int) -> Message:
    """Bytes behind a recording."""
    return Message.of("unread.behind_recording", count=count)


def fit_cut_off(count: int) -> Message:
    """A file that ends early."""
    return Message.of("fit.cut_off", count=count)


def unread_from_byte(count: int, first: int, why: Message) -> Message:
    """Where and why a scan stopped early."""
    return Message.of("unread.from_byte", count=count, first=first, why=why)


def unread_heart_rate(count: int) -> Message:
    """Heart rates of an impossible size."""
    return Message.of("unread.heart_rate", count=count)


def fit_unplaced(count: int) -> Message:
    """Heart rates without a time."""
    return Message.of("fit.unplaced", count=count)


def fit_empty_records(count: int) -> Message:
    """Records without a heart rate."""
    return Message.of("fit.empty_records", count=count)


def fit_far_samples(count: int) -> Message:
    """Samples of another week."""
    return Message.of("fit.far_samples", count=count)


def fit_by_rate(rate: float) -> Message:
    """Heart rates placed by a given rate [Hz]."""
    return Message.of("fit.by_rate", rate=rate)


def fit_far_marks(count: int) -> Message:
    """Marks of another week."""
    return Message.of("fit.far_marks", count=count)


def fit_raw_acceleration(count: int) -> Message:
    """Accelerations without a calibration."""
    return Message.of("fit.raw_acceleration", count=count)


def fit_raw_turning(count: int) -> Message:
    """Angular rates without a calibration."""
    return Message.of("fit.raw_turning", count=count)


def fit_unplaced_movement(stream: str, count: int) -> Message:
    """Movement without a time."""
    return Message.of("fit.unplaced_movement", stream=stream, count=count)


def read_coarse(stream: str, samples: float) -> Message:
    """Samples that share time stamps."""
    return Message.of("read.coarse", stream=stream, samples=samples)


def packets_no_packet(lines: int, first: int) -> Message:
    """Lines that are no packet."""
    return Message.of("packets.no_packet", lines=lines, first=first)


def packets_short(lines: int, first: int) -> Message:
    """Packets that end too early."""
    return Message.of("packets.short", lines=lines, first=first)


def unread_packets(lines: int, first: int) -> Message:
    """Packets of another length than they say."""
    return Message.of("unread.packets", lines=lines, first=first)


def packets_untimed(lines: int, first: int) -> Message:
    """Packets without a time."""
    return Message.of("packets.untimed", lines=lines, first=first)


def packets_broken(lines: int, first: int) -> Message:
    """Packets that do not follow from their intervals."""
    return Message.of("packets.broken", lines=lines, first=first)


def wave_kind(kind: str) -> Message:
    """What a waveform looks like."""
    return Message.of("wave.kind", kind=kind)


def wave_too_slow(kind: str, rate: float, needed: float) -> Message:
    """A waveform whose rate [Hz] is too low."""
    return Message.of("wave.too_slow", kind=kind, rate=rate, needed=needed)


def wave_intervals(kind: str, beats: int, covered: float, span: float) -> Message:
    """RR intervals out of a waveform."""
    return Message.of("wave.intervals", kind=kind, beats=beats, covered=covered, span=span)


def wave_no_beats(kind: str, shortest: float) -> Message:
    """A waveform without beats."""
    return Message.of("wave.no_beats", kind=kind, shortest=shortest)


def wave_gaps(count: int, seconds: float, begin: float, until: float) -> Message:
    """Stretches of a waveform without beats."""
    return Message.of("wave.gaps", count=count, seconds=seconds, begin=begin, until=until)


def table_by_rate(rate: float) -> Message:
    """Rows counted by a given rate [Hz]."""
    return Message.of("table.by_rate", rate=rate)


def table_sparse(stream: str, filled: int, rows: int) -> Message:
    """A stream with fewer rows than a faster one."""
    return Message.of("table.sparse", stream=stream, filled=filled, rows=rows)


def table_no_number(stream: str) -> Message:
    """A column without a number."""
    return Message.of("table.no_number", stream=stream)


def unread_rows(count: int, first: int) -> Message:
    """Rows that are too long."""
    return Message.of("unread.rows", count=count, first=first)


def table_untimed(count: int, first: int) -> Message:
    """Rows without a time."""
    return Message.of("table.untimed", count=count, first=first)


def table_bad_cells(part: str, count: int, first: int) -> Message:
    """Cells that hold no number."""
    return Message.of("table.bad_cells", part=part, count=count, first=first)


def table_intervals_unit(unit: str) -> Message:
    """A unit of RR intervals that the data show."""
    return Message.of("table.intervals_unit", unit=Quoted(unit))


def table_left_out(why: str) -> Message:
    """A column that was refused, in the words of the refusal."""
    return Message.of("table.left_out", why=Quoted(why))


def table_acceleration_unit(unit: str) -> Message:
    """A unit of acceleration that gravity shows."""
    return Message.of("table.acceleration_unit", unit=Quoted(unit))


def table_two_times(times: int, dates: int) -> Message:
    """Times and dates of two columns."""
    return Message.of("table.two_times", times=times, dates=dates)


def table_unix_time(unit: str) -> Message:
    """Unix time that the numbers show."""
    return Message.of("table.unix_time", unit=Quoted(unit))


def table_time_unit(unit: str) -> Message:
    """A unit of time that the steps show."""
    return Message.of("table.time_unit", unit=Quoted(unit))


def intervals_lost(entries: int, seconds: float) -> Message:
    """Entries that are no interval, and the time they are taken to have lasted."""
    return Message.of("intervals.lost", entries=entries, seconds=seconds)


def intervals_none(entries: int, first: int) -> Message:
    """Numbers that are no interval."""
    return Message.of("intervals.none", entries=entries, first=first)


def intervals_unit(unit: str) -> Message:
    """A unit that the median shows."""
    return Message.of("intervals.unit", unit=Quoted(unit))


def intervals_bad_lines(lines: int, first: int) -> Message:
    """Lines that hold no number."""
    return Message.of("intervals.bad_lines", lines=lines, first=first)
