"""Every message has its text in every language with the same values, and every text has its message."""

import inspect
from datetime import date
from importlib import import_module

import pytest
from ownmark.words.message import Message, Quoted
from ownmark.words.render import LANGUAGES, VARIANTS, Words, holes, texts

from tests.each import for_each

LAYERS = {
    "ownmark.metrics.messages.heart_rate": ("caution", "reason", "why", "equation", "note", "basis", "found"),
    "ownmark.metrics.messages.movement": ("why", "note", "found", "rhythm", "sensor"),
    "ownmark.metrics.messages.trial": ("phases", "level", "found", "clock", "taken"),
    "ownmark.metrics.messages.phase_finding": ("proposal", "hand_over"),
    "ownmark.executors.messages": ("executor", "cluster"),
    "ownmark.ingest.messages": (
        *("read", "placed", "unread", "packed", "edf", "points", "fit", "packets", "wave", "table", "intervals"),
    ),
    "ownmark.ingest.refusal_messages": ("file", "mend", "looks"),
    "ownmark.records.messages": ("ceiling", "share"),
    "ownmark.records.refusal_messages": ("refusal",),
    "ownmark.records.address_messages": ("address",),
    "ownmark.records.guard_messages": ("guard",),
    "ownmark.records.student_messages": (*("student_code", "student", "student_table", "student_row", "student_part"),),
    "ownmark.records.plan.messages": ("day_plan",),
    "ownmark.records.day.messages": ("day_row",),
    "ownmark.records.catalogue.messages": ("choose",),
    "ownmark.records.change.messages": (
        *(
            "amount",
            "subject",
            "fact",
            "verdict",
            "not_given",
            "apart",
            "undirected",
            "repeats",
            "remark",
            "no_pair",
            "limit",
        ),
    ),
}
"""Where messages are named, and the sections of the catalogue that are theirs."""
KEYS = frozenset({"equation.tanaka", "equation.fox", "equation.gellish", "equation.fernhall"}) | {
    "equation.fernhall-id",
    "equation.verschuren-cp",
}
"""Names that messages use as values, in a section of messages."""
VALUES = {
    "float": 1.5,
    "int": 2,
    "str": "",
    "Message": Message("caution.device"),
    "tuple": (Message("caution.device"),),
    "Quoted": Quoted("hoops"),
    "date": date(2026, 5, 2),
    "tuple[Message, ...]": (Message("caution.device"),),
    "tuple[Quoted, ...]": (Quoted("TH-11"),),
    "tuple[date, ...]": (date(2026, 5, 2),),
}
WORDS = {
    "condition": "pacemaker",
    "equation": "tanaka",
    "people": "adults",
    "mistake": "g_as_metric",
    "method": "axes",
    "seen": "taps",
    "used": "events",
    "subject": "movements",
    "stream": "heart_rate",
    "conditions": ("pacemaker",),
    "figure": "time_light",
    "side": "left",
    "measure": "min",
    "field": "load_kg",
    "fields": ("load_kg", "gear"),
    "kind": "ecg",
    "thing": "script",
    "movement": "arms",
    "movements": ("arms", "head"),
    "need": "lying",
    "needs": ("lying", "guide"),
    "sense": "see",
    "senses": ("see",),
    "sex": "female",
    "test": "tethered-run",
    "tests": ("tethered-run",),
    "component": "trunk",
    "part": "time",
    "refused": "damaged_file",
    "witness": "button",
    "phase": "work",
}
"""Keys of the vocabulary, by the name of the value."""
UNSHOWN = {"refusal", "refused"}
"""Values that are there to decide by: a refusal's code, whose sentence stands beside; the terminal may name it."""
BRANCH = {"amount.of": "beats"}
"""Messages whose value chooses a branch."""


def named(module):
    """Code and values of every message of a module, by the name that it has there."""
    for name, found in vars(import_module(module)).items():
        if isinstance(found, Message):
            yield name, found
        elif inspect.isfunction(found) and found.__module__ == module:
            given = {
                each.name: _example(each.name, _kind(each.annotation))
                for each in inspect.signature(found).parameters.values()
            }
            if name.replace("_", ".", 1) in BRANCH:
                given["unit"] = BRANCH[name.replace("_", ".", 1)]
            yield name, found(**given)


def _example(name, kind):
    return WORDS[name] if "str" in kind and name in WORDS else VALUES[kind]


def _kind(annotation):
    text = str(annotation).replace("ownmark.words.message.", "").replace("datetime.", "")
    return text if "[" in text else str(getattr(annotation, "__name__", annotation))


def forms(code, language):
    """The texts of a code: one, or one for each branch."""
    known = texts(language)
    if code in known:
        return [known[code + variant] for variant in ("", *VARIANTS) if code + variant in known]
    return [known[key] for key in known if key.rpartition(".")[0] == code and not key.endswith(".by")]


MESSAGES = [(module, name, message) for module in LAYERS for name, message in named(module)]


@for_each(MESSAGES, name=lambda case: case[1])
def test_a_message_has_the_name_of_its_code_and_a_text_with_all_its_values_everywhere(module, name, message):
    assert name.lower() == message.code.replace(".", "_")
    for language in LANGUAGES:
        found = forms(message.code, language)
        assert found, f"{language} has no text"
        for text in found:
            known = {each for each, _ in message.values}
            values = known - UNSHOWN
            assert holes(text) == values if text == texts(language).get(message.code) else holes(text) <= known, (
                language
            )
        for family in (False, True):
            assert Words(language, family=family).message(message)


def test_every_text_has_its_message():
    there = {message.code for _, _, message in MESSAGES} | KEYS
    sections = {section for each in LAYERS.values() for section in each}
    for language in LANGUAGES:
        known = {key.removesuffix(VARIANTS[0]).removesuffix(VARIANTS[1]) for key in texts(language)}
        known = {key for key in known if key.partition(".")[0] in sections}
        assert {key for key in known if key not in there and key.rpartition(".")[0] not in there} == set()


def test_languages_have_the_same_keys():
    english, *others = ({key for key in texts(language) if not key.startswith("said.")} for language in LANGUAGES)
    for other in others:
        assert other == english


def test_what_is_quoted_stands_as_it_was_written():
    words = Words("es")
    assert "“x, y”" in words.message(Message.of("edf.unused", labels=Quoted("“x, y”")))
    assert "(«190 − age»)" in words.message(Message.of("note.predicted", formula=Quoted("190 − age")))
    assert "(208 − 0,7 · edad)" in words.message(Message.of("note.predicted", formula=Quoted("208 − 0.7 · age")))


@pytest.mark.parametrize("language", LANGUAGES)
def test_a_reason_begins_with_the_words_that_a_list_of_reasons_leaves_out(language):
    words, whole = Words(language), {"why.no_crossing", "why.no_band_of_reserve"}
    reasons = {message.code: message for _, _, message in MESSAGES if message.code.startswith("why.")}
    for code in reasons.keys() - whole:
        text = words.message(reasons[code])
        assert text.startswith(words.get("form.not_given")), code
        assert words.reason(reasons[code]) == text[len(words.get("form.not_given")) + 1 :]
    for code in whole:
        assert words.reason(reasons[code]) == words.message(reasons[code])
