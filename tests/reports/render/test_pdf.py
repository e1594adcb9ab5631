"""Pages as PDF: tagged after PDF/UA-1, read back by two independent libraries, with the numbers of the sheet."""

import io
import re
from functools import cache

import pikepdf
import pypdf
import pytest
from ownmark.reports.page import Checklist, Heading, Listing, Note, Page, Paragraph, Picture, Table, Tick
from ownmark.reports.render.html import to_html
from ownmark.reports.render.pdf import _SURE, _SURE_TOO, MISSING, _has, to_pdf
from ownmark.reports.render.png import to_png

from .. import pages_made as made


@cache
def bytes_of(page):
    return to_pdf(page)


def opened(page):
    return pikepdf.open(io.BytesIO(bytes_of(page)))


@cache
def text_of(page):
    """Text of every sheet without its running foot, spaces made one."""
    sheets = pypdf.PdfReader(io.BytesIO(bytes_of(page))).pages
    found = " ".join(sheet.extract_text() for sheet in sheets)
    for number in range(1, len(sheets) + 1):
        foot = page.sheet_of.replace("{number}", str(number)).replace("{total}", str(len(sheets)))
        found = found.replace(foot, " ")
    return " ".join(found.replace(page.running, " ").split()) if page.running else " ".join(found.split())


def structure(pdf):
    """Tags of the structure tree in reading order: (name, element)."""
    roles = {str(name): str(role) for name, role in (pdf.Root.StructTreeRoot.get("/RoleMap") or {}).items()}

    def walk(element):
        if not isinstance(element, pikepdf.Dictionary):
            return
        if "/S" in element:
            name = str(element.S)
            yield roles.get(name, name).lstrip("/"), element
        kids = element.get("/K")
        for kid in kids if isinstance(kids, pikepdf.Array) else [kids]:
            yield from walk(kid)

    return list(walk(pdf.Root.StructTreeRoot))


@pytest.mark.parametrize("name", made.NAMES)
def test_a_page_says_that_it_is_pdf_ua_1_with_title_and_language(name):
    # ISO 14289-1: 5 (identification), 7.1 (title shown, tagged), 7.2 (language).
    page = made.every_page()[name]
    with opened(page) as pdf:
        with pdf.open_metadata() as metadata:
            assert metadata["{http://www.aiim.org/pdfua/ns/id/}part"] == "1"
            assert metadata["dc:title"] == page.title
        assert str(pdf.Root.Lang) == page.language
        assert bool(pdf.Root.MarkInfo.Marked)
        assert bool(pdf.Root.ViewerPreferences.DisplayDocTitle)


@pytest.mark.parametrize("name", made.NAMES)
def test_headings_follow_each_other_without_a_gap_and_stand_as_on_the_page(name):
    # ISO 14289-1, 7.4: levels are not skipped.
    page = made.every_page()[name]
    with opened(page) as pdf:
        tags = [tag for tag, _ in structure(pdf)]
        levels = [int(tag[1]) for tag in tags if re.fullmatch(r"H[1-6]", tag)]
        wanted = [one.level - 1 for one in page.blocks if isinstance(one, Heading)]
        assert levels == wanted
        assert [str(one.S) for _, one in structure(pdf)].count("/Title") == 1
        assert all(later <= earlier + 1 for earlier, later in zip([0, *levels], levels, strict=False))


@pytest.mark.parametrize("name", made.NAMES)
def test_every_table_has_headers_and_every_picture_its_text(name):
    # ISO 14289-1, 7.5 (header cells) and 7.3 (alternate text).
    page = made.every_page()[name]
    with opened(page) as pdf:
        found = structure(pdf)
    tags = [tag for tag, _ in found]
    tables = [one for one in page.blocks if isinstance(one, Table)]
    assert tags.count("Table") == len(tables)
    assert tags.count("TH") == sum(len(one.header) for one in tables)
    assert tags.count("TD") == sum(len(one.header) * len(one.rows) for one in tables)
    items = sum(len(one.items) for one in page.blocks if isinstance(one, Listing | Checklist))
    assert tags.count("LI") == items
    with opened(page) as pdf:
        texts = [str(element.Alt) for tag, element in structure(pdf) if tag == "Figure" and "/Alt" in element]
    assert [one.alt for one in page.blocks if isinstance(one, Picture)] == texts


