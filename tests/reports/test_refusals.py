"""Refusals on pages and in exports: by their messages, in the reader's language."""

from ownmark.errors import NothingToCompare
from ownmark.records.change import messages as say
from ownmark.reports.refusals import refusal
from ownmark.reports.words import Words


def test_a_refusal_is_told_in_the_readers_language_without_options_of_the_terminal():
    reason = NothingToCompare(say.NO_PAIR_ONE_DAY, mend=say.NO_PAIR_REPEAT)
    english = "all trials are on one day, and two days are needed. Give the same test again."
    assert refusal(reason, Words("en")) == english
    spanish = "todas las pruebas son de un solo día, y hacen falta dos días. Haga la misma prueba otra vez."
    assert refusal(reason, Words("es")) == spanish
    assert "`ownmark repeat`" in str(reason)


def test_what_is_known_in_english_only_is_told_in_english_only():
    for reason in (NothingToCompare("no."), NothingToCompare(say.NO_PAIR_ONE_DAY, mend="Mend it.")):
        assert refusal(reason, Words("es")) is None
    assert refusal(NothingToCompare("no."), Words("en")) == "no."
    mended = refusal(NothingToCompare(say.NO_PAIR_NO_TRIAL, mend="Mend it."), Words("en"))
    assert mended == "there is no trial yet. Mend it."
