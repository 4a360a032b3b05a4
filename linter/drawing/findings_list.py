"""The list of findings, as text that stands on a sheet by itself or beside the diagram."""

from __future__ import annotations

from collections.abc import Sequence

from linter.drawing.cells import SIZE, SMALL, mark_width
from linter.drawing.frame import Numbered, entry
from linter.drawing.language import Language
from linter.drawing.list_text import Text, baseline, heading, marks_key
from linter.drawing.picture import Marker, Words
from linter.drawing.text import ADVANCE_EM, LEADING, width_mm
from linter.model.design import Design
from linter.rules.finding import Severity

BETWEEN = 1.4


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
            Words(indent, baseline(middle, SIZE), name, SIZE, bold=True),
        ]
        if label:
            text.shapes.append(Words(indent + width_mm(name + " ", SIZE), baseline(middle, SIZE), label, SIZE))
        text.small(indent, lines)
        text.height += BETWEEN
        made.append(text)
    return made


def _marks(findings: Sequence[Numbered], words: Language, width: float) -> Text:
    """What the shapes of the marks mean, those that are used."""
    keys = {Severity.DANGER: "danger", Severity.FAULT: "fault-mark", Severity.DOUBT: "doubt", Severity.ADVICE: "advice"}
    used = {n.finding.severity for n in findings}
    rows = [(s.value, False, words[key]) for s, key in keys.items() if s in used]
    if any(n.finding.accepted for n in findings):
        rows.append(("fault", True, words["accepted-mark"]))
    return marks_key(rows, width)
