"""One module a screen. Each has ``ROUTES``, a list of Starlette routes; ``every_route`` finds them all."""

from importlib import import_module
from pkgutil import iter_modules

from starlette.routing import Route


def every_route() -> list[Route]:
    """The routes of every module of this folder, in the order of the modules' names."""
    names = sorted(found.name for found in iter_modules(__path__))
    return [route for name in names for route in import_module(f"{__name__}.{name}").ROUTES]
