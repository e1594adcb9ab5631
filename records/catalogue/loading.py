"""The catalogue's files as values."""

import tomllib
from collections.abc import Iterator, Mapping, Sequence
from functools import cache
from importlib.resources import files
from types import MappingProxyType

from ...words.render import texts
from ...words.shapes import is_list, is_object
from ..protocol import Protocol
from .entry import CatalogueEntry, Family

FILES = ("aerobic", "strength", "trunk", "flexibility")
TRANSFER = "planned.transfer"
"""Key of the sentence that stands on every card of a test where a transfer can happen."""


@cache
def families() -> Mapping[str, Family]:
    """Every family by its name, in the order of the file."""
    return MappingProxyType({name: Family.model_validate({"name": name, **table}) for name, table in _read("families")})


@cache
def entries() -> Mapping[str, CatalogueEntry]:
    """Every test by its name, in the order of the files."""
    return MappingProxyType({name: entry_from(name, table) for file in FILES for name, table in _read(file)})


def _read(file: str) -> Iterator[tuple[str, Mapping[str, object]]]:
    """The tables of a file with their names."""
    text = (files(__name__.rpartition(".")[0]) / f"{file}.toml").read_text(encoding="utf-8")
    for name, table in tomllib.loads(text).items():
        if is_object(table):
            yield name, table


def entry_from(name: str, table: Mapping[str, object]) -> CatalogueEntry:
    """A test out of its table: fields of the protocol, of the entry, and the basis of each hand measure.

    Raises
    ------
    NotAProtocol
        For a field that there is not, or a value that does not fit.
    """
    own = {field: value for field, value in table.items() if field in CatalogueEntry.model_fields}
    planned = {field: value for field, value in table.items() if field not in own}
    stated = planned.get("hand_measures", [])
    measures, bases = _measures(stated) if is_list(stated) else (stated, {})
    cautions = planned.get("cautions", [])
    if own.get("transfer") and is_list(cautions):
        cautions = [texts("en")[TRANSFER], *cautions]
    protocol = Protocol.model_validate({**planned, "name": name, "hand_measures": measures, "cautions": cautions})
    return CatalogueEntry.model_validate({**own, "protocol": protocol, "bases": bases})


def _measures(found: Sequence[object]) -> tuple[list[object], dict[str, str]]:
    """Hand measures without their basis, and the basis of each by its name."""
    measures: list[object] = []
    bases: dict[str, str] = {}
    for each in found:
        if is_object(each):
            measures.append({key: value for key, value in each.items() if key != "basis"})
            if "basis" in each:
                bases[str(each.get("name"))] = str(each["basis"])
    return measures, bases
