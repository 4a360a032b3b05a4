"""Which letters the typesetter's own font has, and which of the others a font of this machine has.

A font's table of glyphs is read as the OpenType specification describes it: table cmap, formats 4 and 12.
"""

from __future__ import annotations

import os
import struct
import sys
import tomllib
from collections.abc import Iterator
from functools import cache
from pathlib import Path

SUFFIXES = frozenset((".ttf", ".otf", ".ttc", ".otc"))
GREATEST_BYTES = 200 << 20
_NO_INK = frozenset("\t\n\r\u200b\u200c\u200d\ufe0e\ufe0f\ufffd")


@cache
def own_ranges() -> tuple[tuple[int, int], ...]:
    """The letters of the font that the typesetter carries, as ranges of code points."""
    text = (Path(__file__).parent / "mono_glyphs.toml").read_text(encoding="utf-8")
    return tuple((a, b) for a, b in tomllib.loads(text)["ranges"])


def lacking(text: str) -> set[str]:
    """The letters of ``text`` that the typesetter's own font lacks."""
    if text.isascii():
        return set()
    every = {c for c in set(text) if c > "\u017e"} - _NO_INK
    return {c for c in every if not any(a <= ord(c) <= b for a, b in own_ranges())}


def folders() -> list[Path]:
    """Where this kind of machine keeps its fonts."""
    home = Path.home()
    if sys.platform == "win32":
        return [Path(os.environ.get("WINDIR", "C:\\Windows")) / "Fonts", home / "AppData/Local/Microsoft/Windows/Fonts"]
    if sys.platform == "darwin":
        return [Path("/System/Library/Fonts"), Path("/Library/Fonts"), home / "Library/Fonts"]
    return [Path("/usr/share/fonts"), Path("/usr/local/share/fonts"), home / ".fonts", home / ".local/share/fonts"]


def nowhere(letters: set[str], where: list[Path] | None = None) -> list[str]:
    """Those of ``letters`` that no font in these folders has, in order; without folders, those of the machine."""
    left = set(letters)
    for file in _files(folders() if where is None else where):
        if not left:
            break
        try:
            if file.stat().st_size <= GREATEST_BYTES:
                left -= having(file.read_bytes(), left)
        except (OSError, struct.error, IndexError, ValueError):
            continue  # a file that is no font, or a torn one, has no letters
    return sorted(left)


def _files(where: list[Path]) -> Iterator[Path]:
    for folder in where:
        for root, inside, names in os.walk(folder):
            inside.sort()
            yield from (Path(root) / n for n in sorted(names) if os.path.splitext(n)[1].lower() in SUFFIXES)


def having(font: bytes, letters: set[str]) -> set[str]:
    """Those of ``letters`` that a font file has a glyph for.  Raises struct.error where it is torn."""
    starts = [0]
    if font[:4] == b"ttcf":
        (count,) = struct.unpack_from(">I", font, 8)
        starts = list(struct.unpack_from(f">{min(count, 64)}I", font, 12))
    return {c for c in letters if any(_has(font, table, ord(c)) for start in starts for table in _tables(font, start))}


def _tables(font: bytes, start: int) -> list[int]:
    """Where the subtables of cmap begin."""
    (count,) = struct.unpack_from(">H", font, start + 4)
    for n in range(count):
        tag, _, offset, _ = struct.unpack_from(">4sIII", font, start + 12 + 16 * n)
        if tag == b"cmap":
            (many,) = struct.unpack_from(">H", font, offset + 2)
            records = [struct.unpack_from(">HHI", font, offset + 4 + 8 * k) for k in range(many)]
            return [offset + at for platform, _, at in records if platform in (0, 3)]
    return []


def _has(font: bytes, table: int, code: int) -> bool:
    (form,) = struct.unpack_from(">H", font, table)
    if form == 12:
        (count,) = struct.unpack_from(">I", font, table + 12)
        low, high = 0, count
        while low < high:
            middle = (low + high) // 2
            first, last, glyph = struct.unpack_from(">III", font, table + 16 + 12 * middle)
            if code > last:
                low = middle + 1
            elif code < first:
                high = middle
            else:
                return bool(glyph + code - first)
        return False
    if form != 4 or code > 0xFFFF:
        return False
    (twice,) = struct.unpack_from(">H", font, table + 6)
    ends, starts = table + 14, table + 16 + twice
    for at in range(0, twice, 2):
        if struct.unpack_from(">H", font, ends + at)[0] < code:
            continue
        (first,) = struct.unpack_from(">H", font, starts + at)
        if first > code:
            return False
        (delta,) = struct.unpack_from(">H", font, starts + twice + at)
        (offset,) = struct.unpack_from(">H", font, starts + 2 * twice + at)
        if not offset:
            return bool((code + delta) & 0xFFFF)
        (glyph,) = struct.unpack_from(">H", font, starts + 2 * twice + at + offset + 2 * (code - first))
        return bool(glyph)
    return False
