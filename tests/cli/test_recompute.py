"""``ownmark recompute`` by several processes says and stores what it does alone."""

import pytest
from ownmark.cli.main import main
from ownmark.records import open_logbook
from ownmark.records.store.rows import sheet_text

from tests.makers.sheets import altered, with_figure
from tests.records.store import made


@pytest.fixture
def outdated(tmp_path, monkeypatch):
    """A new logbook with four sheets of an older version, one of them of a recording that is damaged."""

    def build(name):
        place = tmp_path / f"{name}.db"
        monkeypatch.setenv("OWNMARK_LOGBOOK", str(place))
        with open_logbook(place) as logbook:
            made.filled(logbook)
            for trial in list(logbook.trials()):
                old = with_figure(trial.sheet, "heart_rate_mean", value=99.0)
                sheet = altered(old, lambda page: page["provenance"].update(ownmark="0.0.1"))
                logbook.replace_sheet(trial.id, sheet)
            with logbook.writing() as connection:
                connection.exec_driver_sql(
                    "UPDATE originals SET size = size + 1 WHERE sha256 = (SELECT sha256 FROM files WHERE trial_id = 2)"
                )
        return place

    return build


def kept(place):
    with open_logbook(place) as logbook:
        return [(each.id, sheet_text(each.sheet)) for each in logbook.trials()]


def test_several_processes_say_and_store_what_one_does(outdated, capfd):
    told, stored = [], []
    for more in ([], ["--workers", "2"]):
        place = outdated(f"book{len(more)}")
        assert main(["recompute", *more]) == 1
        told.append(capfd.readouterr())
        stored.append(kept(place))
    assert told[0].out == told[1].out
    assert told[1].err == ""
    assert "4 sheets worked out again: 3 changed, 1 refused." in told[1].out
    assert "trial 2, TH-11: not done, the old sheet stays. strap-1.csv: " in told[1].out
    assert "restore the latest backup" in told[1].out
    assert "Message(" not in told[1].out
    assert stored[0] == stored[1]


def test_several_processes_only_show_where_that_is_asked_for(outdated, capsys):
    place = outdated("book")
    before = kept(place)
    assert main(["recompute", "TH-11", "--only-show", "--workers", "1"]) == 1
    assert "2 sheets worked out again: 1 would change, 1 refused." in capsys.readouterr().out
    assert kept(place) == before


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["--workers", "0"], "a number from 1 to 256, not 0"),
        (["--workers", "-3"], "a number from 1 to 256, not -3"),
        (["--workers", "100000"], "a number from 1 to 256, not 100000"),
        (["--workers", "many"], "“many” is no whole number, as in --workers 4"),
        (["--workers", "2", "--cluster", "local:2"], "Leave one of the two out"),
        (["--cluster", "nowhere"], "is no address of a cluster"),
    ],
)
def test_whoever_cannot_work_is_refused_before_anything_is_done(outdated, capsys, words, told):
    place = outdated("book")
    before = kept(place)
    assert main(["recompute", *words]) == 2
    assert told in capsys.readouterr().err
    assert kept(place) == before
