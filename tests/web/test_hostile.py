"""What a person or a device could write to harm: markup, formulas, paths as names, bombs; and what goes out then."""

import csv
import io
import zipfile

import openpyxl
import pytest
from ownmark.records.day.happened import happened
from ownmark.records.store.day_entries import entries_of

from tests.records.day.class_day import DAY, ClassDay

MARKUP = '<img src=x onerror="alert(1)"><script>alert(2)</script>'
FORMULAS = ('=HYPERLINK("http://x.example","a")', "+1+1", "-2+3", "@SUM(A1)", "\t=1+1", "\r=1+1")
FORM = {"Content-Type": "multipart/form-data; boundary=line"}
RISKY = ("=", "+", "-", "@", "\t", "\r")
RECORDING = b"time_s,heart_rate\n" + b"".join(b"%d,%d\n" % (n, 100 + n % 7) for n in range(60))


@pytest.fixture
def day(parts):
    found = ClassDay(parts.logbook(), "TH-11", "BF-07")
    found.listed("TH-11", MARKUP[:60])
    found.listed("BF-07", "=S4+1")
    return found


def drop(teacher, *files):
    """Drop files by name and bytes onto the day."""
    body = b"".join(
        b'--line\r\nContent-Disposition: form-data; name="files"; filename="'
        + name.replace("\\", "\\\\").replace('"', "%22").encode()
        + b'"\r\n\r\n'
        + data
        + b"\r\n"
        for name, data in files
    )
    answer = teacher.post(f"/day/{DAY}/files", content=body + b"--line--\r\n", headers=FORM)
    assert answer.status_code == 303


def dropped(teacher, *files):
    """The screen after files were dropped."""
    drop(teacher, *files)
    return teacher.get(f"/day/{DAY}").text


def names(parts):
    return [each.name for each in happened(DAY, entries_of(parts.logbook(), DAY)).files]


def everything_below(folder):
    return sorted(str(path.relative_to(folder)) for path in folder.rglob("*") if path.is_file())


@pytest.mark.parametrize("path", [f"/day/{DAY}", f"/day/{DAY}/now", f"/day/{DAY}/class", f"/day/{DAY}/clocks"])
def test_markup_in_notes_straps_and_file_names_is_shown_as_it_was_written(teacher, day, path):
    drop(teacher, (f"{MARKUP}.csv", RECORDING), ("=cmd|' /C calc'!A0.csv", RECORDING + b"60,99\n"))
    teacher.post(f"/day/{DAY}/note", data={"test": "TH-11 1", "what": "note", "text": MARKUP})
    teacher.post(f"/day/{DAY}/note", data={"test": "TH-11 1", "what": "stop", "text": MARKUP})
    text = teacher.get(path).text
    assert "<img src=x" not in text
    assert "<script>" not in text
    assert 'onerror="' not in text


@pytest.mark.parametrize(
    "name",
    [
        "../../outside.csv",
        "..\\..\\outside.csv",
        "/etc/cron.d/outside.csv",
        "C:\\Windows\\outside.csv",
        "outside.csv\0.png",
        "....//....//outside.csv",
        "con.csv",
        ".bashrc",
        "-rf.csv",
        "a" * 300 + ".csv",
        "\u202egnp.csv",
        "",
    ],
)
def test_a_name_is_never_a_path(teacher, day, parts, tmp_path, name):
    before = everything_below(tmp_path)
    drop(teacher, (name, RECORDING))
    new = [each for each in everything_below(tmp_path) if each not in before and not each.endswith(("-wal", "-shm"))]
    assert all(each.startswith(f"logbook.db-received/{DAY}/") for each in new), new
    for each in names(parts):
        assert len(each) <= 80
        assert not set(each) & set('/\\\0<>"\u202e')


