"""What is known of a start that a device's curve does not reach."""

from __future__ import annotations

from pathlib import Path

import pytest

from linter.model.build import build
from linter.rules.engine import examine
from linter.rules.finding import Severity
from linter.source.files import Reader

BOAT = """boat "Example", 9 m, rulebook abyc-e11
system DC12, 12 V, negative earthed
cables, insulation 105 °C, tinned
battery B, AGM, 12 V, 100 Ah, resistance 20 mΩ
from B
{device}, {rated}, 32 V, breaks 2 kA at 32 V{curve}
cable W1, 6 mm2, 2 m
load PUMP, motor, draws 4 A, starts {start} for {lasts}
"""
# IEC 60269-1 and ISO 8820-1 give a band: the fuse opens between its two times at a current; no published curve of a fuse
# rises again, so what may happen at the last point may happen, no later, at every larger current (common practice).
ENDS_EARLY = ", opens at 200 % in 0.5 s to 5 s, opens at 400 % in 50 ms to 0.2 s"


FUSE = "fuse F1, blade"


@pytest.mark.parametrize(
    ("device", "rated", "curve", "start", "lasts", "severity"),
    [
        # 60 A is 12 times 5 A; at 4 times it may open after 50 ms
        (FUSE, "5 A", ENDS_EARLY, "60 A", "2 s", Severity.FAULT),
        # nobody says what it does in the first 20 ms at 12 times its rating
        (FUSE, "5 A", ENDS_EARLY, "60 A", "20 ms", Severity.DOUBT),
        # 60 A is 3 times 20 A: 158 ms by the line in logarithms between 0.5 s at 2 and 50 ms at 4 times
        (FUSE, "20 A", ENDS_EARLY, "60 A", "0.2 s", Severity.FAULT),
        (FUSE, "20 A", ENDS_EARLY, "60 A", "0.1 s", None),
        # only when it has opened is told, and that is before the start ends
        (FUSE, "5 A", ", opens at 200 % in 5 s, opens at 400 % in 0.2 s", "60 A", "2 s", Severity.FAULT),
        (FUSE, "5 A", ", opens at 200 % in 5 s, opens at 400 % in 0.2 s", "60 A", "0.1 s", Severity.DOUBT),
        # 8.4 A is 280 % of 3 A, whatever the last digit: 5 s
        (FUSE, "3 A", ", opens at 280 % in 5 s to 9 s", "8.4 A", "0.6 s", None),
        # by what it lets through it has opened after 0.25 ms at 2 kA
        (FUSE, "20 A", ENDS_EARLY + ", lets through 1 kA2s at 2 kA", "2000 A", "20 ms", Severity.FAULT),
        # a class whose standard promises nothing (IEC 60947-2 leaves the curve to the maker)
        ("breaker F1, thermal", "5 A", "", "60 A", "2 s", Severity.DOUBT),
    ],
)
def test_a_start_beyond_the_curve(
    device: str, rated: str, curve: str, start: str, lasts: str, severity: Severity | None, tmp_path: Path
) -> None:
    path = tmp_path / "a.boat"
    path.write_text(BOAT.format(device=device, rated=rated, curve=curve, start=start, lasts=lasts), encoding="utf-8")
    design = build(Reader().design(str(path)))
    assert design.whole, [m.message for m in design.mistakes]
    found = [f for f in examine(design).findings if f.rule == "start-opens-device"]
    assert [f.severity for f in found] == ([severity] if severity else [])
