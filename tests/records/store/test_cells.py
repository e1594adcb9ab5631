from datetime import date

import pytest
from ownmark.records.store import cells


@pytest.mark.parametrize(
    ("of", "good", "bad"),
    [
        (cells.text, ("", "S01"), (None, 1, b"S01")),
        (cells.whole, (0, 7), (None, True, 1.0, "1")),
        (cells.day, (date(2025, 9, 1),), (None, "2025-09-01", 20250901)),
    ],
)
def test_a_cell_is_what_its_column_holds_and_nothing_like_it(of, good, bad):
    assert tuple(map(of, good)) == good
    for each in bad:
        with pytest.raises(ValueError, match="no "):
            of(each)
