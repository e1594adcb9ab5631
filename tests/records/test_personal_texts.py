"""Which notes are asked about: names, telephone numbers and mail addresses, and as little else as can be."""

import tomllib
from importlib.resources import files

import pytest
from ownmark.records.catalogue import catalogue
from ownmark.records.personal_texts import Personal, personal_in
from ownmark.words.render import FOLDER

HARMLESS = """
TH-11 tired after lap 3
TH-11 and 7B-04 shared a strap
left tire soft, pumped before the start
Gym was hot today, 29 degrees, windows open
Battery at 94 % at the start, 71 % at the end
Stopped at 09:14, wheel loose; went on at 09:16
Strap slipped twice, re-wet after 4:30
Math test right before, was excited
Came straight from Social Studies, no snack
Spanish class visited and cheered
New chair since Monday, seat 2 cm higher
Physical Therapy before class, arms tired
PE class outside, wind from the north
OT and PT both there
Nurse gave the inhaler at 08:40
Teacher held the left side
Mom was there and cheered
Mother says he slept badly
Therapist raised the footplate
Aide walked beside, no touching
Coach counted the laps
Used the Apple Watch as a second sensor
Polar strap, Garmin watch on the left wrist
Rifton gait trainer, size medium
Otto Bock chair, Quickie frame
Kaye walker with forearm rests
Allen key was needed for the footplate
Thomas splint on the right leg
Down syndrome clinic in the morning
Berg balance done the day before
Borg 13 at the end
Ran at Jackson Elementary, gym B
Track at Martin Luther King Middle School
North Hall, Room 12
Lake Washington course, flat
Field trip to Denver yesterday
May and June trials are the baseline
Will try again in April
Hope to do 12 laps next time
Joy stick replaced, same settings
Art project on the table, paint on the hands
Mark the start line with tape
Max speed set to 3
Rob from the shop? no: robbed of sleep
Pat on the back as a cue
Ray of sun in the eyes on the far side
Grant money bought the new strap
Chase game as a warm-up
Frank about being tired
100-1200 m marked on the floor
Heart rate 120-140 most of the time
Serial 8812345678 on the new strap
Course 3 x 100.5 m
2026-05-12 09:05-09:13 as planned
Medication as usual; methylphenidate 10 mg at 07:30
Beta blocker skipped, doctor knows
AFOs both sides, new shoes
Friday: assembly ran late, started at 10:15
Refused the last 2 minutes, sat down
Seizure at noon, rested 1 h
Wore a jacket
Same as last time
La niña se cansó, dio la vuelta en la marca
Que sean 8 minutos la próxima vez
El marco de la silla hace ruido
En julio hizo mucho calor
Con ella fue la terapeuta
Leo la señal en voz alta antes de cada vuelta
""".strip().splitlines()

NAMED = """
Maria was tired after lap 3
maria was tired after lap 3
Tyrone's chair was loose
Helped by Mrs. Whitcombe
Mr Okafor timed it
Dr. Patel said to stop at 150
Dr Halvorsen changed the ceiling
Ms. Lee pushed at the end
Asked Sra. Ibarra to translate
her brother Dashaun cheered
mom Keisha was there
classmate Jaxon ran beside
ran with Emily and Josh
Jordan Smith ran beside
Dashaun Johnson was the peer
Will Turner held the stopwatch
talked to Grace Lopez first
José lo animó
la maestra Guadalupe estaba
Coach Brzezinski counted
aide Tiffany held the left side
Sofía no quiso parar
""".strip().splitlines()

PHONES = """
call 555-0123 before the next test
(303) 555-0142 is the therapist
303-555-0142
303.555.0142 after school
phone +1 303 555 0142
móvil 612 3456
tel: 3035550142
+34 612 345 678
""".strip().splitlines()


@pytest.mark.parametrize("note", HARMLESS)
def test_a_usual_note_is_not_asked_about(note):
    assert personal_in(note) == ()


@pytest.mark.parametrize("note", NAMED)
def test_a_name_is_asked_about(note):
    assert [each.kind for each in personal_in(note)] == ["name"]


@pytest.mark.parametrize("note", PHONES)
def test_a_telephone_number_is_asked_about(note):
    assert "phone" in [each.kind for each in personal_in(note)]


def test_a_mail_address_is_asked_about_and_a_clock_time_is_none():
    assert personal_in("write to k.o+pe@school.example.org") == (Personal("mail"),)
    assert personal_in("worked @09:05-@09:13") == ()


def test_each_kind_is_told_once_and_of_a_name_its_first_letter():
    found = personal_in("Emily and Josh: 303-555-0142 or 303-555-0143")
    assert found == (Personal("phone"), Personal("name", "E"))
    assert personal_in("") == personal_in(" \n") == ()


def test_no_text_of_the_catalogue_or_of_a_page_is_asked_about():
    for protocol in catalogue().values():
        for text in protocol.model_dump().values():
            assert not isinstance(text, str) or personal_in(text) == (), text
    for language in ("en", "es"):
        for path in (FOLDER / language).glob("*.toml"):
            for section, texts in tomllib.loads(path.read_text(encoding="utf-8")).items():
                if section in ("source", "equation", "formula"):  # named for who found them
                    continue
                for text in texts.values():
                    assert not isinstance(text, str) or personal_in(text) == (), text


def test_a_name_stands_in_one_list_of_given_ones_only():
    lists = tomllib.loads((files("ownmark.records") / "names.toml").read_text(encoding="utf-8"))
    given, words = (set(lists[name].split()) for name in ("given", "word_too"))
    assert not given & words
    for names in lists.values():
        assert names.split() == sorted(set(names.split()))
