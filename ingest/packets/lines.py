"""One line of a packet log: the time that stands before the bytes, and the bytes. Knows no characteristic."""

import re

_CLOCK = (
    r"(?:\d{1,4}[-./]\d{1,2}[-./]\d{1,4}[T_ ]\s?)?\d{1,3}:\d{2}(?::\d{2}(?:[.,:]\d{1,12})?)?(?:\s?[AP]\.?M\.?)?"
    r"(?:\s?(?:Z|UTC|GMT|[-+]\d\d:?\d\d))?"
)
_POINT = r"[-+]?\d{1,20}(?:\.\d{0,12})?(?:e[-+]?\d{1,2})?"
_COMMA = r"[-+]?\d{1,20}(?:[.,]\d{1,12})?"
_BYTES = r"(?:\(0x\)\s?)?(?:0x)?[0-9A-F]{2}(?:[\s,;:-]{0,3}(?:0x)?[0-9A-F]{2})*"
_LONGEST = 2000


def _line(number: str) -> re.Pattern[str]:
    """A whole line, its numbers with this decimal sign."""
    return re.compile(
        rf'"?(?P<time>{_CLOCK}|{number})"?(?P<sign>\s*[,;\t|]\s*|\s+)"?(?P<bytes>{_BYTES})"?\s*[,;]?', re.IGNORECASE
    )


WITH_POINT, WITH_COMMA = _line(_POINT), _line(_COMMA)
_NOT_A_DIGIT = re.compile(r"\(?0x\)?|[^0-9A-F]", re.IGNORECASE)
_FLOAT = re.compile(r"\d+e\d+", re.IGNORECASE)
_PARTED = re.compile(r"[0-9A-F]{2}(?:[ -][0-9A-F]{2})+", re.IGNORECASE)


def split_line(line: str, form: re.Pattern[str] = WITH_POINT) -> tuple[str, bytes] | None:
    """Part a line such as ``12.5,16 4D 16 03`` into its time and its bytes; None if it is none."""
    match = form.fullmatch(line.strip()) if len(line) <= _LONGEST else None
    return None if match is None else (match["time"], bytes.fromhex(_NOT_A_DIGIT.sub("", match["bytes"])))


def is_written_in_hex(line: str, form: re.Pattern[str] = WITH_POINT) -> bool:
    """Tell whether the bytes of a line cannot be decimal numbers of a table: by 0x, a letter, zeros or blanks."""
    match = form.fullmatch(line.strip()) if len(line) <= _LONGEST else None
    if match is None:
        return False
    written = match["bytes"].lower()
    if "0x" in written:
        return True
    if re.search("[a-f]", written):
        return _FLOAT.fullmatch(written) is None
    if "," in written or ";" in written:
        return False
    parted = _PARTED.fullmatch(written) is not None and match["sign"].strip(" ") != ""
    return parted or (written[0] == "0" and len(_NOT_A_DIGIT.sub("", written)) > 2)
