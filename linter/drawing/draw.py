"""The single-line diagram of a design."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

from linter.drawing.cells import Note
from linter.drawing.frame import frame, numbered
from linter.drawing.layout import laid_out
from linter.drawing.picture import Picture
from linter.model.design import Design
from linter.rules.finding import Finding

Output = Literal["svg", "pdf", "png", "dot"]


def picture(design: Design, findings: Sequence[Finding] = ()) -> Picture:
    """The diagram as data, frame and all."""
    marked = numbered(findings)
    notes: dict[str, list[Note]] = {}
    for one in marked:
        note = (one.finding.severity.value, one.number, bool(one.finding.accepted))
        notes.setdefault(one.finding.subject, []).append(note)
    made = laid_out(design, notes)
    frame(made, design, marked)
    return made


def draw(design: Design, output: Output, findings: Sequence[Finding] = ()) -> bytes:
    """The diagram of ``design`` with ``findings`` marked: an SVG, PDF or PNG file, or DOT text in UTF-8.

    The same design gives the same bytes.
    """
    made = picture(design, findings)
    if output == "dot":
        from linter.drawing.dot import dot

        return dot(made, design).encode("utf-8", "replace")
    from linter.drawing.svg import svg

    text = svg(made)
    if output == "svg":
        return text.encode("utf-8", "replace")
    from linter.drawing.export import typeset

    return typeset(text, made, output)


__all__ = ["Output", "draw", "picture"]
