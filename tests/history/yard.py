"""A boat small enough to know by heart, and a repository of all its states, made by git itself in one go."""

from __future__ import annotations

import subprocess
from collections.abc import Sequence
from pathlib import Path

from tests.history.conftest import git_in

Files = dict[str, str]

DUNLIN = """\
# Dunlin: an invented angling boat.
boat "Dunlin", 7.4 m, rulebook iso-13297
system DC12 "Ship's 12 V", 12 V, negative earthed, least 10.5 V, greatest 14.4 V
cables, insulation 105 °C, tinned
use parts/makes.boat
use lights.boat

place LOCKER "Battery locker", ambient 30 °C
place HELM "Helm console", ambient 30 °C

battery BANK "Bank", part bank-agm, in LOCKER

from BANK
cable W1 "Bank to main fuse", 50 mm2, 0.15 m, in LOCKER
fuse F1 "Main fuse", part make-t, 150 A, in LOCKER
cable W2 "Main feed", 50 mm2, 1.2 m
bus POS "Positive bus", 200 A, in HELM

from POS
fuse F2 "Pump", part make-c, 15 A, in HELM
cable W3 "Pump feed", 4 mm2, 3 m
joint SUMP "Sump terminal", in LOCKER

from SUMP
load PUMP "Bilge pump", draws 6 A, works from 9 V, in LOCKER

from POS
fuse F3 "Sounder", part make-c, 5 A, in HELM
cable W4 "Sounder feed", 2.5 mm2, 2 m
load SOUNDER "Fish finder", draws 2 A, works from 10 V, asks fuse 3 A, in HELM

from POS
fuse F4 "Heater", part make-c, 20 A, in HELM
cable W5 "Heater feed", 6 mm2, 2.5 m
load HEATER "Cuddy heater", draws 12 A, works from 10 V, asks fuse 20 A, in HELM

scene "Under way", PUMP, SOUNDER, HEATER, LAMP
accept device-not-as-asked at SOUNDER, "3 A of this make is sold out; 5 A guards the cable too", by "A. Tern", until 2027-06-30
"""
LIGHTS = """\
from   POS
fuse   F5 "Lamp", part make-c,  5 A, in HELM
cable  W6 "Lamp feed", 2.5 mm2, 4 m
switch S1 "Lamp switch", 10 A,  in HELM, resistance 5 mΩ
cable  W7 "Lamp tail", 2.5 mm2, 1 m
load   LAMP "Deck lamp", draws 2 A, works from 10 V, in HELM
"""
MAKES = """\
part bank-agm, battery
  AGM, 12 V, 100 Ah, resistance 4 mΩ
part make-t, fuse
  class T, 125 V, breaks 20 kA at 125 V, resistance 0.3 mΩ
  opens at 135 % in 400 s to 3600 s, opens at 500 % in 0.5 s to 3 s, opens at 1000 % in 60 ms to 0.25 s
  opens at 2000 % in 12 ms to 30 ms, lets through 300 kA2s
part make-c, fuse
  comes in 3 A 5 A 10 A 15 A 20 A 30 A
  cartridge, 125 V, breaks 3 kA at 125 V, resistance 5 mΩ
  opens at 135 % in 60 s to 600 s, opens at 200 % in 1 s to 30 s, opens at 500 % in 20 ms to 0.2 s
  opens at 1000 % in 4 ms to 20 ms, opens at 2000 % in 1 ms to 5 ms, lets through 3 kA2s
"""
BASE: Files = {"dunlin.boat": DUNLIN, "lights.boat": LIGHTS, "parts/makes.boat": MAKES}
START_S = 1_767_225_600  # 2026-01-01, and a commit a day


def replaced(files: Files, name: str, old: str, new: str) -> Files:
    """The files with one place of one of them otherwise; it must be there, once."""
    assert files[name].count(old) == 1, (name, old)
    return files | {name: files[name].replace(old, new)}


def make_repository(folder: Path, states: Sequence[tuple[str, Files]]) -> None:
    """A repository whose main branch has a commit for each (message, files), the same whenever and wherever it is
    made.  Checkout and index stay empty."""
    folder.mkdir()
    git_in(folder)("init", "-q", "-b", "main")
    lines: list[bytes] = []

    def data(text: str) -> None:
        content = text.encode("utf-8")
        lines.append(b"data %d\n%s\n" % (len(content), content))

    for number, (message, files) in enumerate(states):
        when = START_S + 86_400 * number
        lines.append(b"commit refs/heads/main\nmark :%d\n" % (number + 1))
        lines.append(b"author A. Tern <a@invalid> %d +0000\ncommitter A. Tern <a@invalid> %d +0000\n" % (when, when))
        data(message)
        if number:
            lines.append(b"from :%d\n" % number)
        lines.append(b"deleteall\n")
        for name, text in sorted(files.items()):
            lines.append(b"M 100644 inline %s\n" % name.encode("utf-8"))
            data(text)
    subprocess.run(["git", "fast-import", "--quiet"], cwd=folder, input=b"".join(lines), check=True)


def write_out(folder: Path, files: Files) -> None:
    """Makes the working tree these files and nothing else."""
    for path in sorted(folder.rglob("*.boat")):
        if ".git" not in path.parts:
            path.unlink()
    for name, text in files.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
