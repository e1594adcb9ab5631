"""Conditions that change what a heart rate means, and the cautions that go with them.

Two questions are settled here and nowhere else: may a maximum be predicted from age, and may figures that rest on
the reserve (percent of reserve, time in zones, training impulse) be given at all. A maximum measured in the same
kind of exercise answers the first and keeps the caution; it does not help where the rate does not follow effort.
Rise over rest, beats above rest, movement and perceived exertion are never blocked.
Grounds: which conditions forbid a prediction, and the cautions, are practice as collected from guidelines and
first-aid pages; peak rates after cervical injury and with a transplant are published (Vivodtzev & Taylor 2021,
Pokan 2004), and so are the heart in muscular dystrophy (Bartels 2015, Thomas 2012) and what a stimulant does to heart
rate in exercise (Mahon 2008). What is only from memory is marked so.
"""

import difflib
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from ..errors import BasisError

GENERAL_CAUTIONS = (
    "A measuring aid for teachers, not a medical device: it cannot say that exercise is safe.",
    "The student's physician, therapist and written plan decide; local policy and licensed practice come first.",
    "Stop when the student asks in any way, or with chest pain, faintness, confusion, unusual breathlessness, loss of"
    " coordination or a color change, or when a sensor fails that the plan requires.",
)

POWER_CHAIR_CAUTION = (
    "Power chair: charged battery, the agreed speed setting, belt fastened, a clear course and a spotter."
)

ARMS_ONLY_CAUTION = (
    "Arm work peaks lower than leg work by an unknown amount, so zones drawn for the legs read too low here: look"
    " first at the rise over rest, beats above rest and movement."
)

_DYSREFLEXIA = (
    "A pounding headache, flushing or sweating above the injury, a slow pulse or very high blood pressure can be"
    " autonomic dysreflexia, a medical emergency: sit the student up and never flat, loosen anything tight, look at"
    " bladder, bowel and skin, call for help as the plan says. A sudden fall in heart rate is an alarm too, and the"
    " recording cannot rule it out."
)
_HEAT_BELOW_INJURY = "Heat: sweating fails below the injury; note the room temperature, offer a fan and water spray."
_HEAT = "Heat: note the room temperature, offer a fan and water spray, and pause early."
_SKIN = "Relieve pressure as the plan says, and look at the skin under straps and sensors afterwards."
_SHUNT = (
    "Shunt: no blows to the head; headache, vomiting, sleepiness or a change in sight or behavior needs medical help"
    " at once."
)
_NECK = "Neck: no forced bending, no rolls; stop for neck pain, a tilted head, weakness or a change in gait or hands."
_SAME_MEDICINE = "Compare only trials with the same medicine, dose and time since the dose."
_LATEX = "Latex: none in bands, balls, tape, gloves or sensor straps."
_CARDIOLOGY = "Follow the cardiology plan; an upper limit for heart rate comes from it and from nowhere else."
_HIGH_INJURY = (
    "After a spinal cord injury at T6 or above heart rate may not follow effort, and its peak can be far lower than"
    " age predicts"
)
_HIGH_INJURY_CAUTIONS = (
    _DYSREFLEXIA,
    _HEAT_BELOW_INJURY,
    "Blood pressure can drop after hard work: end it gradually and stay for ten minutes.",
    "Even with a measured peak, zones can understate effort after an injury of the neck.",
    _SKIN,
)


@dataclass(frozen=True, slots=True)
class Condition:
    """One condition.

    blocks_prediction : no maximum may be predicted from age
    blocks_in_arms : none may be predicted for work of the arms or in a power chair
    blocks_reserve : no figure of the reserve is given, even with a measured maximum
    sets_rate : a device sets the rate, so that one which stands still to the beat is no fault of a sensor
    reason : sentence on what it does to a heart-rate figure, empty if nothing
    cautions : short sentences that every output carries
    """

    name: str
    title: str
    blocks_prediction: bool = False
    blocks_in_arms: bool = False
    blocks_reserve: bool = False
    sets_rate: bool = False
    reason: str = ""
    cautions: tuple[str, ...] = ()


