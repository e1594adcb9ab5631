"""A strap's file is named packed in one table and unpacked in another: a batch tells that it is one recording."""

from itertools import permutations

import pytest
from ownmark.executors.opening import opened
from ownmark.executors.serial import Serial
from ownmark.records.batch.work import done

from tests.records.batch.district import CODES, batch, school, write
from tests.records.test_packed_recordings import ONE, TWO, forms, hearts
from tests.records.test_shared_files import FIRST, SECOND

HEAD = "code,protocol,files,date,rest,work,recovery,confirmed\n"


def tables(folder, names):
    """Two schools' tables, in the order of their names: each names the strap's file in a form of its own."""
    where = folder / "files"
    where.mkdir(parents=True)
    packed = forms(where)
    for place, ((code, phases), form) in enumerate(zip(((CODES[0], ONE), (CODES[1], TWO)), names, strict=True)):
        row = f"{code},slalom-gym,files/{packed[form].name},2026-11-10,{','.join(phases.values())},yes;checked\n"
        write(folder, f"{place}.csv", HEAD + row)
    return [folder / "0.csv", folder / "1.csv"]


@pytest.mark.parametrize("turned", [False, True])
@pytest.mark.parametrize("names", [*permutations(("plain", "gz"), 2), ("zip", "gz"), ("gz", "gz again")])
def test_two_tables_name_one_recording_in_two_forms(logbook, tmp_path, names, turned):
    some = tables(tmp_path / "district", names)
    found = batch(school(logbook), *(reversed(some) if turned else some))
    assert found.counts["added"] == 2, [(row.sentence, row.state) for each in found.tables for row in each.open_rows]
    assert hearts(logbook, CODES[0]) == set(FIRST)
    assert hearts(logbook, CODES[1]) == set(SECOND)
    again = batch(logbook, *some)
    assert again.counts["there already"] == 2


def test_processes_tell_it_too(logbook, tmp_path):
    some = tables(tmp_path / "district", ("gz", "plain"))
    with opened(2, preload=(done.__module__,)) as executor:
        assert not isinstance(executor, Serial)
        assert batch(school(logbook), *some, executor=executor).counts["added"] == 2
    assert (hearts(logbook, CODES[0]), hearts(logbook, CODES[1])) == (set(FIRST), set(SECOND))
