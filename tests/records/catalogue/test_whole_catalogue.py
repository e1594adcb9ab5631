"""Every test of the catalogue against the rules of an entry, and its words against the closed vocabularies."""

import re
from collections import defaultdict

import pytest
from ownmark.errors import NotAProtocol
from ownmark.records.abilities import IMPLIED, MOVEMENTS, NEEDS, SENSES, with_implied
from ownmark.records.catalogue import Family, catalogue, copy, entries, entry_of, families
from ownmark.records.catalogue.loading import TRANSFER, entry_from
from ownmark.records.texts import ENTRY, TEXT
from ownmark.words.render import LANGUAGES, texts

from tests.each import for_each

ALL = list(entries().values())
AEROBIC = [each for each in ALL if each.protocol.component == "aerobic"]
SENTENCE = texts("en")[TRANSFER]
LADDERS = {
    "chair-push": [
        {"chair-set-distance"},
        {"manual-chair-distance"},
        {"chair-part-distance", "chair-push-guided"},
        {"chair-push-stretches"},
        {"chair-push-one-side"},
    ],
    "walking-device": [
        {"walk-with-crutches", "walk-with-walker"},
        {"gait-trainer-walk"},
        {"walk-device-stretches"},
    ],
    "shuttle": [
        {"shuttle-visible-signal"},
        {"shuttle-slower-signal", "shuttle-more-time"},
        {"shuttle-square-turns", "shuttle-wide-turns"},
        {"shuttle-own-pace"},
        {"shuttle-hand-held"},
    ],
    "guided-run": [{"run-with-prompts"}, {"peer-paced-run"}, {"tethered-run"}, {"walk-hand-held"}],
    "floor-travel": [{"crawl-lane"}, {"scoot-lane"}, {"scooter-or-rolling"}],
    "cranks": [
        {"trike-distance"},
        {"hand-cycle-distance"},
        {"arm-crank-steady"},
        {"arm-crank-own-rhythm"},
        {"arm-crank-stretches"},
    ],
    "repeated-movement": [
        {"seated-jacks-set-rhythm"},
        {"seated-jacks-own-rhythm", "arm-circles-set-rhythm"},
        {"arm-movement-sustained", "seated-leg-march"},
        {"trunk-rocking"},
        {"lying-movement"},
        {"head-switch-task"},
        {"eye-switch-task"},
    ],
    "power-chair": [{"power-chair-distance"}, {"power-chair-slalom"}],
    "breath": [{"breath-driven-task"}, {"breath-longest-blow"}],
}
TABLE = {
    "title": "A test",
    "component": "strength",
    "task": "Lift it.",
    "primary_figure": "lifts",
    "better": "higher",
    "family": "grip",
    "step": 2,
    "gives_up": "Much.",
    "hand_measures": [
        {
            "name": "lifts",
            "unit": "repetitions",
            "kind": "count",
            "sides": False,
            "attempts": 1,
            "how": "Each counts one.",
            "basis": "common practice",
        }
    ],
}


OTHER_SEATS = frozenset(
    {
        *("chair-set-distance", "chair-push-ups", "chair-push-up-hold", "figure-of-eight", "side-reach-down"),
        *("side-reach-touch-marks", "seated-trunk-rotation", "turn-and-touch"),
    }
)
"""Seated tests that can be done from a bench, a stool or another chair too, by their set-up."""
ORDERS = frozenset({"Drive", "Touch"})
"""How instructions begin that command without saying “you”."""
RANKING = (
    r"norm(s|al|ative)?|percentiles?|cut-?offs?|z-?scores?|rank(s|ed|ing)?|grades?|averages?|age group|standard|typical"
    r"|(than|beside|like) (other|most) (students|children)|fail(s|ed)?|healthy|battery of"
)
"""Words of a comparison with others, or of a verdict."""
BRAND = r"[™®©]|\b(Inc|Ltd|GmbH)\b|\w*[a-z][A-Z]\w*|\b[A-Za-z]+\d+\w*|\b[A-Z]{2,}\b"
"""How names of makers and models look: signs, company forms, capitals inside a word, digits in it, abbreviations."""


