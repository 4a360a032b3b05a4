"""Designs to make binders of, and what is read back from a PDF."""

from __future__ import annotations

import datetime
import io
import re
import unicodedata
from functools import cache

import pypdf

from linter.binder.contents import document
from linter.binder.subject import Choice, Subject
from linter.binder.typeset import pdf
from linter.drawing.revision import Revision
from linter.model.build import build
from linter.model.design import Design
from linter.rules.engine import examine
from linter.source.files import Reader

DAY = datetime.date(2026, 6, 1)
AT = Revision("0123abcd", "2026-05-17", False)

SMALL = """\
boat "Dunlin", 9 m, rulebook iso-13297
system DC12, 12 V, negative earthed, greatest 14.8 V
cables, insulation 105 °C, class 5, tinned
place LOCKER "Port locker", ambient 30 °C
place ENGINE-ROOM, ambient 50 °C, engine space

part blade-30 "Brack blade fuse in block", fuse
  blade, fast, 32 V, breaks 6 kA at 32 V, holder 30 A, comes in 3 A 5 A 10 A 25 A
  opens at 135 % in 0.75 s to 600 s, opens at 600 % in 15 ms to 60 ms
  says "Brack fuses, p. 4"

battery HOUSE "House bank", AGM, 12 V, 200 Ah, resistance 2.5 mΩ, in LOCKER

from HOUSE
cable W1, 35 mm2, 0.15 m, red
fuse F1 "House main", class T, 150 A, 125 V, breaks 20 kA at 125 V, in LOCKER
cable W2 "To the bus", 35 mm2, 1.25 m, red
bus POS "Positive bus", 200 A, in LOCKER

from POS
fuse F2 "Plotter", part blade-30, 3 A, in LOCKER
cable W3, 1.5 mm2, 4 m, in conduit
load PLOTTER "Chart plotter", draws 1.2 A, asks fuse 3 A to 5 A, says "Plotter manual, p. 7"

from POS
fuse F3 "Pump", part blade-30, 25 A, in LOCKER
cable W4, 6 mm2, 3.5 m, 2 m in ENGINE-ROOM, return 4 m
load PUMP "Bilge pump", motor, draws 12 A, starts 30 A for 0.3 s, vital, works from 10.5 V

from POS
breaker Q4 "Lights", thermal, 10 A, breaks 5 kA, automatic reset, in LOCKER
cable W5, 2.5 mm2, 5 m, blue, return 4 mm2
load LIGHTS "Cabin lights", light, draws 24 W, runs 4 h a day

from POS
fuse F5 "Spare way", part blade-30, 5 A, in LOCKER
cable W6, 1.5 mm2, 1 m
load HORN, draws 4 A

scene "Evening", LIGHTS, PLOTTER, for 3 h
scene "Pumping", PUMP, for 30 min

accept protection-distance at W1, "cover on order", by "J. Holm", until 2026-12-31
accept voltage-drop at PUMP, "as its maker allows", by "J. Holm", until 2026-12-31
"""

LONG = "Very-long-" + "abcdefghijklmnopqrstuvwxyz" * 8
HOSTILE = f"""\
boat "#set page(fill: red) <script>alert(1)</script> {LONG} 艇首灯", 9 m, rulebook iso-13297
system DC12, 12 V, negative earthed
cables, insulation 105 °C, tinned
place LOCKER "#panic() $x$ *b* _i_ @ref </script><img src=x onerror=alert(1)>", ambient 30 °C
battery HOUSE "=SUM(A1) 🔋 #eval(x)", AGM, 12 V, 100 Ah, in LOCKER

from HOUSE
cable W1, 35 mm2, 0.15 m, red
fuse F1 "{LONG}", class T, 100 A, breaks 20 kA at 125 V, in LOCKER
cable W2, 35 mm2, 1 m
bus POS "Ж Шина & <b>bus</b> ]] [[ #read(x)", 100 A

from POS
fuse F2 "艇首灯", blade, 10 A
cable 灯, 2.5 mm2, 3 m
load 航行灯 "نور 😀", draws 3 A, says "]] #read(/etc) [["

from POS
fuse F3, blade, 20 A
cable Wيد, 6 mm2, 3 m
load {"L" * 120} "x", draws 5 A

from POS
cable NO-FIGURES
load NOTHING-TOLD "no figures"

scene "All {LONG}", 航行灯, for 2 h
"""


def design_of(text: str) -> Design:
    return build(Reader().design_text(text))


def subject_of(text: str, revision: Revision | None = AT, **choice: str) -> Subject:
    return Subject(examine(design_of(text), None, DAY), revision, Choice(**choice))  # type: ignore[arg-type]


@cache
def small() -> Subject:
    return subject_of(SMALL)


@cache
def small_pdf(paper: str = "a4") -> bytes:
    return pdf(document(subject_of(SMALL, paper=paper)))


@cache
def launch() -> Subject:
    return Subject(examine(build(Reader().design("boats/launch.boat")), None, DAY), AT, Choice())


@cache
def launch_pdf() -> bytes:
    return pdf(document(launch()))


@cache
def hostile_pdf() -> bytes:
    return pdf(document(subject_of(HOSTILE, None)))


def read(data: bytes) -> pypdf.PdfReader:
    return pypdf.PdfReader(io.BytesIO(data))


def plain(text: str) -> str:
    """Text as it was before it was set: ligatures taken apart, places for breaks taken out, blanks as one."""
    text = unicodedata.normalize("NFKC", text).replace("\u200b", "").replace("\u200e", "")
    return re.sub(r"\s+", " ", text)


@cache
def pages_of(data: bytes) -> tuple[str, ...]:
    return tuple(plain(p.extract_text()) for p in read(data).pages)


def section_text(data: bytes, title: str) -> str:
    """The text from the bookmark of a section to that of the next, which may begin on the same page."""
    reader = read(data)
    marks = [d for d in reader.outline if not isinstance(d, list)]
    names = [plain(str(d.title)) for d in marks]
    starts = [reader.get_destination_page_number(d) for d in marks]
    place = next(n for n, name in enumerate(names) if name.endswith(title))
    pages = pages_of(data)
    first = pages[starts[place]]
    # the head of the page has the title too; what stands last is the heading
    first = first[first.rindex(names[place]) :]
    if place + 1 == len(starts):
        return " ".join([first, *pages[starts[place] + 1 :]])
    after = names[place + 1]
    if starts[place] == starts[place + 1]:
        return first[: first.rindex(after)]
    last = pages[starts[place + 1]]
    return " ".join([first, *pages[starts[place] + 1 : starts[place + 1]], last[: last.rindex(after)]])
