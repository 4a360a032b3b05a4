"""Text and files' names, safe for forms that other programs read."""

from __future__ import annotations

import os
import sys
import unicodedata
import xml.etree.ElementTree as ET
from pathlib import Path
from urllib.parse import unquote_to_bytes, urlsplit

import pytest

from linter.report.places import LONGEST, below, relative, shown, uri


def test_no_character_that_hides_anything_is_shown_as_it_is() -> None:
    """Of all there are; XML 1.0, 2.2 lets none of the left ones out."""
    every = [chr(c) for c in range(sys.maxunicode + 1)]
    hidden = [c for c in every if unicodedata.category(c) in {"Cc", "Cf", "Cs", "Zl", "Zp"} or c in "\ufffe\uffff"]
    assert len(hidden) > 2000 and {"\x1b", "\u202e", "\u061c", "\xad", "\U000e0041", "\ud800"} <= set(hidden)
    for char in hidden:
        assert shown(char) == (" " if char == "\t" else f"[U+{ord(char):04X}]")
    kept = "".join(c for c in every if shown(c) == c)
    assert ET.fromstring(f"<x>{kept.replace('&', '').replace('<', '')}</x>").text


def test_ordinary_text_stays_as_it_is() -> None:
    for text in ("", "W11, 2.5 mm², 10 kA²s at 5 mΩ", "сирена 警告 ö", "🛥", "a'b\"c<d>&"):
        assert shown(text) == text
    assert shown("1\xa0000\u2009A\tx") == "1 000 A x"


def test_long_text_is_cut_and_says_so() -> None:
    assert shown("x" * LONGEST) == "x" * LONGEST
    assert shown("x" * (LONGEST + 1)) == "x" * (LONGEST - 1) + "…"


@pytest.mark.parametrize("name", ["a.boat", "a b/%41#?.boat", "ä/🛥:1.boat", "..x/a.boat", "~/a.boat"])
def test_addresses_lead_back(yard: Path, name: str) -> None:
    for spelled in (name, f"./{name}", f"x/../{name}", str(yard / name)):
        address, is_relative = uri(spelled)
        parts = urlsplit(address)
        assert is_relative and not parts.scheme and not parts.netloc and not parts.query and not parts.fragment
        assert os.fsdecode(unquote_to_bytes(parts.path)) == name == relative(spelled)


def test_what_lies_outside(yard: Path) -> None:
    assert relative("../x.boat") is None and relative("/x.boat") is None
    assert uri("../x y.boat") == ((yard.parent / "x y.boat").as_uri(), False)
    assert below("a/x.boat", yard / "b") == "../a/x.boat"
