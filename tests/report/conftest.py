"""Designs that every form of `check` has to stand: ordinary ones, and hostile ones."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from linter.cli import main
from linter.rules.registry import PRELUDE

GOOD = (
    PRELUDE
    + """from B
cable W1, 50 mm2, 0.15 m
fuse F1, class T, 150 A, 125 V, lets through 60 kA2s at 20 kA
  opens at 135 % in 200 s to 3600 s, opens at 500 % in 40 ms to 0.2 s, opens at 1000 % in 5 ms to 12 ms
cable W2, 50 mm2, 1 m
load HEATER "Cabin heater", draws 40 A
"""
)
#: A conductor-unprotected (danger) at W2, and what follows of it.
BAD = GOOD.replace("50 mm2, 1 m", "2.5 mm2, 1 m")
ACCEPT = 'accept conductor-unprotected at W2, "rewired in spring; isolated till then", by "J. Holm", until 2027-04-01\n'
ACCEPTED = BAD + ACCEPT
#: Only advice.
ADVICE = GOOD + "battery SPARE, AGM, 12 V, 50 Ah, resistance 5 mΩ\n"
#: A line that cannot be read, so that rules stay quiet.
LOST = BAD + "cabel W9\n"

#: Labels and boat's names that mean something to whoever shows them, or hide what is said.
HOSTILE = {
    "controls": "bell \x07 null \x00 escape \x1b[31m backspace \x08 c1 \x9b31m",
    "right-to-left": "abc \u202egnp.eman\u202c \u2066x\u2069 \u05d0\u05d1 \u061c",
    "markup": "<script>alert(1)</script> & ]]> <!-- --> <![CDATA[ &lt; 'x' `y` **b** [a](1) [c](javascript:x) {0} {{1}}",
    "commands": "::error file=x::y %0A::warning::z ##[error]w , : % %25 |",
    "formula": "=cmd|' /C calc'!A0",
    "formula-plus": "+1+1",
    "formula-at": "@SUM(1)",
    "unseen": "zero\u200bwidth \ufeffbom \u2028line \u2029para \ufffe \uffff \U000e0041 soft\xadhyphen",
    "let-through": "soft\xadhyphen \u061c mark \u180e \ufffe \uffff tag\U000e0041",
    "long": "very long " * 20_000,
    "long-word": "x" * 200_000,
    "long-figures": "1," * 50_000 + "1e5x (" * 20_000,
    "astral": "𝔘𝔫𝔦 🛥️ e\u0301",
}  # fmt: skip


def hostile(label: str) -> str:
    """A design with findings, in which ``label`` stands wherever words may."""
    words = label.replace('"', "")
    accept = f'accept not-fed at LOST, "{words} and three more words", by "{words} Holm", until 2027-04-01\n'
    return (
        BAD.replace('"Example"', f'"{words}"')
        .replace('"Cabin heater"', f'"{words}"')
        .replace("cable W2,", f'cable W2 "{words}",')
        + f'load LOST "{words}", draws 1 A\n'
        + accept
    )


@pytest.fixture
def yard(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty folder, which is the current one."""
    monkeypatch.chdir(tmp_path)
    return tmp_path


def check(text: str, *options: str, name: str = "x.boat") -> Result:
    """`check` of a file with this text, on a day of 2026."""
    Path(name).parent.mkdir(parents=True, exist_ok=True)
    Path(name).write_text(text, encoding="utf-8")
    return checked(name, *options)


def checked(*arguments: str) -> Result:
    result = CliRunner().invoke(main, ["check", *arguments, "--today", "2026-11-25"])
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    return result
