"""File names that hide something, are no UTF-8 or mean something to whoever reads the form: in every form of `check`."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import xml.etree.ElementTree as ET
from pathlib import Path

import pytest

from tests.report.conftest import BAD

ROOT = Path(__file__).resolve().parents[2]
NAMES = {
    "not-utf-8": b"\xff\xfe.boat", "turned": "\u202etaob.boat".encode(), "line": b"a\nb::error::x.boat",
    "command": b"::error file=x::y.boat", "markup": b"<a href='x'>&\".boat", "formula": b"=cmd|calc.boat",
    "escape": b"\x1b[31m.boat", "percent": b"%41 %2F#?.boat", "astral": "\U0001f6e5.boat".encode(),
}  # fmt: skip


def check(name: bytes, *options: str) -> subprocess.CompletedProcess[bytes]:
    """As a program of its own, so that nothing between changes a byte."""
    Path(os.fsdecode(name)).write_text(BAD, encoding="utf-8")
    call = [sys.executable, "-m", "linter.cli", "check", "--today", "2026-11-25", *options, "--", name]
    environment = os.environ | {"PYTHONPATH": str(ROOT), "LC_ALL": "C.UTF-8"}
    done = subprocess.run(call, capture_output=True, env=environment)
    assert b"Traceback" not in done.stderr, done.stderr.decode("utf-8", "replace")
    return done


def clean(text: str) -> bool:
    return all(c.isprintable() for c in text.replace("\n", ""))


@pytest.mark.usefixtures("yard")
@pytest.mark.parametrize("name", NAMES.values(), ids=NAMES.keys())
def test_each_form(name: bytes) -> None:
    for form in ("sarif", "junit", "annotations", "code-quality"):
        done = check(name, "--format", form)
        assert done.returncode == 1, done.stderr
        text = done.stdout.decode("utf-8")
        assert clean(text), form
        if form == "sarif":
            (run,) = json.loads(text)["runs"]
            assert run["artifacts"][0]["location"]["uri"].isascii() and len(run["results"]) == 2
        elif form == "junit":
            assert ET.fromstring(text).get("failures") == "2"
        elif form == "annotations":
            assert [line[:13] for line in text.splitlines()] == ["::error file=", "::error file=", "wireworthy: 1"]
        else:
            assert [i["check_name"] for i in json.loads(text)] == ["conductor-unprotected", "conductor-overloaded"]
    assert check(name, "--record", "known.json").returncode == 0
    assert check(name, "--against", "known.json").returncode == 0
    (shown,) = json.loads(Path("known.json").read_text(encoding="utf-8"))["designs"]
    assert os.fsencode(shown) == name