@pytest.mark.parametrize("name", made.NAMES)
def test_paper_and_screen_hold_the_same_numbers(name):
    page = made.every_page()[name]
    screen = made.Seen(to_html(page)).text
    paper = text_of(page)
    for foot in page.footer:  # hashes are broken over two lines on paper
        screen = screen.replace(" ".join(foot.split()), " ")
    assert len(set(made.numbers(screen))) >= 2
    assert set(made.numbers(screen)) - set(made.numbers(paper)) == set()
    for foot in page.footer:
        paper = paper.replace(" ".join(foot.split()), " ")
    strange = set(made.numbers(paper)) - set(made.numbers(screen))
    assert {number for number in strange if number not in " ".join(page.footer)} == set()


@pytest.mark.parametrize("which", made.TRIALS)
def test_every_figure_on_paper_is_the_one_on_the_page(which):
    page = made.effort(which)
    paper = text_of(page).replace(" ", "")
    rows = [row for one in page.blocks if isinstance(one, Table) for row in one.rows]
    assert len(rows) > 12
    for row in rows:
        label, value = (re.sub(r"\s", "", text) for text in row[:2])
        assert f"{label}{value}" in paper, row


HOSTILE = (
    "#panic() #{sys.exit} $x^2$ _a_ *b* `c` @cite <label> \\u{41} [x] // gone /* gone */ = no heading",
    "- no list\n+ none either\n\nsecond paragraph\tafter a tab",
    "\"quoted\" 'single' ~ -- --- ...",
)


def with_notes(*notes):
    first = notes[0]
    blocks = [Paragraph(note) for note in notes]
    blocks += [Heading(first), Listing(notes), Note("verdict", first, first)]
    blocks += [Table(first, (first, "b"), ((first, first),)), Checklist("c", (Tick(first, first, first),))]
    return Page(first, "en", first, tuple(blocks), notes)


@pytest.mark.parametrize("note", HOSTILE)
def test_what_people_type_is_never_read_as_markup(note):
    paper = text_of(with_notes(note)).replace(" ", "")
    wanted = re.sub(r"\s", "", note)
    assert paper.count(wanted) >= 9


def test_right_to_left_text_is_set_and_a_sign_that_no_font_has_is_a_box():
    page = with_notes("She said שלום and went on", "🦽 rolled well 👩🏽‍🦽", "a\x00b\x1b\u202ec", "𐎀 old letter")
    paper = text_of(page)
    assert "rolled well" in paper
    assert "abc" in paper
    assert "old letter" in paper
    plain = MISSING in paper or "🦽" in paper
    assert plain


def test_every_character_that_is_taken_for_sure_has_a_sign_in_the_compilers_own_fonts():
    assert _has("".join(sorted(_SURE | _SURE_TOO)), system=False)
    assert not _has("\U0010fffd", system=False)


def test_a_very_long_note_runs_over_as_many_sheets_as_it_needs():
    page = with_notes("word " * 3000)
    reader = pypdf.PdfReader(io.BytesIO(to_pdf(Page("t", "en", "s", page.blocks[:1]))))
    assert len(reader.pages) > 2
    assert sum(sheet.extract_text().count("word") for sheet in reader.pages) == 3000


def test_a_page_with_nothing_on_it_is_still_one_sheet():
    assert len(pypdf.PdfReader(io.BytesIO(to_pdf(Page("t", "en", "", ())))).pages) == 1


def test_the_same_page_is_the_same_file():
    assert to_pdf(made.effort("crank")) == to_pdf(made.effort("crank"))


def test_nothing_in_a_pdf_points_outside_or_runs():
    data = to_pdf(with_notes(*HOSTILE))
    with pikepdf.open(io.BytesIO(data)) as pdf:
        keys = {str(key) for one in pdf.objects if isinstance(one, pikepdf.Dictionary) for key in one.keys()}  # noqa: SIM118
    assert keys & {"/URI", "/JS", "/JavaScript", "/AA", "/OpenAction", "/EmbeddedFiles", "/Launch"} == set()


def test_a_picture_of_the_page_is_a_png_of_each_sheet_of_us_letter():
    sheets = to_png(made.effort("chair"), ppi=72)
    assert len(sheets) == len(pypdf.PdfReader(io.BytesIO(to_pdf(made.effort("chair")))).pages)
    for sheet in sheets:
        assert sheet.startswith(b"\x89PNG\r\n\x1a\n")
        # Source: the PNG specification, IHDR: width and height, big-endian, at 16 and 20.
        # US Letter is 612 × 792 points.
        assert (int.from_bytes(sheet[16:20]), int.from_bytes(sheet[20:24])) == (612, 792)


def test_a_wide_table_lays_the_sheet_across():
    box = pypdf.PdfReader(io.BytesIO(to_pdf(made.every_page()["district"]))).pages[0].mediabox
    assert box.width > box.height
