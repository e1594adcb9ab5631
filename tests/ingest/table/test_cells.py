"""Numbers of a hundred digits and more: found wherever they stand, and nothing else is touched."""

import re

import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from ownmark.ingest.table import cells
from ownmark.ingest.table.cells import _are_signs, _may_be_endless, _runs_on, _without_endless, parse_cells
from ownmark.ingest.table.layout import find_layout
from ownmark.ingest.text_encoding import decode

PIECE = 1 << 16


def plain(text, begin):
    """The same by the expression alone, which is slow."""
    return text[:begin] + re.sub(r"\d{100,}", "?", text[begin:])


@pytest.mark.parametrize("digits", [99, 100, 101, 107, 108, 149, 150, 400])
@pytest.mark.parametrize("behind", ["", "\n", ",7\n", "x" * 120])
def test_it_is_found_wherever_it_begins_and_at_the_very_end(digits, behind):
    for before in range(60):
        text = "," * before + "5" * digits + behind
        assert _without_endless(text, 0) == ("," * before + ("?" if digits >= 100 else "5" * digits) + behind)


@pytest.mark.parametrize("digits", [99, 100])
@pytest.mark.parametrize("at", [PIECE - 100, PIECE - 99, PIECE - 50, PIECE - 1, PIECE, PIECE + 1])
def test_it_is_found_across_the_edge_of_two_pieces(digits, at):
    for begin in (0, 3):
        text = "a" * begin + "," * at + "5" * digits + "," * 7 + "\n"
        assert _without_endless(text, begin) == plain(text, begin)
        assert ("?" in _without_endless(text, begin)) == (digits == 100)


def test_what_stands_before_the_rows_is_left_alone():
    text = "1" * 120 + "\n" + "2" * 120
    assert _without_endless(text, 121) == "1" * 120 + "\n?"
    assert _without_endless(text, len(text)) == text
    assert _without_endless(text, 122) == "1" * 120 + "\n2?"
    assert _without_endless(text, 142) == text


@pytest.mark.parametrize("sign", ["٣", "३", "９"])
def test_digits_of_other_alphabets_are_digits(sign):
    assert _without_endless("é," + sign * 100 + ",1", 0) == "é,?,1"
    assert _without_endless("é," + sign * 99 + ",1", 0) == "é," + sign * 99 + ",1"
    mixed = "é," + (sign + "1") * 50
    assert _without_endless(mixed, 0) == "é,?"


def test_letters_and_raised_digits_are_none():
    for sign in ("é", "²", "\ud800", "x"):
        assert _without_endless(sign * 300, 0) == sign * 300
    assert _without_endless("é" + "5" * 100, 0) == "é?"


def test_only_what_may_hold_one_is_searched(monkeypatch):
    rows = "".join(f"{1_770_000_000_000 + 10 * row},0.1234,-0.0567,1.0012\n" for row in range(4000))
    fixed = "".join(f"{row:013d},{row:06d},{row:06d},{row:06d}\n" for row in range(4000))  # 35 signs a row
    monkeypatch.setattr(cells, "_ENDLESS", None)  # would fail
    for text in (rows, fixed, rows + "°", "é,5\n" * 4000, "", "5", "5" * 87, "," * 8 + "5" * 87):
        assert _without_endless(text, 0) is text


def test_eleven_stretches_of_eight_digits_are_looked_into():
    assert _may_be_endless("5" * 88)
    assert not _may_be_endless("5" * 87 + "," * 9)
    assert _may_be_endless("," * 8 + "5" * 88)
    assert not _may_be_endless("," * 7 + "5" * 88)  # ten stretches, and two that are not full
    for sign in "/:":  # beside 0 and 9
        assert not _may_be_endless(sign * 200)
    assert _may_be_endless("09" * 44)
    assert _may_be_endless("é" * 88)
    assert not _may_be_endless("é" + "/:\x7f" * 60)


def test_neighbours_that_are_marked_are_counted():
    for length in range(1, 20):
        for count in (length - 1, length, length + 1):
            marked = cells.np.array([False] * 3 + [True] * count + [False] * 2)
            assert _runs_on(marked, length) == (count >= length)
        assert not _runs_on(cells.np.zeros(0, bool), length)
        assert _runs_on(cells.np.ones(length, bool), length)


@settings(max_examples=300, deadline=None)
@given(
    st.lists(st.one_of(st.sampled_from([",", "\n", ".", "é", "²", "٣"]), st.integers(1, 115).map(lambda n: "7" * n))),
    st.integers(0, 300),
)
def test_it_is_what_the_expression_alone_finds(parts, begin):
    text = "".join(parts)
    begin = min(begin, len(text))
    assert _without_endless(text, begin) == plain(text, begin)


