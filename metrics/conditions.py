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

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from ..errors import BasisError
from ..words.message import Message
from ..words.render import Words
from .messages import heart_rate as say

GENERAL_CAUTIONS = (say.CAUTION_DEVICE, say.CAUTION_DECIDE, say.CAUTION_STOP)
POWER_CHAIR_CAUTION = say.CAUTION_POWER_CHAIR
ARMS_ONLY_CAUTION = say.CAUTION_ARMS
_HIGH_INJURY_CAUTIONS = (
    say.CAUTION_DYSREFLEXIA,
    say.CAUTION_HEAT_BELOW,
    say.CAUTION_PRESSURE_DROP,
    say.CAUTION_NECK_INJURY_ZONES,
    say.CAUTION_SKIN,
)


@dataclass(frozen=True, slots=True)
class Condition:
    """One condition.

    blocks_prediction : no maximum may be predicted from age
    blocks_in_arms : none may be predicted for work of the arms or in a power chair
    blocks_reserve : no figure of the reserve is given, even with a measured maximum
    sets_rate : a device sets the rate, so that one which stands still to the beat is no fault of a sensor
    reason : what it does to a heart-rate figure, None if nothing
    cautions : what every output carries
    """

    name: str
    blocks_prediction: bool = False
    blocks_in_arms: bool = False
    blocks_reserve: bool = False
    sets_rate: bool = False
    reason: Message | None = None
    cautions: tuple[Message, ...] = ()

    @property
    def title(self) -> str:
        """Its name in English words."""
        return Words("en").get(f"condition.{self.name}")


_BLOCKING = (
    Condition(
        "spinal-injury-t6-or-above",
        blocks_prediction=True,
        reason=say.REASON_HIGH_INJURY,
        cautions=_HIGH_INJURY_CAUTIONS,
    ),
    Condition(
        "spinal-injury-level-unknown",
        blocks_prediction=True,
        reason=say.REASON_UNKNOWN_INJURY,
        cautions=_HIGH_INJURY_CAUTIONS,
    ),
    Condition(
        "rate-limiting-medicine",
        blocks_prediction=True,
        reason=say.REASON_MEDICINE,
        cautions=(say.CAUTION_SAME_MEDICINE,),
    ),
    Condition(
        "rate-raising-medicine",
        blocks_prediction=True,
        # Mahon 2008, 14 boys on and off a stimulant: 8 to 13 /min higher at the same work, oxygen uptake and perceived
        # exertion, and a higher peak. That is as much of a reserve as the class "light" is wide, and no equation was
        # made from people who take one.
        reason=say.REASON_RAISING,
        cautions=(
            say.CAUTION_SAME_MEDICINE,
            say.CAUTION_RAISING,
        ),
    ),
    Condition(
        "pacemaker",
        blocks_prediction=True,
        blocks_reserve=True,
        sets_rate=True,
        reason=say.REASON_PACEMAKER,
        cautions=(say.CAUTION_CARDIOLOGY,),
    ),
    Condition(
        "heart-transplant",
        blocks_prediction=True,
        blocks_reserve=True,
        reason=say.REASON_TRANSPLANT,
        cautions=(say.CAUTION_CARDIOLOGY,),
    ),
    Condition(
        "heart-rhythm-disorder",
        blocks_prediction=True,
        blocks_reserve=True,
        reason=say.REASON_RHYTHM,
        cautions=(say.CAUTION_CARDIOLOGY,),
    ),
    Condition(
        "heart-condition",
        blocks_prediction=True,
        blocks_reserve=True,
        reason=say.REASON_HEART_DISEASE,
        cautions=(say.CAUTION_CARDIOLOGY,),
    ),
    Condition(
        "autonomic-disorder",
        blocks_prediction=True,
        reason=say.REASON_AUTONOMIC,
        cautions=(say.CAUTION_FAINT,),  # common practice
    ),
    Condition(
        "muscular-dystrophy",
        blocks_prediction=True,
        # Bartels 2015: a cardiomyopathy in about 90 %, in Duchenne's in 59 % by the age of ten. Thomas 2012, 55 boys: a
        # higher rate at rest, which does not fall with age as in others. Lott 2020, Muscle Nerve 63:320:
        # muscle that is easily damaged, while mild to moderate holding work did no harm in eighteen boys. That braking
        # work harms most, and dark urine, are from memory.
        reason=say.REASON_MUSCLE,
        cautions=(say.CAUTION_HEART_MUSCLE, say.CAUTION_MUSCLE_WORK),
    ),
)

_OTHERS = (
    Condition(
        "spinal-injury-below-t6",
        reason=say.REASON_LOW_INJURY,
        cautions=(say.CAUTION_HEAT_BELOW, say.CAUTION_SKIN),
    ),
    Condition(
        "cerebral-palsy",
        reason=say.REASON_CEREBRAL_PALSY,
    ),
    Condition(
        "down-syndrome",
        reason=say.REASON_LOWER_MAXIMUM,
        cautions=(say.CAUTION_NECK,),
    ),
    Condition(
        "intellectual-disability",
        reason=say.REASON_LOWER_MAXIMUM,
    ),
    Condition(
        "spina-bifida",
        blocks_in_arms=True,
        # Bloemen 2015: young wheelchair users, 165 /min in wheelchair propulsion and 150 in arm cranking.
        reason=say.REASON_SPINA_BIFIDA,
        cautions=(
            say.CAUTION_LATEX,
            say.CAUTION_SHUNT,
            say.CAUTION_SKIN,
            say.CAUTION_LESION,
        ),
    ),
    Condition(
        "epilepsy",
        cautions=(say.CAUTION_SEIZURE,),
    ),
    Condition("shunt", cautions=(say.CAUTION_SHUNT,)),
    Condition("neck-instability", cautions=(say.CAUTION_NECK,)),
    Condition(
        "brittle-bones",
        cautions=(say.CAUTION_BONES,),
    ),
    Condition(
        "breathing-support",
        cautions=(say.CAUTION_BREATHING, say.CAUTION_BREATHING_STOP),  # common practice
    ),
    Condition("latex-allergy", cautions=(say.CAUTION_LATEX,)),
    Condition("heat-sensitive", cautions=(say.CAUTION_HEAT,)),
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
        "ventilator": "breathing-support",
        "tracheostomy": "breathing-support",
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
    import difflib  # only for a name that is mistyped

    close = difflib.get_close_matches(plain, [*CONDITIONS, *ALIASES], n=3, cutoff=0.5)
    nearest = dict.fromkeys(ALIASES.get(each, each) for each in close)
    hint = f"Did you mean {' or '.join(nearest)}? " if nearest else ""
    raise BasisError(f"the condition {name!r} is not known.", mend=f"{hint}All names: {', '.join(CONDITIONS)}.")
