"""The list of findings, as text that stands on a sheet by itself or beside the diagram."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from linter.drawing.cells import SIZE, SMALL, mark_width
from linter.drawing.frame import HEADING, Numbered, entry
from linter.drawing.language import Language
from linter.drawing.picture import Marker, Shape, Words
from linter.drawing.text import ADVANCE_EM, ASCENT_EM, DESCENT_EM, LEADING, width_mm, wrap
from linter.model.design import Design
from linter.rules.finding import Severity

BETWEEN = 1.4
# A list that is no longer stands beside a diagram, where there is room.
MOST_BESIDE = 12


@dataclass(slots=True)
class Text:
    """A piece of text that is not divided: its shapes from (0, 0), and its height."""

    height: float
    shapes: list[Shape] = field(default_factory=list)


def _baseline(middle: float, size: float) -> float:
    return middle + (ASCENT_EM - DESCENT_EM) * size / 2


def listed(design: Design, findings: Sequence[Numbered], words: Language, width: float) -> list[Text]:
    """Heading, the meaning of the marks, then each finding, for a column of this width."""
    if not findings:
        return []
    made = [heading(words["findings"]), _marks(findings, words, width)]
    indent = max(mark_width(n.number) for n in findings) + 1.0
    chars = int((width - indent) / (ADVANCE_EM * SMALL))
    for one in findings:
        finding = one.finding
        (name, label), lines = entry(design, one, chars, words)
        middle = LEADING * SIZE / 2
        text = Text(LEADING * SIZE)
        text.shapes = [
            Marker(0, middle, finding.severity.value, one.number, bool(finding.accepted)),
            Words(indent, _baseline(middle, SIZE), name, SIZE, bold=True),
        ]
        if label:
            text.shapes.append(Words(indent + width_mm(name + " ", SIZE), _baseline(middle, SIZE), label, SIZE))
        for line in lines:
            text.shapes.append(Words(indent, _baseline(text.height + LEADING * SMALL / 2, SMALL), line, SMALL))
            text.height += LEADING * SMALL
        text.height += BETWEEN
        made.append(text)
    return made


def heading(said: str) -> Text:
    high = LEADING * HEADING
    return Text(high + 1.5, [Words(0, _baseline(high / 2, HEADING), said, HEADING, bold=True)])


def _marks(findings: Sequence[Numbered], words: Language, width: float) -> Text:
    """What the shapes of the marks mean, those that are used."""
    keys = {Severity.DANGER: "danger", Severity.FAULT: "fault-mark", Severity.DOUBT: "doubt", Severity.ADVICE: "advice"}
    used = {n.finding.severity for n in findings}
    rows = [(s.value, False, words[key]) for s, key in keys.items() if s in used]
    if any(n.finding.accepted for n in findings):
        rows.append(("fault", True, words["accepted-mark"]))
    made = Text(0.0)
    for severity, accepted, said in rows:
        made.shapes.append(Marker(0, made.height + LEADING * SMALL / 2, severity, 1, accepted))
        for line in wrap(said, int((width - 7.0) / (ADVANCE_EM * SMALL)), 3):
            made.shapes.append(Words(7.0, _baseline(made.height + LEADING * SMALL / 2, SMALL), line, SMALL))
            made.height += LEADING * SMALL
        made.height += 0.6
    made.height += 3.0
    return made


def columns(texts: Sequence[Text], height: float) -> list[list[Text]]:
    """The pieces in columns that are no higher than ``height``."""
    made: list[list[Text]] = []
    used = height
    for text in texts:
        if used + text.height > height:
            made.append([])
            used = 0.0
        made[-1].append(text)
        used += text.height
    return made
