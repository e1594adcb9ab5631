"""What a process has written: told by place and order, and a page that runs for weeks takes no more room for it."""

from ownmark import ledger


def test_places_since_a_mark_once_each_in_order():
    before = ledger.mark()
    assert ledger.since(before) == ()
    for place in ("b", "b", "a", "b"):
        ledger.note(place)
    assert ledger.since(before) == ("b", "a")
    later = ledger.mark()
    assert ledger.since(later) == ()
    ledger.note("b")
    assert ledger.since(later) == ("b",)
    assert ledger.since(before) == ("b", "a")


def test_one_place_that_is_written_to_for_ever_takes_one_line():
    ledger.note("another")
    lines, before = len(ledger._written), ledger.mark()
    for _ in range(1000):
        ledger.note("logbook.db")
    assert len(ledger._written) == lines + 1
    assert ledger.mark() == before + 1000
    assert ledger.since(before + 999) == ("logbook.db",)