def told(entry):
    """Every sentence and every list that an entry says to a teacher."""
    protocol = entry.protocol
    sentences = (
        *(protocol.task, protocol.set_up, protocol.instructions, protocol.practice, protocol.rests_allowed),
        *(protocol.device, protocol.surface, protocol.resistance, protocol.movement_range, protocol.why),
        *(protocol.comparable, protocol.cannot_say, entry.gives_up, *protocol.write_down, *protocol.ask),
        *(*protocol.cautions, *(each.how for each in protocol.hand_measures)),
    )
    return [each for each in sentences if each]


def named(entry):
    return entry.name


def test_the_aerobic_ladders_are_whole():
    found = defaultdict(lambda: defaultdict(set))
    for each in AEROBIC:
        found[each.family][each.step].add(each.name)
    assert {family: [steps[step] for step in sorted(steps)] for family, steps in found.items()} == LADDERS


def test_every_family_has_tests_of_its_own_component_and_a_ladder_from_step_1_without_a_gap():
    found = defaultdict(set)
    for each in ALL:
        found[each.family].add(each.step)
        assert families()[each.family].component == each.protocol.component
    assert set(found) == set(families())
    assert all(sorted(steps) == list(range(1, len(steps) + 1)) for steps in found.values())


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_family_movement_sense_and_need_has_its_word(language):
    known = texts(language)
    assert all(f"family.{name}" in known for name in families())
    assert all(f"movement.{each}" in known for each in MOVEMENTS)
    assert all(f"{section}.{each}" in known for section in ("sense", "sense_said") for each in SENSES)
    assert all(f"need.{each}" in known for each in NEEDS)
    own = {key for key in known if key.startswith(("family.", "movement.", "need."))}
    assert len(own) == len(families()) + len(MOVEMENTS) + len(NEEDS)


def test_the_english_title_of_a_family_is_the_one_of_its_own():
    assert [name for name, each in families().items() if texts("en")[f"family.{name}"] != each.title] == []


@for_each(ALL, name=named)
def test_each_entry_is_complete(entry):
    protocol = entry.protocol
    sentences = (protocol.task, protocol.set_up, protocol.instructions, protocol.practice, protocol.why)
    if protocol.component != "aerobic" and protocol.practice is None:
        sentences = tuple(each for each in sentences if each is not None)
    sentences += (protocol.comparable, protocol.cannot_say, entry.gives_up)
    assert all(each and each[0].isupper() and each.endswith(".") for each in sentences)
    assert len(set(sentences)) == len(sentences)
    assert len(protocol.write_down) >= 3
    assert protocol.ask
    assert all(each.endswith("?") for each in protocol.ask)
    assert entry.moves_all or entry.moves_any
    assert entry.helps


@for_each(ALL, name=named)
def test_instructions_speak_to_the_student(entry):
    said = entry.protocol.instructions or ""
    assert not re.search(r"\b(students?|he|she|child|pupil)\b", said, re.IGNORECASE)
    assert re.search(r"\b(you|your)\b", said, re.IGNORECASE) or said.split()[0] in ORDERS


@for_each(ALL, name=named)
def test_no_entry_knows_a_norm_a_brand_or_a_promise(entry):
    whole = [*told(entry), entry.protocol.title]
    assert [each for each in whole if re.search(BRAND, each)] == []
    names = [found for each in whole for found in re.findall(r"(?<=[a-z,;:] )[A-Z][\w-]*", each) if found != "I"]
    assert names == []  # a name of a maker stands with a capital amid a sentence
    assert [
        each for each in (*whole, *entry.bases.values()) if re.search(rf"\b({RANKING})\b", each, re.IGNORECASE)
    ] == []
    assert [
        each for each in (*whole, *entry.bases.values()) if re.search(r"[™®©]|\bsafe(ly|ty)?\b", each, re.IGNORECASE)
    ] == []


@for_each(ALL, name=named)
def test_each_has_a_caution_of_its_own_and_says_nothing_twice_to_write_down(entry):
    protocol = entry.protocol
    cautions = [each for each in protocol.cautions if each != SENTENCE]
    assert cautions
    assert all(each.endswith(".") for each in protocol.cautions)
    assert len(set(protocol.write_down)) == len(protocol.write_down)


