"""Codes of HL7 FHIR exports: LOINC and UCUM where they have one, our own where they have none.

Our own code systems are names, not addresses: nobody is asked for them, and they belong to nobody else.
"""

import re
from typing import Any

from ...metrics.message_codes import code_of
from ...metrics.messages.heart_rate import NOT_PERFORMED
from ...words.message import Message
from ...words.render import english
from ...words.vocabulary import FIGURES

UCUM = "http://unitsofmeasure.org"
LOINC = "http://loinc.org"
CATEGORIES = "http://terminology.hl7.org/CodeSystem/observation-category"
ABSENT = "http://terminology.hl7.org/CodeSystem/data-absent-reason"
OWN_FIGURE = "urn:ownmark:figure"
OWN_HAND = "urn:ownmark:hand-measure"
OWN_PART = "urn:ownmark:part"
"""Codes: trial, rest; attempt; low and high (the recorder would not be beyond without a loss), coverage (%)."""
OWN_STUDENT = "urn:ownmark:student"
OWN_TRIAL = "urn:ownmark:trial"

MEAN = ("103205-1", "Mean heart rate")
"""The mean over an unspecified time by the method "Measured": LOINC 2.82, as published FHIR value sets quote it
(the Fiji/Pacific Core guide 0.2.1 lists it with this display beside 8867-4); component "Heart rate.mean"."""
MEAN_OVER_ACTIVITY = ("55425-3", "Heart rate unspecified time mean by Pedometer")
"""The code that HL7's Physical Activity guide 1.0 gives the mean over one activity, whatever the sensor. It stays
beside the other, whose display fits every sensor, for those who look for this one.

The vital-sign code 8867-4 is not used: it is of a moment, not of a mean over work. 55426-1 (maximum) is not used: the
peak here is the highest 15 s mean, not the highest value.
"""
RESTING = ("40443-4", "Heart rate --resting")
"""In the same guide, for a rest that was measured."""
LOINC_CODES = {"heart_rate_mean": (MEAN, MEAN_OVER_ACTIVITY)}

_UCUM_OF = {"mg": "m[g]", "min": "min", "degrees": "deg", "°": "deg", "lb": "[lb_av]", "in": "[in_i]"}
"""Units that UCUM writes in another way. Thousandths of standard gravity are m[g]: mg would be milligrams."""
_SAME_IN_UCUM = {"1", "%", "s", "/min", "/m", "m", "cm", "mm", "km", "kg", "g", "N", "W", "deg", "m/s", "h"}


def ucum(unit: str) -> str | None:
    """The UCUM code of a unit; for things that are counted, as in gates, an annotation; None if it cannot be one."""
    if unit in _SAME_IN_UCUM:
        return unit
    if unit in _UCUM_OF:
        return _UCUM_OF[unit]
    return f"{{{unit}}}" if re.fullmatch(r"[!-z|~]+", unit) else None


def unit_fields(unit: str) -> dict[str, str]:
    """What a FHIR Quantity says of its unit: in words, and in UCUM where there is a code."""
    if not unit:
        return {}
    code = ucum(unit)
    return {"unit": unit} if code is None else {"unit": unit, "system": UCUM, "code": code}


def concept(system: str, code: str, text: str, *more: dict[str, str]) -> dict[str, Any]:
    """A FHIR CodeableConcept."""
    return {"coding": [*more, {"system": system, "code": code}], "text": text}


def loinc(code: tuple[str, str]) -> dict[str, str]:
    """A FHIR Coding of LOINC."""
    return {"system": LOINC, "code": code[0], "display": code[1]}


def figure_concept(name: str) -> dict[str, Any]:
    """What a figure is called, in words and codes."""
    entry = FIGURES.get(name)
    text = f"{name.replace('_', ' ')}: {entry.meaning}" if entry else name.replace("_", " ")
    more = map(loinc, LOINC_CODES.get(name, ()))
    return concept(OWN_FIGURE, name, text, *more)


def why_absent(reason: Message | None) -> dict[str, Any]:
    """Why there is no value, in FHIR's code and in words."""
    text = "Not given." if reason is None else english(reason)
    code = "not-performed" if code_of(reason) in NOT_PERFORMED else "unknown"
    return {"coding": [{"system": ABSENT, "code": code}], "text": text}
