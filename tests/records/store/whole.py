"""Is a logbook whole? Every trial complete, every file agreeing with its hash, nothing left over."""

from ownmark.records import figures_of
from ownmark.records.store.tables import details, files, originals, sheets, trials
from sqlalchemy import func, select


def assert_whole(logbook):
    """Read everything, compare what hangs together, and give the turns that are in it."""
    found = list(logbook.trials())
    rows = list(figures_of(logbook))
    for trial in found:
        of_it = {row.name: row.value for row in rows if row.trial_id == trial.id}
        assert of_it == {name: figure.value for name, figure in trial.sheet.figures.items()}
        (file,) = trial.files
        assert len(logbook.original(file.sha256)) == file.size
    with logbook.reading() as connection:
        counts = {
            table.name: connection.execute(select(func.count()).select_from(table)).scalar_one()
            for table in (trials, details, sheets, files, originals)
        }
        if connection.dialect.name == "sqlite":
            assert connection.exec_driver_sql("PRAGMA integrity_check").all() == [("ok",)]
            assert connection.exec_driver_sql("PRAGMA foreign_key_check").all() == []
    assert set(counts.values()) == {len(found)}, counts
    return [trial.notes for trial in found]


def kill_at_random(zygote, place, kills, draw, what="add", longest_s=0.15):
    """Kill a writer at random moments, and look at the logbook after each; give how many trials are in it."""
    import os
    import signal
    import time

    from ownmark.errors import NoLogbook
    from ownmark.records import open_logbook

    kept, start = set(), 0
    for turn in range(kills):
        writer = zygote.begin(what, place, start)
        if what == "add" and turn % 2:
            zygote.wait_for_one()  # however slow the machine is, some of the kills meet a writer in full work
        time.sleep(draw.random() * longest_s)
        os.kill(writer, signal.SIGKILL)
        said = zygote.rest()
        kept |= {int(words[2]) for words in said if words[0] == "kept"}
        start += len(said) + 2
        try:
            with open_logbook(place, create=False) as logbook:
                there = assert_whole(logbook)
        except NoLogbook:
            assert not kept  # killed before the logbook was made
            continue
        if what == "add":
            turns = {int(notes.split()[1]) for notes in there}
            assert kept <= turns
            assert len(turns) == len(there)
    return len(kept)
