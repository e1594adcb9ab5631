"""What holds for all of a logbook: kept, changed, taken away, and carried by a backup."""

import pytest
from ownmark.errors import LogbookDamaged, UsageError
from ownmark.records import open_logbook
from ownmark.records.store.backup import back_up
from ownmark.records.store.restore import restore
from ownmark.records.store.settings import set_zone, zone_of


def test_a_zone_is_kept_changed_and_taken_away(logbook):
    assert zone_of(logbook) is None
    set_zone(logbook, "America/Denver")
    assert zone_of(logbook) == "America/Denver"
    set_zone(logbook, "Australia/Sydney")
    assert zone_of(logbook) == "Australia/Sydney"
    set_zone(logbook, None)
    assert zone_of(logbook) is None


@pytest.mark.parametrize("zone", ["Denver", "", "+15:00", "x" * 200])
def test_what_is_no_zone_is_refused_and_the_former_stays(logbook, zone):
    set_zone(logbook, "+02:00")
    with pytest.raises(UsageError):
        set_zone(logbook, zone)
    assert zone_of(logbook) == "+02:00"


def test_a_zone_that_changed_on_the_disk_is_told(logbook):
    set_zone(logbook, "America/Denver")
    with logbook.writing() as connection:
        connection.exec_driver_sql("UPDATE settings SET value = 'America/Boise'")
    with pytest.raises(LogbookDamaged):
        zone_of(logbook)


def test_a_backup_carries_the_zone(logbook, another_place, tmp_path):
    set_zone(logbook, "America/Denver")
    back_up(logbook, tmp_path / "all.zip")
    with open_logbook(another_place) as other:
        restore(other, tmp_path / "all.zip")
        assert zone_of(other) == "America/Denver"
