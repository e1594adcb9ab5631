"""A test of many cases looks at every one, and tells which fail."""

import pytest

from tests.each import for_each


def test_every_case_is_looked_at_and_those_that_fail_are_named():
    seen = []

    @for_each([1, 2, 3, 0], name=lambda number: f"number {number}")
    def test_something(number):
        seen.append(number)
        assert 6 % number == 0
        assert number != 2
        if number == 3:
            pytest.fail("three")

    with pytest.raises(AssertionError) as told:
        test_something()
    assert seen == [1, 2, 3, 0]
    assert str(told.value).startswith("3 of 4 cases fail:\n\n[number 2] AssertionError: ")
    assert "\n\n[number 3] Failed: three\n\n" in str(told.value)
    assert "\n\n[number 0] ZeroDivisionError: " in str(told.value)


def test_cases_of_several_values_are_taken_apart_and_nothing_is_said_where_all_hold():
    seen = []

    @for_each([(1, "a"), (2, "b")])
    def test_something(number, letter):
        """What is looked at."""
        seen.append((letter, number))

    assert (test_something.__name__, test_something.__doc__) == ("test_something", "What is looked at.")
    assert test_something() is None
    assert seen == [("a", 1), ("b", 2)]


def test_a_test_of_no_case_is_none():
    with pytest.raises(AssertionError):
        for_each([])
