"""Pages as text: every word of the page, no line wider than the terminal, columns where they fit."""

import pytest
from ownmark.reports.page import Blank, Checklist, Heading, Listing, Note, Page, Paragraph, Picture, Table, Tick
from ownmark.reports.render.text import to_text

from .. import pages_made as made


def page(*blocks):
    return Page("Title", "en", "Below", tuple(blocks))


def below(text):
    """What stands under the title."""
    return text.split("\n\n", 1)[1]


@pytest.mark.parametrize("name", made.NAMES)
@pytest.mark.parametrize("width", [100, 60])
def test_no_line_is_wider_than_the_terminal_and_no_word_is_lost(name, width):
    found = made.every_page()[name]
    text = to_text(found, width)
    assert max(len(line) for line in text.split("\n")) <= width
    unseen = {found.running, found.sheet_of}
    unseen |= {each.caption for each in found.blocks if isinstance(each, Table | Picture)}
    unseen |= {each.name for each in found.blocks if isinstance(each, Checklist)}
    plain = "".join(text.split())
    for line in made.page_texts(found):
        for word in () if line in unseen else line.split():
            assert word in plain, (name, word)


def test_a_table_stands_in_columns_with_numbers_to_the_right():
    table = Table("c", ("name", "rate"), (("mean", "9"), ("peak", "110")), units=("", "/min"), numeric=(1,))
    assert below(to_text(page(table))) == "name  rate (/min)\nmean            9\npeak          110"


def test_the_widest_column_is_wrapped_first():
    table = Table("c", ("a", "b"), (("short", "one two three four"),))
    assert below(to_text(page(table), 20)) == "a      b\nshort  one two three\n       four"


def test_a_table_that_cannot_stand_in_columns_is_written_cell_below_cell():
    table = Table("c", ("a", "b", "c"), (("first row", "second cell", ""),))
    assert below(to_text(page(table), 20)) == "a: first row\n  b: second cell"


def test_lists_hang_and_boxes_stand_before_what_is_ticked():
    blocks = (Listing(("one two three four",)), Checklist("n", (Tick("surface", "gym floor", "must match"),)))
    assert (
        below(to_text(page(*blocks), 18)) == "- one two three\n  four\n\n[ ] surface (must\n    match): gym\n    floor"
    )


def test_a_note_says_its_title_first_and_a_blank_leaves_a_line_to_write_on():
    text = below(to_text(page(Note("verdict", "Within", "No change."), Blank(("Date",)))))
    assert text == f"Within\nNo change.\n\nDate: {'_' * 30}"


def test_a_picture_is_told_by_its_text():
    assert below(to_text(page(Picture(b"<svg/>", "A line that falls.", "caption")))) == "A line that falls."


def test_a_table_stands_right_under_its_heading_and_paragraphs_stand_apart():
    text = below(to_text(page(Heading("Head", 3), Listing(("x",)), Paragraph("p"), Paragraph("q"))))
    assert text == "Head\n- x\n\np\n\nq"


def test_wide_signs_take_two_places_and_joined_ones_none():
    table = Table("c", ("a", "b"), (("心拍", "x"), ("e\u0301", "y")))
    assert below(to_text(page(table))) == "a     b\n心拍  x\ne\u0301     y"


def test_a_table_by_hand_keeps_room_to_write_behind_each_head():
    heads = ("Student", *(f"Written by hand number {number}" for number in range(7)))
    row = ("TH-11", *("",) * 7)
    found = Page("Form", "en", "", (Table("", heads, (row,), by_hand=True),))
    assert to_text(found, 60).count(f": {'_' * 30}") == 7
    read = Page("Form", "en", "", (Table("", heads, (row,)),))
    assert "___" not in to_text(read, 60)
