"""The reference, grammar/README.md, taken apart."""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path

GRAMMAR = Path(__file__).resolve().parents[2] / "grammar"
PAGE = (GRAMMAR / "README.md").read_text(encoding="utf-8")


@dataclass(frozen=True)
class Block:
    """A fenced block: what stands behind its fence, its text, and the line of the page on which it begins."""

    info: str
    text: str
    line: int

    def __str__(self) -> str:
        return f"{self.info} at line {self.line}"


def blocks() -> list[Block]:
    found = re.finditer(r"^```([^\n]+)\n(.*?)^```$", PAGE, re.MULTILINE | re.DOTALL)
    return [Block(m[1], m[2], PAGE[: m.start()].count("\n") + 1) for m in found]


BLOCKS = blocks()
FRAME = next(b for b in BLOCKS if b.info == "boat frame")
FILES = {b.info.split("file=")[1]: b.text for b in BLOCKS if "file=" in b.info}
DESIGNS = [b for b in BLOCKS if b.info == "boat"]
FRAGMENTS = [b for b in BLOCKS if b.info == "boat fragment"]
WRONG = [(b, BLOCKS[i + 1]) for i, b in enumerate(BLOCKS) if b.info == "boat wrong"]


def framed(fragment: str) -> str:
    """A fragment with the frame behind it, but for the lines that it has itself."""
    begins = [line.split()[:2] for line in fragment.splitlines() if line[:1].isalpha()]
    own = {" ".join(words) for words in begins} | {words[0] for words in begins if words[0] in {"boat", "system"}}
    kept = [
        line for line in FRAME.text.splitlines() if " ".join(line.split()[:2]) not in own and line.split()[0] not in own
    ]
    return fragment + "\n".join(kept) + "\n"


def table(heading: str) -> list[list[str]]:
    """The cells of the first table below a heading, without the head of the table."""
    below = PAGE.split(f"\n## {heading}\n", 1)[1].split("\n## ", 1)[0]
    rows = [line for line in below.splitlines() if line.startswith("|")]
    return [[cell.strip() for cell in re.split(r"(?<!\\)\|", row)[1:-1]] for row in rows[2:]]
