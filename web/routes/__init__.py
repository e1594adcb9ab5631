"""One module a screen. Each has ``ROUTES``, a list of Starlette routes; ``every_route`` finds them all."""

from collections.abc import Iterable
from importlib import import_module
from pkgutil import iter_modules

from starlette.convertors import IntegerConvertor, register_url_convertor
from starlette.routing import Route

from ..forms import MOST_DIGITS

FRAME = ("alive", "home", "language", "lock", "start", "static")
"""What the first screen needs; the others are imported when they are asked for, or when that screen has been shown."""


class _Whole(IntegerConvertor):
    """A number in an address, of no more digits than any of ours has: a longer one leads nowhere."""

    regex = f"[0-9]{{1,{MOST_DIGITS}}}"


register_url_convertor("int", _Whole())


def frame_routes() -> list[Route]:
    """The routes of these modules."""
    return _routes(FRAME)


def every_route() -> list[Route]:
    """The routes of every module of this folder, in the order of the modules' names."""
    return _routes(sorted(found.name for found in iter_modules(__path__)))


def _routes(names: Iterable[str]) -> list[Route]:
    return [route for name in names for route in import_module(f"{__name__}.{name}").ROUTES]