WIDE = "time_s,bpm\n" + "".join(f"{at},{60 + at % 50}.{at % 10}\n" for at in range(3000))


@pytest.mark.parametrize(("limit", "pieces"), [(0, False), (-1, True)])
def test_a_long_table_of_numbers_is_parsed_in_pieces_and_holds_the_same(monkeypatch, limit, pieces):
    layout = find_layout(WIDE.split("\n")[:300])
    begin = WIDE.index("\n") + 1
    whole = parse_cells(WIDE, layout, [0, 1], [], "")
    asked, read = [], pd.read_csv
    monkeypatch.setattr(pd, "read_csv", lambda *given, **more: asked.append(more["low_memory"]) or read(*given, **more))
    monkeypatch.setattr(cells, "_IN_PIECES", len(WIDE) - begin + limit)
    found = parse_cells(WIDE, layout, [0, 1], [], "")
    assert asked == [pieces]
    for column in (0, 1):
        assert found.numbers[column].dtype == whole.numbers[column].dtype
        assert found.numbers[column].tobytes() == whole.numbers[column].tobytes()


def test_a_table_with_a_cell_that_is_no_number_is_parsed_in_pieces_however_short(monkeypatch):
    text = WIDE.replace("2999,109.9", "2999,away")
    layout = find_layout(text.split("\n")[:300])
    asked, read = [], pd.read_csv
    monkeypatch.setattr(pd, "read_csv", lambda *given, **more: asked.append(more["low_memory"]) or read(*given, **more))
    found = parse_cells(text, layout, [0, 1], [], "")
    assert asked == [False, True]  # that it is none shows only at its end
    assert found.unreadable[1].tolist() == [False] * 2999 + [True]


def same(one, other):
    """Whether two tables hold the same, to the last bit."""
    assert one.texts == other.texts
    assert one.too_long.tolist() == other.too_long.tolist()
    for column, numbers in one.numbers.items():
        assert numbers.dtype == other.numbers[column].dtype
        assert numbers.tobytes() == other.numbers[column].tobytes()
        assert one.unreadable[column].tolist() == other.unreadable[column].tolist()
    return True


@pytest.mark.parametrize(
    "change",
    [
        lambda text: text,
        lambda text: text.replace("\n", "\r\n"),
        lambda text: text.replace("\n", "\r"),
        lambda text: text.replace("bpm", "größe"),
        lambda text: text.replace("7,67.7", "7,away"),
        lambda text: text.replace("7,67.7", "7,\0"),
        lambda text: text.replace("7,67.7", '"7",67.7'),
        lambda text: text.replace("7,67.7", "7," + "6" * 100),
        lambda text: text.replace("7,67.7", "7,67.7,1"),
        lambda text: text.replace(",", "\t"),
        lambda text: text.replace(",", ", "),
    ],
)
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "latin-1", "utf-16"])
def test_a_files_own_bytes_hold_what_its_text_holds(change, encoding):
    data = change(WIDE).encode(encoding)
    text, _ = decode(data)
    layout = find_layout(text.split("\n")[:300])
    assert same(parse_cells(text, layout, [0, 1], [], "", data), parse_cells(text, layout, [0, 1], [], ""))


def test_bytes_are_signs_where_each_is_one_and_no_line_end_was_rewritten():
    assert _are_signs(b"1,2\n", "1,2\n")
    assert not _are_signs(b"1,2\r", "1,2\n")
    assert not _are_signs("é\n".encode("latin-1"), "é\n")
    assert not _are_signs(b"\xef\xbb\xbf1\n", "1\n")
    assert not _are_signs(b"", "1\n")


def test_what_is_parsed_are_the_bytes_where_they_are_signs(monkeypatch):
    layout = find_layout(WIDE.split("\n")[:300])
    given, read = [], pd.read_csv
    monkeypatch.setattr(pd, "read_csv", lambda rows, **more: given.append(type(rows._text)) or read(rows, **more))
    for data in (WIDE.encode(), b"", WIDE.replace("\n", "\r").encode()):
        parse_cells(WIDE, layout, [0, 1], [], "", data)
    assert given == [bytes, str, str]


def test_an_endless_number_in_the_bytes_is_found_as_in_the_text():
    text = "1,2\n" * 40_000 + "5" * 100 + ",1\n"
    assert _without_endless(text, 4, text.encode()) == plain(text, 4)
    text = text.replace("5" * 100, "5" * 87)
    assert _without_endless(text, 4, text.encode()) is text