@pytest.mark.parametrize(
    ("text", "rule"),
    [
        *(("Use the Fitmaker band.", "name"), ("Use the gymPad.", "brand"), ("Set the R2 to ten.", "brand")),
        *(("More than most students.", "ranking"), ("The 10th percentile.", "ranking"), ("Above the norm.", "ranking")),
    ],
)
def test_a_name_or_a_norm_would_be_found(text, rule):
    found = {
        "name": re.search(r"(?<=[a-z,;:] )[A-Z][\w-]*", text),
        "brand": re.search(BRAND, text),
        "ranking": re.search(rf"\b({RANKING})\b", text, re.IGNORECASE),
    }
    assert found[rule]


@for_each(ALL, name=named)
def test_the_way_of_measuring_has_a_basis(entry):
    assert set(entry.bases) == {each.name for each in entry.protocol.hand_measures}
    for basis in entry.bases.values():
        assert re.search(r"common practice|from memory|published|\(\w+ (19|20)\d\d\)|doi 10\.", basis), basis


@for_each(ALL, name=named)
def test_words_of_an_entry_do_not_contradict_each_other(entry):
    helps, senses, protocol = set(entry.helps), set(entry.senses), entry.protocol
    assert not (entry.both_sides and "one-side" in helps)
    assert not ("stay-in-chair" in helps and "leave-chair" in entry.moves_all)
    assert not ("touch-signal" in helps and senses & {"see", "hear"})
    assert not (protocol.pacing in ("set rhythm", "set speed") and "own-pace" in helps)
    assert not (protocol.pacing == "own pace" and "rhythm" in senses)
    assert len(helps) == len(entry.helps)
    if protocol.pacing == "own pace":
        assert "own-pace" in helps
    if protocol.limbs in ("left", "right", "in turn"):
        assert not entry.both_sides


@for_each(ALL, name=named)
def test_the_transfer_is_asked_about_wherever_one_can_happen_and_nowhere_else(entry):
    on_a_device = "walk-device" in (*entry.moves_all, *entry.moves_any)  # up from the chair, and back at the end
    lying = "lying" in entry.helps  # who needs to lie is brought there
    other_seat = entry.name in OTHER_SEATS
    assert entry.transfer is ("leave-chair" in entry.moves_all or on_a_device or lying or other_seat)
    assert entry.protocol.cautions.count(SENTENCE) == entry.transfer


def test_a_set_up_that_lets_the_student_sit_elsewhere_asks_about_the_transfer():
    named = re.compile(r"\b(stool|bench|a firm chair|racing chair)\b")
    seated = {each.name for each in ALL if "stay-in-chair" in each.helps and named.search(each.protocol.set_up or "")}
    assert seated == OTHER_SEATS


@for_each(ALL, name=named)
def test_the_student_is_told_how_many_attempts_there_are_and_may_stop(entry):
    said = entry.protocol.instructions or ""
    for measure in entry.protocol.hand_measures:
        assert {1: "", 2: "You have two goes", 3: "You have three goes"}[measure.attempts] in said
    if "until I call stop" in said:
        assert re.search(r"\b(stop|rest|walk)\b[^.]* when(ever)? you want\b", said, re.IGNORECASE)


LATEX = {"rope-pull-in", "seated-ball-push", "roll-out", "figure-of-eight", "ball-sit", "seated-trunk-rotation"}
LATEX |= {"chest-press-band", "seated-band-press", "squeeze-and-hold"}
OVERHEAD = {"seated-jacks-set-rhythm", "seated-jacks-own-rhythm", "arm-circles-set-rhythm", "arm-movement-sustained"}
OVERHEAD |= {"arm-raise-to-front", "arm-raise-to-side", "arm-slide-lying"}