_BLOCKING = (
    Condition(
        "spinal-injury-t6-or-above",
        "spinal cord injury at T6 or above",
        blocks_prediction=True,
        reason=f"{_HIGH_INJURY}.",
        cautions=_HIGH_INJURY_CAUTIONS,
    ),
    Condition(
        "spinal-injury-level-unknown",
        "spinal cord injury, level unknown",
        blocks_prediction=True,
        reason=f"{_HIGH_INJURY}; an injury of unknown level is treated as one of these.",
        cautions=_HIGH_INJURY_CAUTIONS,
    ),
    Condition(
        "rate-limiting-medicine",
        "beta-blocker or another medicine that limits heart rate",
        blocks_prediction=True,
        reason="The medicine holds heart rate down, so age does not tell the maximum.",
        cautions=(_SAME_MEDICINE,),
    ),
    Condition(
        "rate-raising-medicine",
        "stimulant or another medicine that raises heart rate",
        blocks_prediction=True,
        # Mahon 2008, 14 boys on and off a stimulant: 8 to 13 /min higher at the same work, oxygen uptake and perceived
        # exertion, and a higher peak. That is as much of a reserve as the class "light" is wide, and no equation was
        # made from people who take one.
        reason="The medicine raises heart rate, at the same effort and at the peak, so age does not tell the maximum.",
        cautions=(
            _SAME_MEDICINE,
            "Measure rest and maximum with the medicine as in the trial: a stimulant raised heart rate by 8 to 13"
            " beats a minute at the same work.",
        ),
    ),
    Condition(
        "pacemaker",
        "pacemaker",
        blocks_prediction=True,
        blocks_reserve=True,
        sets_rate=True,
        reason="With a pacemaker the device sets the heart rate, which then does not follow effort.",
        cautions=(_CARDIOLOGY,),
    ),
    Condition(
        "heart-transplant",
        "heart transplant",
        blocks_prediction=True,
        blocks_reserve=True,
        reason="A transplanted heart lags behind effort and its peak is not told by age.",
        cautions=(_CARDIOLOGY,),
    ),
    Condition(
        "heart-rhythm-disorder",
        "heart rhythm disorder",
        blocks_prediction=True,
        blocks_reserve=True,
        reason="With a rhythm disorder heart rate can rise and fall without a change in effort.",
        cautions=(_CARDIOLOGY,),
    ),
    Condition(
        "heart-condition",
        "heart disease",
        blocks_prediction=True,
        blocks_reserve=True,
        reason="With heart disease age does not tell the maximum.",
        cautions=(_CARDIOLOGY,),
    ),
    Condition(
        "autonomic-disorder",
        "autonomic disorder",
        blocks_prediction=True,
        reason="With an autonomic disorder heart rate may not follow effort, and age does not tell the maximum.",
        cautions=("Watch for faintness, above all when the student sits up or stops.",),  # common practice
    ),
    Condition(
        "muscular-dystrophy",
        "muscular dystrophy",
        blocks_prediction=True,
        # Bartels 2015: a cardiomyopathy in about 90 %, in Duchenne's in 59 % by the age of ten. Thomas 2012, 55 boys: a
        # higher rate at rest, which does not fall with age as in others.
        reason="In muscular dystrophy the heart is often affected and its peak with it, so age does not tell the"
        " maximum.",
        cautions=("The heart can be affected: ask whether the plan limits heart rate or effort.",),
    ),
)

