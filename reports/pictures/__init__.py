"""Pictures of a trial, of a baseline and its re-test, and of left and right; each with a text equivalent.

    series = series_of(trial, student, protocol, originals, trial.sheet)
    trial_picture(series, words, width="phone").svg

The drawing library is loaded only when something is drawn.
"""

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from .pair import pair_picture as pair_picture
    from .picture import Drawn as Drawn
    from .series import Series as Series
    from .sides import sides_picture as sides_picture
    from .trial import trial_picture as trial_picture
    from .trial_series import series_of as series_of

_PLACES = {
    "Drawn": "picture",
    "Series": "series",
    "pair_picture": "pair",
    "series_of": "trial_series",
    "sides_picture": "sides",
    "trial_picture": "trial",
}


def __getattr__(name: str) -> Any:  # noqa: ANN401 whatever the name stands for
    """The public names, each from its module when first asked for."""
    if name not in _PLACES:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    from importlib import import_module

    return getattr(import_module(f".{_PLACES[name]}", __name__), name)
