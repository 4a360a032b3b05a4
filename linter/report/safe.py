"""Text from a design, made safe for where it is shown."""

from __future__ import annotations

import re

# Controls, and marks that turn the direction of writing: on a terminal they could hide or fake what is said.
_HIDDEN = re.compile(r"[\x00-\x08\x0a-\x1f\x7f-\x9f\u200b-\u200f\u2028-\u202e\u2060-\u2069\ufeff\ud800-\udfff]")


def for_terminal(text: str) -> str:
    """``text`` without anything that a terminal acts upon; such characters are shown by their number."""
    return _HIDDEN.sub(lambda m: f"\\u{{{ord(m[0]):x}}}", text).replace("\t", " ")


def for_csv(text: str) -> str:
    """``text`` that no spreadsheet takes for a formula."""
    return "'" + text if text[:1] in {"=", "+", "-", "@", "\t", "\r"} else text