_OTHERS = (
    Condition(
        "spinal-injury-below-t6",
        "spinal cord injury below T6",
        reason="After an injury at T7 or below heart rate follows effort nearly as usual.",
        cautions=(_HEAT_BELOW_INJURY, _SKIN),
    ),
    Condition(
        "cerebral-palsy",
        "cerebral palsy",
        reason="In youth with cerebral palsy age did not tell the maximum; spasm and excitement raise heart rate.",
    ),
    Condition(
        "down-syndrome",
        "Down syndrome",
        reason="The maximum is lower than the usual equations say.",
        cautions=(_NECK,),
    ),
    Condition(
        "intellectual-disability",
        "intellectual disability",
        reason="The maximum is lower than the usual equations say.",
    ),
    Condition(
        "spina-bifida",
        "spina bifida",
        blocks_in_arms=True,
        # Bloemen 2015: young wheelchair users, 165 /min in wheelchair propulsion and 150 in arm cranking.
        reason="In arm work the peak of young people with spina bifida lay at 150 to 165 beats a minute and changed"
        " with the task, so age does not tell it: take rest and maximum in the same task.",
        cautions=(
            _LATEX,
            _SHUNT,
            _SKIN,
            "Ask whether the plan names autonomic dysreflexia: it can occur with a high lesion.",
        ),
    ),
    Condition(
        "epilepsy",
        "epilepsy",
        cautions=(
            "Seizure: stay, stop and brake the chair, protect the head, time it, put nothing in the mouth; call for"
            " help as the plan says, at the latest after 5 minutes.",
        ),
    ),
    Condition("shunt", "shunt", cautions=(_SHUNT,)),
    Condition("neck-instability", "neck instability", cautions=(_NECK,)),
    Condition(
        "brittle-bones",
        "brittle bones",
        cautions=("Brittle bones: no pulling by the hand, no sudden stops; the therapist approves any resistance.",),
    ),
    Condition("latex-allergy", "latex allergy", cautions=(_LATEX,)),
    Condition("heat-sensitive", "sensitive to heat", cautions=(_HEAT,)),
)

CONDITIONS: Mapping[str, Condition] = MappingProxyType({each.name: each for each in (*_BLOCKING, *_OTHERS)})
"""Every condition by its name."""

_SPINAL_LEVELS = {
    **{f"c{level}": "spinal-injury-t6-or-above" for level in range(1, 9)},
    **{f"t{level}": "spinal-injury-t6-or-above" for level in range(1, 7)},
    **{f"t{level}": "spinal-injury-below-t6" for level in range(7, 13)},
    **{f"{part}{level}": "spinal-injury-below-t6" for part in "ls" for level in range(1, 6)},
}

ALIASES: Mapping[str, str] = MappingProxyType(
    {
        **_SPINAL_LEVELS,
        **{f"sci-{level}": name for level, name in _SPINAL_LEVELS.items()},
        "sci": "spinal-injury-level-unknown",
        "spinal-cord-injury": "spinal-injury-level-unknown",
        "spinal-injury": "spinal-injury-level-unknown",
        "beta-blocker": "rate-limiting-medicine",
        "beta-blockers": "rate-limiting-medicine",
        "rate-limiting-medication": "rate-limiting-medicine",
        "rate-raising-medication": "rate-raising-medicine",
        "stimulant": "rate-raising-medicine",
        "stimulants": "rate-raising-medicine",
        "transplant": "heart-transplant",
        "arrhythmia": "heart-rhythm-disorder",
        "heart-disease": "heart-condition",
        "dysautonomia": "autonomic-disorder",
        "cp": "cerebral-palsy",
        "ds": "down-syndrome",
        "id": "intellectual-disability",
        "seizures": "epilepsy",
        "atlantoaxial-instability": "neck-instability",
        "osteogenesis-imperfecta": "brittle-bones",
        "latex": "latex-allergy",
    }
)
"""Other words for the same condition. Nothing that could mean two of them is here."""


def find_condition(name: str) -> Condition:
    """Condition by its name or an alias; capitals, spaces and underscores do not matter.

    Raises
    ------
    BasisError
        If it is unknown, with the nearest names and all names. It is never passed over: a condition that was
        misspelt could be one that forbids a figure.
    """
    plain = "-".join(name.lower().replace("_", " ").replace("-", " ").split())
    found = CONDITIONS.get(ALIASES.get(plain, plain))
    if found is not None:
        return found
    close = difflib.get_close_matches(plain, [*CONDITIONS, *ALIASES], n=3, cutoff=0.5)
    nearest = dict.fromkeys(ALIASES.get(each, each) for each in close)
    hint = f"Did you mean {' or '.join(nearest)}? " if nearest else ""
    raise BasisError(f"the condition {name!r} is not known.", mend=f"{hint}All names: {', '.join(CONDITIONS)}.")