@pytest.mark.parametrize(
    ("caution", "wanted"),
    [
        # Trade: an allergy to latex is common with spina bifida; balls, bands, bulbs and gloves can hold it.
        ("No latex where an allergy is known.", LATEX),
        # Trade: tubing of a shunt or a feeding tube can pull where an arm goes overhead.
        ("Watch tubes and straps near the arm.", OVERHEAD),
        # Trade: anti-tip device, clear run-off, a spotter who knows how to stop the chair.
        (
            "Anti-tip device fitted, and the adult beside the course knows how to stop the chair.",
            {"power-chair-distance", "power-chair-slalom"},
        ),
        # Trade: no forced bending of a neck that is not stable, which every curl of the trunk does.
        (
            "Never with a neck that must not bend forward: ask the therapist.",
            {each.name for each in ALL if each.family == "curl-up"} - {"kneeling-rock"},
        ),
    ],
)
def test_a_caution_stands_on_every_test_that_it_belongs_to(caution, wanted):
    assert {each.name for each in ALL if caution in each.protocol.cautions} == wanted


def test_every_curl_of_the_trunk_asks_about_the_neck_first():
    curls = [each for each in ALL if each.family == "curl-up" and each.name != "kneeling-rock"]
    assert [each.name for each in curls if not any("neck" in one for one in each.protocol.ask)] == []


def test_a_beat_is_the_rhythm_that_is_set_or_the_task_says_how_they_belong_together():
    curl, jacks = entries()["curl-up-thigh-slide"].protocol, entries()["seated-jacks-set-rhythm"].protocol
    # 25 curl-ups a minute (Sparling 1997) with a beat for up and one for down: 50 beats a minute.
    assert "at twice the set rhythm gives the beat: up on one beat, down on the next" in curl.set_up
    # Thirty jacks a minute make the most of 120 in four minutes: a beat to a jack.
    assert "one whole jack to a beat" in jacks.set_up


@pytest.mark.parametrize(
    ("name", "counted"),
    [
        ("seated-forward-reach", "mean of three trials"),  # Lynch 1998: the average of the three recorded trials
        ("seated-trunk-rotation", "mean of three to each side"),  # 2012, J Athl Train 47:52-60: averages were used
        ("mat-forward-reach", "the best of three counts there, the mean here"),
    ],
)
def test_a_basis_says_which_of_the_attempts_counts_and_no_card_promises_the_best(name, counted):
    (basis,) = entries()[name].bases.values()
    assert counted in basis
    others = [text for each in ALL if each.name != name for text in each.bases.values()]
    assert not any(re.search(r"\bbest (of|counts?)\b", text) for text in others if "the mean here" not in text)


def test_which_limbs_work_is_proposed_only_where_the_device_is_one():
    # Crutches share the work with the arms, a gait trainer does not: with any device it is open until it is set.
    assert entries()["walk-device-stretches"].protocol.work_mode is None
    assert entries()["walk-with-crutches"].protocol.work_mode == "arms and legs"
    assert entries()["gait-trainer-walk"].protocol.work_mode == "legs"


@for_each(AEROBIC, name=named)
def test_a_work_phase_is_as_long_as_the_task_and_lengths_have_a_course(entry):
    protocol = entry.protocol
    assert protocol.work_s == protocol.duration_s
    if protocol.primary_figure == "lengths":
        assert protocol.course_length_m
    if protocol.primary_figure == "course_time":
        assert protocol.distance_m
        assert protocol.better == "lower"
    if protocol.place == "stationary":
        assert not protocol.course_length_m
        assert not protocol.distance_m


def test_a_copy_finds_its_entry_again_and_a_protocol_of_ones_own_has_none():
    mine = copy("tethered-run", "run-track")
    assert entry_of(mine) is entries()["tethered-run"]
    assert entry_of(mine.model_copy(update={"version": 4, "title": "Mine"})) is entries()["tethered-run"]
    assert entry_of(mine.model_copy(update={"from_catalogue": None})) is None
    assert entry_of(mine.model_copy(update={"from_catalogue": "gone"})) is None
    assert (mine.comparable, mine.cannot_say, mine.ask) == (
        entries()["tethered-run"].protocol.comparable,
        entries()["tethered-run"].protocol.cannot_say,
        entries()["tethered-run"].protocol.ask,
    )


def test_the_catalogue_is_the_protocols_of_the_entries():
    assert list(catalogue()) == list(entries())
    assert all(catalogue()[name] is each.protocol for name, each in entries().items())