def packed(**files):
    found = io.BytesIO()
    with zipfile.ZipFile(found, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in files.items():
            archive.writestr(name.replace("__", "/").replace("UP", ".."), data)
    return found.getvalue()


def test_a_member_that_leads_out_of_its_archive_stays_in_the_folder(teacher, day, parts, tmp_path):
    before = everything_below(tmp_path)
    drop(teacher, ("bag.zip", packed(**{"UP__UP__out.csv": RECORDING, "in__good.csv": RECORDING + b"61,88\n"})))
    new = [each for each in everything_below(tmp_path) if each not in before and not each.endswith(("-wal", "-shm"))]
    assert all(each.startswith(f"logbook.db-received/{DAY}/") for each in new), new
    assert not (tmp_path.parent / "out.csv").exists()


BOMBS = {
    "one long member": lambda: packed(**{"long.csv": b"0" * (300 * 2**20)}),
    "an archive in an archive": lambda: packed(**{"inner.zip": packed(**{"a.csv": RECORDING})}),
    "more members than a bag has": lambda: packed(**{f"m{n}.csv": b"time_s\n%d" % n for n in range(1200)}),
}


@pytest.mark.parametrize("kind", BOMBS)
def test_a_zip_bomb_leaves_no_more_than_itself_and_the_page_goes_on(teacher, day, parts, tmp_path, kind):
    data = BOMBS[kind]()
    text = dropped(teacher, ("bag.zip", data), ("good.csv", RECORDING))
    assert "good.csv" in names(parts)
    assert "good.csv" in text
    size = sum(path.stat().st_size for path in (tmp_path / "logbook.db-received").rglob("*") if path.is_file())
    assert size <= len(data) + len(RECORDING) + 2**20


LAUGHS = (
    b'<?xml version="1.0"?><!DOCTYPE gpx [<!ENTITY a "ha">'
    + b"".join(b'<!ENTITY %c "%s">' % (98 + n, b"&%c;" % (97 + n) * 10) for n in range(9))
    + b']><gpx xmlns="http://www.topografix.com/GPX/1/1"><name>&j;</name></gpx>'
)
OUTSIDE = (
    b'<?xml version="1.0"?><!DOCTYPE gpx [<!ENTITY x SYSTEM "file:///etc/passwd">]>'
    b'<gpx xmlns="http://www.topografix.com/GPX/1/1"><name>&x;</name></gpx>'
)


@pytest.mark.parametrize("data", [LAUGHS, OUTSIDE], ids=["laughs", "outside"])
def test_an_xml_bomb_is_told_as_a_file_that_cannot_be_used(teacher, day, parts, data):
    text = dropped(teacher, ("track.gpx", data), ("good.csv", RECORDING))
    assert "root:" not in text
    assert sorted(names(parts)) == ["good.csv", "track.gpx"]
    assert "cannot be used" in text


@pytest.fixture
def exported(teacher, day, parts):
    """A trial whose every text is a formula, and the page's exports of it."""
    from tests.records.store import made

    for number, text in enumerate(FORMULAS):
        trial = made.trial("TH-11", protocol="slalom", sheet=made.sheet(number), notes=text, health=text)
        parts.logbook().add_trial(trial, [(f"={number}.csv", made.recording(number))])

    def get(form):
        sent = {"form": form, "health": "1", "change": "1", "lang": "en"}
        answer = teacher.post("/district/export", data=sent)
        assert answer.status_code == 200, answer.text[:300]
        return answer.content

    return get


def risky(cells):
    """Cells that a table program would work out."""
    return [each for each in cells if isinstance(each, str) and each.startswith(RISKY) and not _number(each)]


def _number(text):
    try:
        float(text)
    except ValueError:
        return False
    return True


def test_tables_that_leave_the_page_hold_no_formula(exported):
    with zipfile.ZipFile(io.BytesIO(exported("csv"))) as archive:
        tables = {each: archive.read(each).decode("utf-8-sig") for each in archive.namelist() if each.endswith(".csv")}
    cells = [cell for text in tables.values() for row in csv.reader(io.StringIO(text)) for cell in row]
    assert sum("HYPERLINK" in each for each in cells) > 0
    assert risky(cells) == []


def test_the_workbook_that_leaves_the_page_holds_no_formula(exported):
    book = openpyxl.load_workbook(io.BytesIO(exported("xlsx")))
    cells = [cell for sheet in book for row in sheet.iter_rows() for cell in row]
    assert [each.coordinate for each in cells if each.data_type == "f"] == []
    assert sum("HYPERLINK" in str(each.value) for each in cells) > 0
