"""What a file's name says, at the edges: dates are no labels, numbers alone are seldom ones."""

import pytest
from ownmark.records.plan.names import bare, clearly, names_a_device, says_little, words_in


@pytest.mark.parametrize(
    ("stem", "left"),
    [
        ("Strap-3_2026-05-12", "strap-3"),
        ("Strap-3 20260512T090500", "strap-3"),
        ("Strap-3 2026-05-12 09:05:00 gym", "strap-3-gym"),
        ("Strap-3 2026.05.12 9", "strap-3-9"),
        ("2026-05-12", ""),
        ("__", ""),
        ("xx a", "xx-a"),
        ("a XX", "a-xx"),
        ("12026-05-12", "12026-05-12"),
        ("2026-05-123", "2026-05-123"),
        ("1999_12_31 a", "a"),
        ("2099-12-31 a", "a"),
        ("2100-12-31 a", "2100-12-31-a"),
    ],
)
def test_a_name_without_its_date(stem, left):
    assert bare(stem) == left


def test_a_device_has_letters_and_digits_beside_the_date():
    assert names_a_device("strap-3 2026-05-12")
    assert not names_a_device("heart-rate 2026-05-12")
    assert not names_a_device("7 2026-05-12")
    assert not names_a_device("2026-05-12")


def test_labels_stand_as_words_of_their_own():
    labels = ["S3", "S33", "TH-1", "TH-11", ""]
    assert words_in("s3", labels) == ("S3",)
    assert words_in("a_S3-b", labels) == ("S3",)
    assert words_in("xS3", labels) == ()
    assert words_in("S3x", labels) == ()
    assert words_in("S33 S3", labels) == ("S3", "S33")
    assert words_in("TH-11", labels) == ("TH-11",)
    assert words_in("TH-1-11", labels) == ("TH-1",)
    assert words_in("", labels) == ()


def test_a_label_inside_a_longer_one_does_not_count_but_elsewhere_it_does():
    assert words_in("blue 3", ["3", "blue 3"]) == ("blue 3",)
    assert words_in("blue 3 3", ["3", "blue 3"]) == ("3", "blue 3")
    assert words_in("3 blue", ["3", "3 blue", "blue"]) == ("3 blue",)
    assert words_in("a-b-c", ["a-b", "b-c"]) == ("a-b", "b-c")
    assert words_in("a-b-c", ["b-c", "a-b"]) == ("a-b", "b-c")
    assert words_in("ab-c d", ["ab", "c d"]) == ("ab", "c d")
    assert words_in("c d-ab", ["ab", "c d"]) == ("ab", "c d")
    assert words_in("b-c-d-e", ["b-c-d", "d-e"]) == ("b-c-d", "d-e")
    assert words_in("d-e-f-g", ["e-f-g", "d-e"]) == ("d-e", "e-f-g")


def test_a_date_holds_no_label():
    assert words_in("S3 2026-05-12", ["12", "05", "2026"]) == ()
    assert words_in("S3 2026-05-12 12", ["12"]) == ("12",)


def test_numbers_and_single_letters_say_little():
    assert says_little("3")
    assert says_little("012")
    assert says_little("A")
    assert not says_little("AB")
    assert not says_little("S3")
    assert not says_little("3A")


@pytest.mark.parametrize(
    ("stem", "label", "clear"),
    [
        ("3", "3", True),
        ("03", "3", True),
        ("3", "03", True),
        ("0", "0", True),
        ("3 2026-05-12", "3", True),
        ("_3.", "3", True),
        ("30", "3", False),
        ("33", "3", False),
        ("3 laps", "3", False),
        ("monday 3", "3", False),
        ("strap-3", "3", True),
        ("Strap 03 monday", "3", True),
        ("strap3", "3", True),
        ("sensor #3", "3", True),
        ("belt_3", "3", True),
        ("band 3", "3", True),
        ("strap-3-2", "3", False),
        ("strap 3.2", "3", False),
        ("strap 32", "3", False),
        ("strap 3b", "3", False),
        ("my strap-3", "3", False),
        ("S3", "3", False),
        ("hr-3", "3", False),
        ("A", "A", True),
        ("a", "A", True),
        ("strap A", "A", True),
        ("strap_A gym", "A", True),
        ("strapA", "A", False),
        ("strap AB", "A", False),
        ("A gym", "A", False),
        ("0A", "A", False),
    ],
)
def test_where_a_number_or_a_letter_is_clearly_the_straps(stem, label, clear):
    assert clearly(stem, label) is clear
