"""The catalogue of starting protocols, and how one is copied and adapted.

They are suggestions from general knowledge of the trade, without norms and without cut-offs: a starting point to
adapt to one student together with the therapist. What is not proposed there is left out, and so is unknown.
"""

import re
from collections.abc import Mapping
from functools import cache
from types import MappingProxyType

from ...errors import NotAProtocol, UnknownProtocol
from ..protocol import Protocol
from .editing import KEPT, edited, nearest
from .entry import CatalogueEntry, Family
from .loading import entries, families

__all__ = [
    "KEPT",
    "CatalogueEntry",
    "Family",
    "catalogue",
    "copy",
    "edited",
    "entries",
    "entry",
    "entry_of",
    "families",
]


@cache
def catalogue() -> Mapping[str, Protocol]:
    """Every starting protocol by its name, in the order of the catalogue."""
    return MappingProxyType({name: each.protocol for name, each in entries().items()})


def entry(name: str) -> Protocol:
    """One starting protocol.

    Raises
    ------
    UnknownProtocol
        If the catalogue has none of that name, with the nearest names.
    """
    found = catalogue().get(name)
    if found is None:
        raise UnknownProtocol(
            f"the catalogue has no protocol “{name}”.",
            mend=f"{nearest(name, list(catalogue()))}See `ownmark protocol catalogue`.",
        )
    return found


def entry_of(protocol: Protocol) -> CatalogueEntry | None:
    """The test of the catalogue that a protocol was copied from; None if it was made otherwise."""
    return entries().get(protocol.from_catalogue or "")


def copy(catalogue_name: str, new_name: str) -> Protocol:
    """The first version of a protocol of your own, from the catalogue.

    Raises
    ------
    UnknownProtocol
        As ``entry``.
    NotAProtocol
        If the new name is none.
    """
    found = entry(catalogue_name)
    if re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)*", new_name) is None:
        raise NotAProtocol(
            f"“{new_name}” cannot name a protocol.", mend="Use small letters, digits and hyphens: slalom-gym-b."
        )
    return Protocol.model_validate({**dict(found), "name": new_name, "version": 1, "from_catalogue": catalogue_name})
