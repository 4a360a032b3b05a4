"""The diagram as one HTML file that works from the file system: nothing is fetched, nothing of the design is run."""

from __future__ import annotations

import base64
import hashlib
import json
import re
from collections.abc import Iterable, Sequence
from importlib.resources import files
from typing import Any

from linter.drawing.frame import numbered
from linter.drawing.only import of_part, part_around
from linter.drawing.page_facts import facts_of
from linter.drawing.page_lines import Needs, line_needs
from linter.drawing.page_ways import ways
from linter.drawing.picture import Picture
from linter.drawing.svg import escaped, n, svg
from linter.drawing.text import clean
from linter.report.caution import CAUTION
from linter.rules.finding import Finding
from linter.study.study import Study

_ID = re.compile(r'(?<= id=")')


def page(pictures: Sequence[Picture], study: Study, findings: Sequence[Finding], only: str = "") -> bytes:
    """The page for ``pictures``, which were drawn with ``findings``, in UTF-8; the same input gives the same bytes.

    ``only`` is the element around which they show a part, "" where they show all.
    """
    if only:
        findings = of_part(part_around(study.design, only), findings)
    folder = files("linter.drawing") / "page"
    style = (folder / "page.css").read_text(encoding="utf-8") + _papers(pictures)
    script = (folder / "page.js").read_text(encoding="utf-8")
    boat = escaped(clean(study.design.boat) or "Boat")
    policy = f"default-src 'none'; script-src '{_hash(script)}'; style-src '{_hash(style)}'; base-uri 'none'"
    sheets = [_sheet(p, n) for n, p in enumerate(pictures, 1)]
    return f"""<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="{policy}; form-action 'none'">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>{boat}: single-line diagram</title>
<style>{style}</style>
</head>
<body>
<header>
<h1>{boat}</h1>
<div class="find"><input id="find" type="search" role="combobox" aria-label="Find by id or name"
 placeholder="Find by id or name"
 aria-controls="hits" aria-expanded="false" aria-autocomplete="list" autocomplete="off">
<ul id="hits" role="listbox" aria-label="Found" hidden></ul></div>
<select id="pick" aria-label="Sheet"></select>
<div class="zoom" role="group" aria-label="Zoom"><button id="less" aria-label="Smaller">−</button>
<button id="whole" aria-label="Whole sheet">Whole</button>
<button id="more" aria-label="Larger">+</button></div>
</header>
<main id="view" tabindex="0" role="region"
 aria-label="Diagram. Arrows move it, plus and minus zoom, 0 shows the whole sheet, Enter goes to its elements.">
<div id="paper">
{"".join(sheets)}</div>
</main>
<aside id="facts" tabindex="0" aria-label="Facts and findings"><p id="said" class="unseen" role="status"></p>
<div id="panel"></div>
<p class="caution">{escaped(CAUTION)}</p></aside>
<script type="application/json" id="data">{_json(_data(pictures, study, findings))}</script>
<script>{script}</script>
</body>
</html>
""".encode("utf-8", "replace")


def _hash(text: str) -> str:
    return "sha256-" + base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()


def _sheet(picture: Picture, number: int) -> str:
    """A sheet as an element of the page; its ids begin with its number, as two sheets may show the same bus."""
    text = svg(picture).partition("?>\n")[2].replace(' role="img"', ' role="group"', 1)
    label = escaped(picture.title)
    return f'<section class="sheet" id="sheet-{number}" aria-label="{label}">{_ID.sub(f"s{number}-", text)}</section>\n'


def _json(data: Any) -> str:
    """JSON that cannot end the element it stands in."""
    text = json.dumps(data, ensure_ascii=True, separators=(",", ":"))
    return text.replace("<", "\\u003c").replace(">", "\\u003e").replace("&", "\\u0026")


def _data(pictures: Sequence[Picture], study: Study, findings: Sequence[Finding]) -> dict[str, Any]:
    names = list(study.design.elements)
    number = {n: i for i, n in enumerate(names)}
    circuit = study.design.circuit
    found, facts = ways(circuit), facts_of(study)
    lines = [line_needs(p, circuit, frozenset(names)) for p in pictures]
    every = (n for p in lines for some in p.values() for line in some for part in line for m in part for n in m.nodes)
    node = {n: len(names) + i for i, n in enumerate(dict.fromkeys(every))}

    def numbers(some: Iterable[str], of: dict[str, int] = number) -> list[int]:
        return sorted(of[n] for n in some if n in of)

    elements = []
    for name in names:
        way = found.get(name)
        elements.append(
            {
                "id": clean(name), "label": clean(study.design.elements[name].label),
                "facts": [[term, words, [number[n] for n in to if n in number]] for term, words, to in facts[name]],
                "way": numbers(way.elements) if way else [], "sources": numbers(way.sources) if way else [],
                "nodes": numbers(way.nodes, node) if way else [],
            }
        )  # fmt: skip
    listed = [
        {
            "number": m.number, "severity": m.finding.severity.value,
            "subject": number.get(m.finding.subject, -1), "message": clean(m.finding.message),
            "mend": clean(m.finding.mend), "clause": clean(m.finding.clause), "status": m.finding.status,
            "accepted": clean(m.finding.accepted), "guard": [number[g] for g in m.finding.guard if g in number],
        }
        for m in numbered(findings)
    ]  # fmt: skip
    drawn = [[number.get(d.name, -1) if d.reference < 0 else -1 for d in p.elements] for p in pictures]

    def needed(needs: Needs) -> list[int]:
        # What is chosen stands below nought, its number turned over.
        chosen = [-2 - number[n] for n in needs.chosen if n in number]
        return [node[n] for n in needs.nodes] + [number.get(n, -1) for n in needs.elements] + chosen

    return {
        "elements": elements, "findings": listed, "drawn": drawn,
        "sheets": [_short(p.title, clean(study.design.boat)) for p in pictures],
        "lines": [
            {kind: [[[needed(n) for n in part] for part in line] for line in some] for kind, some in p.items()}
            for p in lines
        ],
    }  # fmt: skip


def _short(title: str, boat: str) -> str:
    """The title of a sheet without the boat's name, which stands above the page."""
    said = title.removeprefix(f"{boat}, ")
    return said[:1].upper() + said[1:]


def _papers(pictures: Sequence[Picture]) -> str:
    """For print: each sheet on a page of its own size."""
    made = []
    for number, picture in enumerate(pictures, 1):
        wide, high = n(picture.width * picture.scale), n(picture.height * picture.scale)
        made.append(f"@page s{number}{{margin:0;size:{wide}mm {high}mm}}\n")
        made.append(f"@media print{{#sheet-{number}{{page:s{number};width:{wide}mm;height:{high}mm}}}}\n")
    return "".join(made)
