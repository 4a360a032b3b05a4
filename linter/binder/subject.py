"""What a binder is made of: a design examined, its revision, what was chosen; figures reckoned once for all parts."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

from linter.binder.spare_rule import SpareRule
from linter.binder.words import tied
from linter.drawing.picture import Picture
from linter.drawing.revision import Revision
from linter.drawing.text import clean
from linter.model.design import Design
from linter.model.elements import Conductor, Element
from linter.report.devices import devices_json
from linter.report.loads import loads_json
from linter.rules.engine import Examination
from linter.study.energy import Energy, energy_of
from linter.study.study import Study


@dataclass(frozen=True, slots=True)
class Choice:
    """What the one who makes the binder chooses.  ``day``: by which acceptances were judged, where it was given."""

    paper: str = "a4"
    voyage: str = "coastal"
    rule: SpareRule | None = None
    labels: str = ""
    day: str = ""


@dataclass(eq=False)
class Subject:
    result: Examination
    revision: Revision | None
    choice: Choice = field(default_factory=Choice)
    # the sheets of the diagram, once its part is made
    pictures: list[Picture] = field(default_factory=list)

    @property
    def study(self) -> Study:
        return self.result.study

    @property
    def design(self) -> Design:
        return self.result.design

    @cached_property
    def devices(self) -> list[dict[str, Any]]:
        """As `study --of devices --format json` gives them."""
        return list(devices_json(self.study)["devices"])

    @cached_property
    def loads(self) -> list[dict[str, Any]]:
        """As `study --of loads --format json` gives them."""
        return list(loads_json(self.study)["loads"])

    @cached_property
    def energy(self) -> Energy:
        return energy_of(self.study)

    @cached_property
    def boat(self) -> str:
        return clean(self.design.boat) or "Boat without a name"

    @cached_property
    def revised(self) -> str:
        """The revision as it stands on every page."""
        if self.revision is None:
            return "under no revision control"
        changed = ", with uncommitted changes" if self.revision.changed else ""
        return f"revision {self.revision.commit} of {self.revision.date}{changed}"

    def element(self, name: str) -> Element:
        return self.design.elements[name]

    def conductor(self, name: str) -> Conductor:
        element = self.design.elements[name]
        assert isinstance(element, Conductor)
        return element

    def called(self, name: str) -> str:
        """The label of an element, "" where it has none."""
        element = self.design.elements.get(name)
        return clean(element.label) if element is not None else ""


def place_of(element: Element) -> str:
    return clean(element.place.label or element.place.name) if element.place is not None else ""


def says(element: Element) -> str:
    return tied(clean(element.says()))
