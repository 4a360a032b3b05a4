"""The binder as one HTML file that works from the file system: nothing is fetched, nothing of the design is run."""

from __future__ import annotations

import base64
import hashlib
import html
import re
from importlib.resources import files

from linter.binder import shown
from linter.binder.direction import apart
from linter.binder.model import (
    MEANING,
    Block,
    Card,
    Document,
    Figure,
    Heading,
    Kind,
    Labels,
    Paragraph,
    Picture,
    Points,
    Section,
    Table,
)  # fmt: skip
from linter.drawing.svg import escaped as plain
from linter.drawing.svg import n

_ID = re.compile(r'(?<= id=")')
# Tables of more columns than this are set smaller in print.
DENSE = 11
LONGEST_WORD = 24
_CLASS = {Kind.FIGURE: "n", Kind.NAME: "i", Kind.BOX: "b", Kind.TEXT: ""}
# Policies in a page that stands in a frame of this one: its scripts and styles are allowed there and nothing else.
_POLICY = re.compile(r"'sha256-[A-Za-z0-9+/=]+'")
PAGES_MM = {"a4": "210mm 297mm", "letter": "215.9mm 279.4mm"}


def escaped(text: str) -> str:
    """``text`` as character data or attribute value, its figures where they belong."""
    return plain(apart(text))


def page(document: Document, diagram: bytes = b"") -> bytes:
    """The document in UTF-8; ``diagram`` is the interactive diagram's own page, if it is to stand in it.

    The same document gives the same bytes.
    """
    folder = files("linter.binder")
    style = (folder / "web.css").read_text(encoding="utf-8") + _papers(document)
    script = (folder / "web.js").read_text(encoding="utf-8")
    inner = diagram.decode("utf-8")
    hashes = _POLICY.findall(inner[: inner.find("</head>")])
    scripts, styles = " ".join([_hash(script), *hashes]), " ".join([_hash(style), *hashes])
    policy = f"default-src 'none'; script-src {scripts}; style-src {styles}; base-uri 'none'; form-action 'none'"
    boat = escaped(document.boat)
    entries = "".join(
        f'<li><a href="#part-{s.key}">{number}&#8194;{escaped(s.title)}</a></li>'
        for number, s in enumerate(document.sections, 1)
    )
    made = [_cover(document), *(_section(s, number, inner) for number, s in enumerate(document.sections, 1))]
    return f"""<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="{policy}">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>{escaped(document.title)}</title>
<style>{style}</style>
</head>
<body>
<header class="bar"><b>{boat}</b><small>{escaped(document.revision)}</small>
<label>Search <input id="find" type="search" autocomplete="off"></label>
<small id="said" role="status"></small></header>
<div class="frame">
<nav aria-label="Contents"><ol>{entries}</ol></nav>
<main>
{"".join(made)}</main>
</div>
<script>{script}</script>
</body>
</html>
""".encode("utf-8", "replace")


def _hash(text: str) -> str:
    return "'sha256-" + base64.b64encode(hashlib.sha256(text.encode()).digest()).decode() + "'"


def _papers(document: Document) -> str:
    """For print: the page of the document, and each drawing on a page of its own size."""
    revision = re.sub(r'[\\"\n<>]', " ", document.revision)
    foot = (
        f'@bottom-left{{content:"{revision}";font:8pt serif}}'
        '@bottom-right{content:"page " counter(page) " of " counter(pages);font:8pt serif}'
    )
    made = [
        f"@page{{size:{PAGES_MM[document.paper]};margin:16mm 14mm 18mm 20mm;{foot}}}\n",
        f"@page dense{{size:{document.paper} landscape;margin:14mm 12mm 16mm 14mm;{foot}}}\n",
    ]
    for section in document.sections:
        for number, picture in enumerate((b for b in section.blocks if isinstance(b, Picture)), 1):
            name = f"{section.key}-{number}"
            size = f"{n(picture.width_mm)}mm {n(picture.height_mm)}mm"
            made.append(f"@page {name}{{size:{size};margin:0}}\n@media print{{#{name}{{page:{name}}}}}\n")
    return "".join(made)


def _cover(document: Document) -> str:
    if not document.cover:
        return ""
    facts = "".join(f"<dt>{escaped(a)}</dt><dd>{escaped(b)}</dd>" for a, b in document.facts)
    warnings = "".join(f'<p class="warning">{escaped(w)}</p>' for w in document.warnings)
    cautions = "".join(f'<p class="caution">{escaped(c)}</p>' for c in document.cautions)
    boat = f"<p>As-built wiring</p><h1>{escaped(document.boat)}</h1>"
    return f"<section>{boat}{warnings}<dl>{facts}</dl>{cautions}</section>\n"


