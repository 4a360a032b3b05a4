"""The worksheet of any element of a design, with every finding at the step where it fails."""

from __future__ import annotations

from linter.model.elements import Bus, Conductor, Converter, Device, Diode, Element, Load, Source, Switch
from linter.report.worksheet.conductor import conductor_sections
from linter.report.worksheet.device import device_sections
from linter.report.worksheet.load import load_sections
from linter.report.worksheet.others import bus_sections, source_sections, switch_sections
from linter.report.worksheet.sheet import Found, Section, Sheet
from linter.rules.engine import Examination
from linter.rules.finding import Finding
from linter.study.study import Study


class NoElement(LookupError):
    """There is no element of that name that a worksheet could be made of."""


def worksheet_of(result: Examination, name: str) -> Sheet:
    """The worksheet of one element, from what was examined.  Raises NoElement."""
    element, study = result.design.elements.get(name), result.study
    if not isinstance(element, Element):
        raise NoElement(name)
    sheet = Sheet(
        element.name, element.title, element.kind, result.design.boat, result.design.path,
        [b.name for b in study.rulebooks], result.complete, _sections(study, element),
    )  # fmt: skip
    _findings(sheet, result.findings)
    return sheet


def _sections(study: Study, element: Element) -> list[Section]:
    circuit = study.design.circuit
    edges = [e for e in circuit.edges if e.element is element and e.kind != "link"]
    if isinstance(element, Conductor):
        made = study.conductors.get(element.name)
        if made is not None:
            return conductor_sections(study, made)
    elif isinstance(element, Device):
        if edges:
            return device_sections(study, edges[0])
    elif isinstance(element, Switch | Diode):
        if edges:
            return switch_sections(study, element, edges)
    else:
        nodes = [n for n in circuit.nodes if n.element is element]
        sections: list[Section] = []
        for node in nodes:
            if isinstance(element, Bus):
                sections += bus_sections(study, node)
                continue
            if node.load is not None:
                sections += load_sections(study, node.index)
            if node.source is not None:
                sections += source_sections(study, node)
        if sections:
            return sections
    found = Section(f"The {element.kind}")
    found.note("it stands in no run: there is nothing to reckon")
    return [found]


def _findings(sheet: Sheet, findings: list[Finding]) -> None:
    """Each finding at its step: those about the element, and those in which it is the device concerned."""
    rest: list[Finding] = []
    for finding in findings:
        if finding.subject != sheet.name and sheet.name not in finding.guard:
            continue
        place = next((s for s in sheet.sections if finding.rule in s.rules), None)
        if place is not None:
            place.lines.append(Found(finding))
        else:
            rest.append(finding)
    if rest:
        sheet.sections.append(Section("Other findings", [Found(f) for f in rest]))


__all__ = ["Converter", "Load", "NoElement", "Source", "worksheet_of"]
