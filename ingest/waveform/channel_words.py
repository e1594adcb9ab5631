"""Whether a waveform is an ECG or a pulse wave, from the words that its column or channel is named by."""

from collections.abc import Collection

from ..recording import ECG, PULSE

ECG_WORDS = frozenset(
    "ecg ekg electrocardiogram elektrokardiogramm electrocardiograma electrocardiogramme elektrokardiogram".split()
)
PULSE_WORDS = frozenset(
    "ppg bvp pleth plethysmogram plethysmograph photoplethysmogram pulse pulswelle puls pulso pouls".split()
)


def kind_of_words(words: Collection[str]) -> str:
    """``ECG``, ``PULSE``, or '' where the words of a channel or column say neither, or both."""
    heart, pulse = not ECG_WORDS.isdisjoint(words), not PULSE_WORDS.isdisjoint(words)
    return "" if heart == pulse else ECG if heart else PULSE