def _section(section: Section, number: int, diagram: str) -> str:
    made: list[str] = []
    pictures = 0
    framed = bool(diagram) and section.key == "diagram"
    if framed:
        made.append(
            '<iframe class="screen-only" title="Interactive diagram" sandbox="allow-scripts" '
            f'srcdoc="{html.escape(diagram)}"></iframe>'
        )
    for block in section.blocks:
        if isinstance(block, Picture):
            pictures += 1
            made.append(_picture(block, f"{section.key}-{pictures}", framed))
        else:
            made.append(_block(block))
    wide = any(len(_table_of(b).columns) > DENSE for b in section.blocks if isinstance(b, Table | Card))
    kind = ' class="dense"' if wide else ""
    title = escaped(section.title)
    return f'<section id="part-{section.key}"{kind}><h2>{number}&#8194;{title}</h2>{"".join(made)}</section>\n'


def _table_of(block: Table | Card) -> Table:
    return block.table if isinstance(block, Card) else block


def _picture(picture: Picture, name: str, framed: bool) -> str:
    """A drawing; one that the frame shows on the screen is for paper only.  Ids begin with its name."""
    text = picture.svg.partition("?>\n")[2] if picture.svg.startswith("<?xml") else picture.svg
    kind = ' class="paper-only"' if framed else ""
    return f'<figure id="{name}"{kind} aria-label="{escaped(picture.title)}">{_ID.sub(f"{name}-", text)}</figure>'


def _block(block: Block) -> str:
    match block:
        case Table():
            return _table(block)
        case Paragraph():
            text = escaped(block.text)
            return f"<p><b>{text}</b></p>" if block.strong else f"<p>{text}</p>"
        case Heading():
            return f"<h3>{escaped(block.text)}</h3>"
        case Points():
            return "<dl>" + "".join(f"<dt>{escaped(a)}</dt><dd>{escaped(b)}</dd>" for a, b in block.lines) + "</dl>"
        case Card():
            lines = "".join(f"<p>{escaped(x)}</p>" for x in block.lines)
            table = _table(block.table)
            foot = f'<p class="note">{escaped(block.foot)}</p>'
            return f'<div class="card" data-hold><h3>{escaped(block.title)}</h3>{lines}{table}{foot}</div>'
        case Labels():
            return (
                '<div class="labels">'
                + "".join(
                    f"<div><b>{escaped(x.title)}</b> {' · '.join(escaped(line) for line in x.lines if line)}</div>"
                    for x in block.labels
                )
                + "</div>"
            )
        case _:
            return ""


def _table(table: Table) -> str:
    title = f"<h3>{escaped(table.title)}</h3>" if table.title else ""
    notes = "".join(
        f'<p class="note">{escaped(x)}</p>'
        for x in [*(f"{m.value} {MEANING[m]}." for m in table.marks()), *table.notes]
    )
    if not table.rows:
        return f'<div>{title}<p class="none">{escaped(table.empty)}</p>{notes}</div>'
    heads = "".join(
        f'<th scope="col" class="{_CLASS[c.kind]}"><button>{escaped(c.head)}</button>'
        + (f"<small>{escaped(c.unit)}</small>" if c.unit else "") + "</th>"
        for c in table.columns
    )  # fmt: skip
    body = []
    for row, cells in zip(table.rows, shown.rows(table), strict=True):
        made = "".join(
            _cell(raw, cell, _CLASS[c.kind]) for raw, cell, c in zip(row.cells, cells, table.columns, strict=True)
        )
        kind = ' class="strong"' if row.strong else ' class="warns"' if row.warns else ""
        body.append(f"<tr{kind}>{made}</tr>")
    return (
        f'<div data-hold>{title}<div class="wide"><table data-sort><thead><tr>{heads}</tr></thead>'
        f"<tbody>{''.join(body)}</tbody></table></div>{notes}</div>"
    )


def _words(text: str) -> str:
    """Escaped, with places where a word may be broken that is too long for any column."""
    return " ".join(
        "<wbr>".join(escaped(word[k : k + LONGEST_WORD]) for k in range(0, len(word), LONGEST_WORD)) or word
        for word in text.split(" ")
    )


def _cell(raw: object, cell: shown.Shown, kind: str) -> str:
    text = _words(cell.lead + cell.text)
    value = f' data-v="{raw.value!r}"' if isinstance(raw, Figure) and raw.value is not None else ""
    pad = f'<span class="pad" data-pad="{cell.pad}"></span>' if cell.pad else ""
    return f'<td class="{kind}"{value}>{text}{pad}</td>' if kind else f"<td{value}>{text}</td>"
