"""Dates of a table's column: settled by one of them, or open."""

from datetime import date

import pytest
from ownmark.records.written_days import days_of

MAY, DECEMBER = date(2026, 5, 12), date(2026, 12, 5)


@pytest.mark.parametrize(
    ("written", "read"),
    [
        (["2026-05-12"], [(MAY,)]),
        (["2026/5/12"], [(MAY,)]),
        (["2026-05-12 00:00:00"], [(MAY,)]),
        (["12.5.2026"], [(MAY,)]),
        (["12.05.26"], [(MAY,)]),
        (["5/13/2026"], [(date(2026, 5, 13),)]),
        (["13/5/2026"], [(date(2026, 5, 13),)]),
        (["5/5/2026"], [(date(2026, 5, 5),)]),
        (["5/12/2026"], [(DECEMBER, MAY)]),
        (["5/12/2026", "5/13/2026"], [(MAY,), (date(2026, 5, 13),)]),
        (["5/12/2026", "13/5/2026"], [(DECEMBER,), (date(2026, 5, 13),)]),
        (["5/12/2026", "13/5/2026", "5/13/2026"], [(DECEMBER, MAY), (date(2026, 5, 13),), (date(2026, 5, 13),)]),
        (["5/12/2026", "12.5.2026"], [(DECEMBER, MAY), (MAY,)]),
        (["5-12-2026", ""], [(DECEMBER, MAY), ()]),
        (["5-12/2026"], [()]),
        (["31/31/2026"], [()]),
        (["2026-02-30"], [()]),
        (["2/29/2028"], [(date(2028, 2, 29),)]),
        (["tuesday"], [()]),
    ],
)
def test_a_date_means_one_day_or_both_that_it_can_be(written, read):
    assert days_of(written) == read
