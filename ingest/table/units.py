"""Units as people write them in a column's header, and the factor to the unit that a stream has.

A unit is only what is written; nothing is assumed here.
"""

import math
import re
import unicodedata
from dataclasses import dataclass

STANDARD_GRAVITY = 9.80665
"""[m/s²], exact by definition: 3rd CGPM (1901), resolution 2 [from memory]."""


@dataclass(frozen=True, slots=True)
class Unit:
    """``value * times / over`` is the value in s, /min, g or deg/s; a division keeps 20 ms the float 0.02."""

    symbol: str
    measures: str
    times: float = 1.0
    over: float = 1.0


TIME, RATE, ACCELERATION, ANGULAR_RATE, OTHER = "time", "rate", "acceleration", "angular rate", "other"

SECOND = Unit("s", TIME)
MILLISECOND = Unit("ms", TIME, over=1e3)
MICROSECOND = Unit("µs", TIME, over=1e6)
NANOSECOND = Unit("ns", TIME, over=1e9)
GRAVITY = Unit("g", ACCELERATION)
MILLIGRAVITY = Unit("mg", ACCELERATION, over=1e3)
METRE_PER_SECOND_SQUARED = Unit("m/s²", ACCELERATION, over=STANDARD_GRAVITY)
DEGREE_PER_SECOND = Unit("deg/s", ANGULAR_RATE)
RADIAN_PER_SECOND = Unit("rad/s", ANGULAR_RATE, times=180 / math.pi)

_SPELLINGS: dict[Unit, str] = {
    SECOND: "s sec secs second seconds sek sekunde sekunden seg segundo segundos seconde secondes secondi",
    MILLISECOND: "ms msec msecs millis millisec millisecond milliseconds millisekunden milisegundos millisecondes"
    " mseconds milliseconde",
    MICROSECOND: "us usec usecs micros microsecond microseconds mikrosekunden microsegundos microsecondes",
    NANOSECOND: "ns nsec nanos nanosecond nanoseconds nanosekunden nanosegundos nanosecondes",
    Unit("min", TIME, times=60): "min mins minute minutes minuten minuto minutos minuti",
    Unit("h", TIME, times=3600): "h hour hours stunden horas heures",
    Unit("/min", RATE): "bpm /min 1/min min-1 1min-1 lpm ppm beats/min beat/min beatsperminute latidos/min lat/min"
    " latidosporminuto pulsaciones/min puls/min schlage/min schlageprominute batt/min battements/min bat/min p/min"
    " permin perminute",
    GRAVITY: "g gs gn g0 gforce",
    MILLIGRAVITY: "mg millig milligs",
    METRE_PER_SECOND_SQUARED: "m/s2 m/s/s m/sec2 ms-2 ms2 mps2 m/s**2",
    DEGREE_PER_SECOND: "deg/s °/s dps degree/s degrees/s deg/sec °/sec degs-1 degs degreespersecond grad/s grados/s"
    " degres/s",
    Unit("mdeg/s", ANGULAR_RATE, over=1e3): "mdeg/s mdps m°/s mdegs-1",
    RADIAN_PER_SECOND: "rad/s rads rads-1 rad/sec radians/s radianspersecond radianes/s",
    Unit("mV", OTHER): "mv millivolt millivolts",
    Unit("µV", OTHER): "uv microvolt microvolts",
    Unit("V", OTHER): "v volt volts",
    Unit("counts", OTHER): "counts count adc au lsb raw",
}
_BY_SPELLING = {spelling: unit for unit, spellings in _SPELLINGS.items() for spelling in spellings.split()}
_REWRITE = str.maketrans({"µ": "u", "μ": "u", "²": "2", "⁻": "-", "¹": "1", "−": "-", "º": "°", "˚": "°", "·": ""})


def plain(text: str) -> str:
    """Small letters without accents; the signs that units need are kept."""
    split = unicodedata.normalize("NFKD", text.translate(_REWRITE).replace("°", "\x01"))
    return "".join(sign for sign in split if not unicodedata.combining(sign)).lower().replace("\x01", "°")


def unit_of(text: str) -> Unit | None:
    """Recognise a unit, such as ``m/s^2``, ``m·s⁻²``, ``1/min`` or ``Schläge/min``; None if it is none."""
    bare = re.sub(r"[\s^.*_]+", "", plain(text))
    if not bare or len(bare) > 24:
        return None
    return _BY_SPELLING.get(bare) or _BY_SPELLING.get(bare.replace("per", "/", 1))
