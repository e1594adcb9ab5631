"""Words that people use as headers of columns, in several languages, without accents and in small letters.

The wordings are common practice of the trade, no standard. A phrase is one or more words that stand together.
"""

from ..recording import HEART_RATE, RR_INTERVAL, WAVEFORM

TIME = "time"
DATE = "date"


def _phrases(text: str) -> tuple[tuple[str, ...], ...]:
    """Phrases from a text in which commas part them."""
    return tuple(tuple(phrase.split()) for phrase in text.split(","))


PHRASES: dict[str, tuple[tuple[str, ...], ...]] = {
    RR_INTERVAL: _phrases(
        "rr,r r,rri,rrs,rrinterval,rrintervals,rrintervall,ibi,inter beat,interbeat,beat to beat,beat interval,"
        "nn,nn interval,herzschlagintervall,pulse interval"
    ),
    HEART_RATE: _phrases(
        "heart rate,heartrate,hr,bpm,pulse rate,pulserate,pulse,heart beats per minute,beats per minute,"
        "herzfrequenz,herzrate,hf,puls,pulsfrequenz,herzschlag,"
        "frecuencia cardiaca,fc,ritmo cardiaco,pulso,pulsaciones,pulsaciones por minuto,lpm,"
        "frequence cardiaque,pouls,rythme cardiaque,frequenza cardiaca,frequencia cardiaca,battito cardiaco,"
        "hartslag,hartfrequentie"
    ),
    WAVEFORM: _phrases(
        "ecg,ekg,ppg,bvp,pleth,plethysmogram,photoplethysmogram,pulse wave,pulsewave,pulse waveform,blood volume pulse,"
        "waveform,pulswelle,onda de pulso,onde de pouls,electrocardiogram,elektrokardiogramm,electrocardiograma,"
        "electrocardiogramme"
    ),
    TIME: _phrases(
        "time,timestamp,time stamp,timestamps,datetime,date time,date and time,elapsed,elapsed time,seconds elapsed,"
        "clock,clock time,time of day,t,epoch,epoch time,unix,unix time,unix timestamp,utc,utc time,local time,"
        "system time,seconds,milliseconds,millis,secs,"
        "zeit,uhrzeit,zeitstempel,datum uhrzeit,datum zeit,datum und uhrzeit,sekunden,millisekunden,laufzeit,"
        "tiempo,hora,fecha hora,fecha y hora,marca de tiempo,tiempo transcurrido,segundos,milisegundos,"
        "temps,heure,date heure,date et heure,horodatage,temps ecoule,secondes,millisecondes,"
        "tempo,ora,data ora,data e ora,data hora,tijd,tijdstempel"
    ),
    DATE: _phrases("date,datum,fecha,day,tag,dia,jour"),
}

ACCELERATION_WORDS = frozenset(
    "a acc accel acceleration accelerometer accelerometers accelero beschleunigung beschl beschleunigungssensor"
    " aceleracion acelerometro acelerometre accelerometre accelerazione accelerometro aceleracao versnelling"
    " versnellingsmeter".split()
)
ANGULAR_WORDS = frozenset(
    "gyr gyro gyroscope gyroskop giroscopio gyroscoop giroscopo giro omega drehrate winkelgeschwindigkeit"
    " drehgeschwindigkeit".split()
)
ANGULAR_PAIRS = _phrases(
    "angular rate,angular velocity,rotation rate,rotational rate,velocidad angular,vitesse angulaire,velocita angolare"
)
GLUED_AXIS = (
    r"(a|acc|accel|acceleration|accelerometer|beschleunigung|aceleracion|g|gyr|gyro|gyroscope|omega)_?([xyz])",
    r"([xyz])_?(acc|accel|acceleration|accelerometer|gyr|gyro|gyroscope)",
)
"""Words in which sensor and axis stand together: ``ax``, ``accX``, ``gyroz``, ``xacc``."""

FILLERS = frozenset(
    "sensor value values data axis axes eje achse axe asse as de del der des die das la le el du d of the in en im"
    " measured measurement signal actual current instant instantaneous imu motion wert valor valeur direction"
    " richtung interval intervals intervall intervalle intervalo intervalos abstand utc gmt local".split()
)
"""Words that say nothing about which of two columns is meant."""

NOT_THE_VALUE = frozenset(
    "zone zones zona max maximum min minimum avg average mean media medio mittel mittelwert moyenne variability hrv"
    " reserve percent percentage rest resting reposo target confidence quality qualitat calidad status contact limit"
    " source alert std sd id warning accuracy error flag valid % hz delta diff age".split()
)
"""Words that make a column something else than the measured value: a zone, a mean, a quality."""

NOT_THE_TIME = frozenset(
    "zone timezone start end lap moving stop reaction ground contact stride step session gap offset birth geburt"
    " nacimiento naissance update delta diff".split()
)

ELAPSED_WORDS = frozenset(
    "elapsed since duration dauer laufzeit transcurrido ecoule relative relativ relativo seit verstrichen"
    " stopwatch chrono".split()
)
CLOCK_WORDS = frozenset("clock uhrzeit uhr hora heure ora day local utc gmt date datum fecha".split())
WITHOUT_GRAVITY = frozenset("linear user lineal lineaire lineare".split())
