"""One test of the catalogue: its protocol, and what helps to choose it among others.

A protocol is copied into a logbook and adapted there. The facts beside it are the catalogue's own: where the test
stands on its family's ladder, what the step gives up, what it asks of a student, and where the way of measuring comes
from.
"""

from collections.abc import Mapping
from typing import ClassVar, Self

from pydantic import Field, model_validator

from ...errors import NotAProtocol, OwnmarkError
from ..abilities import Movement, Need, Sense
from ..protocol import Component, Protocol
from ..texts import ENTRY, TEXT
from ..value import Value


class _OfCatalogue(Value):
    refusal: ClassVar[type[OwnmarkError]] = NotAProtocol
    called: ClassVar[str] = "an entry of the catalogue"


class Family(_OfCatalogue):
    """Tests that change one task more and more, from the least change to the most.

    about : what the tests of the family show, and which change costs what
    unadapted : the task that they are made from
    in_place_of : ways of getting about that it replaces; who has one of them is led to it last
    """

    called: ClassVar[str] = "a family of tests"
    longer: ClassVar[Mapping[str, int]] = {"about": TEXT, "unadapted": ENTRY}

    name: str
    title: str
    component: Component
    about: str
    unadapted: str
    in_place_of: tuple[Movement, ...] = ()


class CatalogueEntry(_OfCatalogue):
    """A test of the catalogue.

    step : place on the family's ladder; 1 is the least changed, equal changes have the same
    gives_up : what this step gives up against the one before, the first against the task that is not adapted
    moves_all, moves_any : movements that the student must have: all of these, and one of those
    both_sides : it takes both arms or both legs at once
    senses : what the task as written asks of the student
    helps : needs that it meets as written
    transfer : a transfer out of the chair can happen
    bases : for each hand measure, the published description that its way of measuring follows, or "common practice"
    """

    longer: ClassVar[Mapping[str, int]] = {"gives_up": ENTRY}

    protocol: Protocol
    family: str
    step: int = Field(ge=1)
    gives_up: str = Field(min_length=1)
    moves_all: tuple[Movement, ...] = ()
    moves_any: tuple[Movement, ...] = ()
    both_sides: bool = False
    senses: tuple[Sense, ...] = ()
    helps: tuple[Need, ...] = ()
    transfer: bool = False
    bases: Mapping[str, str] = {}

    @model_validator(mode="after")
    def _every_measure_has_its_basis(self) -> Self:
        if set(self.bases) != {each.name for each in self.protocol.hand_measures}:
            raise NotAProtocol(
                f"a hand measure of “{self.name}” does not say where its way of measuring comes from.",
                mend='Write basis = "common practice", or the published description.',
            )
        return self

    @property
    def name(self) -> str:
        """Its name in the catalogue."""
        return self.protocol.name
