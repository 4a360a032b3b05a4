"""No conductor is smaller than the rulebook's least size."""

from __future__ import annotations

import math
from collections.abc import Iterator

from linter.model.elements import Conductor
from linter.rules.finding import Severity
from linter.rules.registry import Wrong, rule
from linter.study.study import Study
from linter.tables.rulebook import LeastSize, Rulebook


@rule(
    "conductor-too-small",
    Severity.FAULT,
    demand="No conductor is smaller than the rulebook's least size.",
    reason="Below a certain size a conductor breaks by vibration and handling before it is ever overloaded.",
    clause="33 CFR 183.425; ISO 13297, conductors",
    status="second-hand",
    mend="Take at least the least size, or run it inside a sheath where that allows a smaller one.",
    measure=(
        "Read the size off the conductor; see whether it runs in a sheath, and how much of it stands out of that."
    ),
    bad="""
from B
cable W1, 50 mm2, 0.15 m
fuse F1, part main, 150 A
cable W2, 50 mm2, 1 m
bus POS, 250 A
from POS
fuse F3, part branch, 3 A
cable W3, 0.75 mm2, 3 m
load LAMP, draws 1 A
""",
    good="""
from B
cable W1, 50 mm2, 0.15 m
fuse F1, part main, 150 A
cable W2, 50 mm2, 1 m
bus POS, 250 A
from POS
fuse F3, part branch, 3 A
cable W3, 0.75 mm2, 3 m, in sheath
load LAMP, draws 1 A
""",
    whole=False,
)
def RULE(study: Study) -> Iterator[Wrong]:
    for made in study.conductors.values():
        conductor = made.conductor
        sheathed = _sheathed(conductor)
        for back in (False, True):
            broken = [(book, least) for book in study.rulebooks if (least := _broken(conductor, book, sheathed, back))]
            if not broken:
                continue
            book, least = max(broken, key=lambda b: b[1].area_mm2)
            how = "inside a sheath" if sheathed else "run singly"
            mend = f"a return of at least {least.size}" if back else f"at least {least.size}"
            if not sheathed:
                inside = [i for other in study.rulebooks if (i := _broken(conductor, other, True, back))]
                if not inside:
                    mend += ", or inside a sheath"
            what = f"the return of {conductor.title}" if back else conductor.title
            size = conductor.return_size if back else conductor.size
            yield Wrong(
                conductor,
                f"{what} is {size}; {book.name} asks for at least {least.size} {how}",
                mend,
                span=conductor.where("return size" if back else "area"),
                cite=least.cite,
            )


def _sheathed(conductor: Conductor) -> bool:
    return "sheath" in conductor.covering


def _broken(conductor: Conductor, book: Rulebook, sheathed: bool, back: bool) -> LeastSize | None:
    """The least size that a rulebook asks for and a conductor, sheathed or not, is below; None where it is not.
    ``back``: its return, where that has a size of its own."""
    least = book.least_size("sheathed" if sheathed else "single")
    size = conductor.return_size if back else conductor.size
    if least is None or size is None or size.value >= least.area_mm2 * ROUNDED:
        return None
    length_m = conductor.return_m if back and conductor.return_m is not None else conductor.length_m
    length_mm = math.inf if length_m is None else length_m * 1000
    if least.longer_than_mm is not None and length_mm <= least.longer_than_mm:
        return None
    return least


ROUNDED = 0.995
