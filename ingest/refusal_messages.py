"""Why a file cannot be used, and how that is mended: one name a message, for the ``what`` and ``mend`` of a refusal.

``file`` says what is wrong, ``mend`` what helps, ``looks_like`` what a file seems to be that is no recording.
"""

from ..words.message import Message, Quoted

FILE_EMPTY = Message("file.empty")
FILE_EMPTY_PACKED = Message("file.empty_packed")
FILE_NO_FILES = Message("file.no_files")
FILE_MISSING = Message("file.missing")
FILE_FORBIDDEN = Message("file.forbidden")
FILE_FOLDER = Message("file.folder")
FILE_DEVICE = Message("file.device")
FILE_CHANGES = Message("file.changes")
FILE_IN_PART = Message("file.in_part")
FILE_UNPACKABLE = Message("file.unpackable")
FILE_NOT_WHOLLY = Message("file.not_wholly")
FILE_LIST_DAMAGED = Message("file.list_damaged")
FILE_CONTRADICTS = Message("file.contradicts")
FILE_PASSWORD = Message("file.password")
FILE_COMPRESSION = Message("file.compression")
FILE_NESTED = Message("file.nested")
FILE_FIT_DAMAGED = Message("file.fit_damaged")
FILE_NO_HEART_RATE_IN_TIME = Message("file.no_heart_rate_in_time")
FILE_DTD = Message("file.dtd")
FILE_ENCODING = Message("file.encoding")
FILE_NO_POINTS = Message("file.no_points")
FILE_EDF_HEADER = Message("file.edf_header")
FILE_EDF_NO_LENGTH = Message("file.edf_no_length")
FILE_EDF_CUT = Message("file.edf_cut")
FILE_EDF_NOT_THERE = Message("file.edf_not_there")
FILE_EDF_CONTRADICTS = Message("file.edf_contradicts")
FILE_NO_NUMBERS = Message("file.no_numbers")
FILE_NO_ROWS = Message("file.no_rows")
FILE_NO_CELLS = Message("file.no_cells")
FILE_NO_TIMES = Message("file.no_times")
FILE_NO_ROW_TIME = Message("file.no_row_time")
FILE_DATES_ALONE = Message("file.dates_alone")
FILE_DAY_OR_MONTH = Message("file.day_or_month")
FILE_TIME_UNIT = Message("file.time_unit")
FILE_NO_RATES = Message("file.no_rates")
MEND_COPY = Message("mend.copy")
MEND_WAIT = Message("mend.wait")
MEND_AGAIN = Message("mend.again")
MEND_EXPORT_DEVICE = Message("mend.export_device")
MEND_EXPORT_APP = Message("mend.export_app")
MEND_COPY_OR_EXPORT = Message("mend.copy_or_export")
MEND_EXPORT = Message("mend.export")
MEND_EXPORT_TIMES = Message("mend.export_times")
MEND_EXPORT_CSV = Message("mend.export_csv")
MEND_EXPORT_OTHER = Message("mend.export_other")
MEND_NAME = Message("mend.name")
MEND_OWN_FOLDER = Message("mend.own_folder")
MEND_FILES_IN_IT = Message("mend.files_in_it")
MEND_SAVE = Message("mend.save")
MEND_IS_RECORDING = Message("mend.is_recording")
MEND_WHERE_FROM = Message("mend.where_from")
MEND_SPLIT = Message("mend.split")
MEND_UNPACK = Message("mend.unpack")
MEND_PLAIN_ZIP = Message("mend.plain_zip")
MEND_UNPACK_OUTER = Message("mend.unpack_outer")
MEND_TABLE_AS_CSV = Message("mend.table_as_csv")
MEND_FORMATS = Message("mend.formats")
MEND_REPORT = Message("mend.report")
MEND_PAIRED = Message("mend.paired")
MEND_RATE = Message("mend.rate")
MEND_STRAP_FILE = Message("mend.strap_file")
MEND_DROP_REST = Message("mend.drop_rest")
MEND_DATES = Message("mend.dates")
MEND_TIME_UNIT = Message("mend.time_unit")
MEND_TIME_COLUMN = Message("mend.time_column")
MEND_TIME_OR_RATE = Message("mend.time_or_rate")


def file_upload_files(most: int) -> Message:
    """More files than one upload brings."""
    return Message.of("file.upload_files", most=most)


def file_upload_size(most: int) -> Message:
    """More bytes than one upload brings  [MiB]."""
    return Message.of("file.upload_size", most=most)


def file_unopened(reason: Quoted) -> Message:
    """The system does not open it, and says why."""
    return Message.of("file.unopened", reason=reason)


def file_long(size: int, most: int) -> Message:
    """A file that is longer than a recording  [MiB]."""
    return Message.of("file.long", size=size, most=most)


def file_longer(most: int) -> Message:
    """The same of a file that is still coming."""
    return Message.of("file.longer", most=most)


def file_flood(most: int, times: int) -> Message:
    """A file that unpacks to far too much."""
    return Message.of("file.flood", most=most, times=times)


def file_flood_together(most: int, times: int) -> Message:
    """An archive whose files together do."""
    return Message.of("file.flood_together", most=most, times=times)


def file_pieces(most: Quoted) -> Message:
    """A file that was packed in too many pieces."""
    return Message.of("file.pieces", most=most)


def file_many_members(most: int) -> Message:
    """An archive of too many files."""
    return Message.of("file.many_members", most=most)


def file_document(kind: Message) -> Message:
    """An office document, which is an archive too."""
    return Message.of("file.document", kind=kind)


def file_no_recording(kind: Message) -> Message:
    """No reader claims the file; what it seems to be."""
    return Message.of("file.no_recording", kind=kind)


def file_could_be(formats: tuple[Quoted, ...]) -> Message:
    """More than one reader claims the file."""
    return Message.of("file.could_be", formats=formats)


def file_fault(format_name: Quoted, mistake: Quoted) -> Message:
    """A reader stopped at something."""
    return Message.of("file.fault", format_name=format_name, mistake=mistake)


def file_no_heart_rate_because(notes: tuple[Message, ...]) -> Message:
    """No heart rate that can be placed, with what the reader remarked."""
    return Message.of("file.no_heart_rate_because", notes=notes)


def file_points_stopped(why: Message) -> Message:
    """The file breaks off before a point that can be used."""
    return Message.of("file.points_stopped", why=why)


def file_points_apart(points: int) -> Message:
    """No point has both a time and a heart rate."""
    return Message.of("file.points_apart", points=points)


def file_points_none(points: int) -> Message:
    """Points without a heart rate."""
    return Message.of("file.points_none", points=points)


def file_told(file: Quoted, what: Message, mend: Message) -> Message:
    """A refusal in one line, by the name of its file."""
    return Message.of("file.told", file=file, what=what, mend=mend)


def file_told_alone(file: Quoted, what: Message) -> Message:
    """The same where nothing helps."""
    return Message.of("file.told_alone", file=file, what=what)


def looks_like(thing: str) -> Message:
    """What a file seems to be, by a key of the words ``looks_like``."""
    return Message.of("looks.like", thing=thing)


def looks_like_xml(root: Quoted) -> Message:
    """An XML file that is no recording, by its outermost element."""
    return Message.of("looks.like_xml", root=root)