def test_a_table_becomes_a_test():
    found = entry_from("lift", TABLE)
    assert (found.name, found.family, found.step, found.gives_up) == ("lift", "grip", 2, "Much.")
    assert (found.moves_all, found.transfer, dict(found.bases)) == ((), False, {"lifts": "common practice"})
    assert found.protocol.cautions == ()
    assert not hasattr(found.protocol.hand_measures[0], "basis")


def test_a_table_with_a_transfer_has_the_sentence_first():
    assert entry_from("lift", {**TABLE, "transfer": True, "cautions": ["Brakes on."]}).protocol.cautions == (
        SENTENCE,
        "Brakes on.",
    )


@pytest.mark.parametrize(
    ("changes", "told"),
    [
        ({"step": 0}, "step"),
        ({"gives_up": ""}, "gives_up"),
        ({"moves_all": ["wings"]}, "wings"),
        ({"senses": ["taste"]}, "taste"),
        ({"helps": ["magic"]}, "magic"),
        ({"colour": "red"}, "no field “colour”"),
        ({"family": None}, "family"),
    ],
)
def test_a_table_with_a_wrong_fact_is_refused(changes, told):
    with pytest.raises(NotAProtocol, match=re.escape(told)):
        entry_from("lift", {**TABLE, **changes})


def test_what_a_step_gives_up_is_an_entry_and_no_essay():
    assert entry_from("lift", {**TABLE, "gives_up": "x" * ENTRY}).gives_up == "x" * ENTRY
    assert entry_from("lift", {**TABLE, "gives_up": "x"}).gives_up == "x"
    with pytest.raises(NotAProtocol, match="501 letters"):
        entry_from("lift", {**TABLE, "gives_up": "x" * (ENTRY + 1)})
    family = {"name": "grip", "title": "Grip", "component": "strength", "about": "x" * TEXT, "unadapted": "x" * ENTRY}
    assert Family.model_validate(family).about == "x" * TEXT
    with pytest.raises(NotAProtocol):
        Family.model_validate({**family, "unadapted": "x" * (ENTRY + 1)})


def test_a_test_without_hand_measures_needs_no_basis():
    bare = {**TABLE, "component": "aerobic", "primary_figure": "moving_time"}
    del bare["hand_measures"]
    assert dict(entry_from("lift", bare).bases) == {}
    with pytest.raises(NotAProtocol, match="hand_measures"):
        entry_from("lift", {**TABLE, "hand_measures": 3, "primary_figure": "moving_time"})


def test_a_hand_measure_without_a_basis_is_refused():
    bare = [{key: value for key, value in TABLE["hand_measures"][0].items() if key != "basis"}]
    with pytest.raises(NotAProtocol, match="does not say where its way of measuring comes from"):
        entry_from("lift", {**TABLE, "hand_measures": bare})


def test_what_goes_without_saying():
    assert with_implied(()) == frozenset()
    assert with_implied(("head",)) == {"head"}
    assert with_implied(("push-chair",)) == {"push-chair", "arms"}
    assert with_implied(("walk", "head")) == {"walk", "legs", "leave-chair", "head"}
    assert with_implied(("walk-device",)) == {"walk-device", "legs"}
    assert with_implied(("drive-chair",)) == {"drive-chair"}
    assert set(IMPLIED) <= set(MOVEMENTS)


def test_a_measure_that_the_task_ends_says_its_most():
    # By hand out of the tasks: "at most two minutes", "six times", four minutes of thirty jacks.
    most = {
        each.name: measure.limit for each in ALL for measure in each.protocol.hand_measures if measure.limit is not None
    }
    assert most == {
        "walk-device-stretches": 6,
        "seated-jacks-set-rhythm": 4 * 30,
        "plank-hold": 2 * 60,
        "chair-push-up-hold": 30,
        "ball-sit": 60,
        "sit-without-support": 2 * 60,
        "head-up-seated": 2 * 60,
    }
    held = [each for each in ALL for one in each.protocol.hand_measures if one.kind == "hold time"]
    assert all("at most" not in (each.protocol.task or "") or each.name in most for each in held)
