"""The single-line diagram of a design.

On sheets: ``write(sheets(design, findings, settings, layers, study, only, changes), "svg")`` gives the files, one a
sheet, or one PDF.  What has changed since an earlier design comes in as plain data, ``drawing.changes.Changes``:
``linter.cli_changes.changes_of(comparison)`` makes it of a comparison, so that this package knows nothing of history.
A drawing of changes is ``sheets(new, (), settings, ("ratings",), study, "", changes)``.
"""

from __future__ import annotations

import os
import re
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


def write(pictures: Sequence[Picture], output: Literal["svg", "pdf", "png"]) -> list[bytes]:
    """Sheets as files: one SVG or PNG each, one PDF of all with a bookmark at each."""
    from linter.drawing.export import document, typeset
    from linter.drawing.svg import svg

    texts = [svg(p) for p in pictures]
    if output == "svg":
        return [t.encode("utf-8", "replace") for t in texts]
    if output == "png":
        return [typeset(t, p, "png") for t, p in zip(texts, pictures, strict=True)]
    title = pictures[0].title.partition(",")[0]
    return [document(list(zip(texts, pictures, strict=True)), title)]


def file_names(path: str, count: int) -> list[str]:
    """The names of so many files: the name itself for one, x-1.svg and so on for more."""
    stem, dot, suffix = path.rpartition(".")
    return [path] if count == 1 else [f"{stem}-{n}{dot}{suffix}" for n in range(1, count + 1)]


def left_over(path: str, names: Sequence[str]) -> list[str]:
    """Files beside those of ``names`` that an earlier drawing to ``path`` may have left: sheets it no longer has."""
    folder, base = os.path.split(path)
    stem, dot, suffix = base.rpartition(".")
    sheet = re.compile(rf"{re.escape(stem)}(-[1-9]\d*)?{re.escape(dot + suffix)}")
    try:
        found = sorted(os.listdir(folder or "."), key=lambda n: (len(n), n))
    except OSError:
        return []
    kept = {os.path.basename(n) for n in names}
    return [os.path.join(folder, n) for n in found if sheet.fullmatch(n) and n not in kept]


__all__ = ["Output", "draw", "file_names", "left_over", "picture", "write"]
