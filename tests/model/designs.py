"""Designs from text, for the tests of the model."""

from __future__ import annotations

from pathlib import Path

from linter.model.build import build
from linter.model.design import Design
from linter.source.files import DesignSource
from linter.source.parser import parse

HEAD = 'boat "T", 9 m, rulebook iso-13297\nsystem DC12, 12 V\nbattery B, AGM, 12 V, 100 Ah\nbus P, 100 A\n'


def design_of(*texts: str) -> Design:
    """The design that texts make together, as if each were a file."""
    files = [parse(f"{i}.boat", text) for i, text in enumerate(texts)]
    return build(DesignSource("0.boat", Path("/nowhere"), files))


def said(design: Design) -> list[str]:
    return [f"{m.span.line}:{m.span.column}: {m.message}" for m in design.mistakes]


def mends(design: Design) -> list[str]:
    return [m.mend for m in design.mistakes]


def edges(design: Design) -> list[tuple[str, str, str, str]]:
    """(kind, from, to, element) of every edge, by name."""
    nodes = design.circuit.nodes
    return sorted((e.kind, nodes[e.u].name, nodes[e.v].name, e.element.name) for e in design.circuit.edges)
