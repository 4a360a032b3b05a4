"""Ten cable schedules as people have them: headers of their own, decimal commas, merged cells, sums, mixed units."""

from __future__ import annotations

import pytest

from linter.source.schedule import import_schedule

from .test_schedule import code, made, told

SEMICOLONS = (
    "\ufeffCable Nr.;From;To;Cross-section mm²;Length (m);Fuse;Remarks\r\n"
    "W1;House battery;Main fuse;70;0,2;;\r\nW2;Main fuse;Main busbar;70;1,1;ANL 250A;\r\n;;;;;;\r\n"
    "W3;Main busbar;Anchor windlass;35;9,5;Thermal breaker 100A;see manual\r\n"
)
AMERICAN = (
    "Kestrel - wiring schedule,,,,,,,\nRev 3,,,,,,,\n,,,,,,,\n"
    "Circuit,From,To,Wire (AWG),Length (ft),Protection,Amps,Color\n"
    "Bilge pump,Panel,Bilge pump,14,18,fuse,10,brown\nNav lights,Panel,Tricolour light,16,62,breaker,5,gray\n"
    "VHF,Panel,VHF radio,#12,9.5,Fuse,7.5A,RED/BLK\n"
)
MERGED = "From,To,Size,Length,Fuse\nBattery,Bus,2 AWG,3',150\n,Pump 1,2.5mm2,4 m,10\n,Pump 2,1.5 sqmm,15ft 6in,7.5\n"
TABS = (
    "Circuit No.\tDescription\tStart point\tEnd point\tConductor\tRun (m)\tOCPD\n"
    "1\tHouse feed\tHouse bank +\tDC main bus\t50mm²\t1.5 m\tClass T 200A\n"
    "2\tAutopilot\tDC main bus\tAutopilot\t4 mm²\t7.0 m\t20A breaker\n"
    "3\tStern light\tDC main bus\tStern light\t1.5 mm²\t12.0 m\t5 A\n"
)
SHEATHED = (
    '"from";"to";"size";"length";"device";"rating"\n"Switch";"Panel";"3x2.5 mm2";"2 m";"MCB C16";"16 A"\n'
    '"Panel";"Cabin lights";"2 x 1.5";"6m";"fuse";"5A"\n'
)
SUMS = (
    "Item,Supply,Consumer,CSA (mm2),Cable run one way (m),Total length (m),Breaker (A),Notes\n"
    '1,Switch panel,Shower pump,2.5,"6,0",12,10,shared return\nTOTAL,,,,6,12,,\n'
)
THOUSANDS = (
    "From;To;Size;Length;Protective device;Rating\nSTART BATTERY;STARTER MOTOR;70 mm2;1.400,00 mm;None;\n"
    "START BATTERY;ALTERNATOR;35 mm2;2.100 mm;Fuse;\nALTERNATOR;START BATTERY;35mm;2,1;strip fuse;150\n"
)
GAUGES = (
    "wire,from,to,gauge,length ft,fuse type,fuse size\nA1,BATT,BUS+,4/0,2.5,class T,300\nA2,BUS-,BATT,4/0,2.5,,\n"
    "A3,BUS+,PANEL,6,8,blade,40\n"
)
STROKES = (
    "From|To|Size|Length|Device|Rating\nBank|Distribution|50mm2|1m|Strip fuse|200A\n"
    'Distribution|LED-strips (saloon)|0,75mm2|8m|Mini blade|3A\nDistribution|Änderung "A"|1mm2|5m|=cmd|1A\n'
)
TERMINALS = (
    "Source terminal,Load terminal,Wire size,Wire length,Circuit protection\n"
    'House +ve,DC panel +ve,"AWG 2",6 ft,Circuit breaker 100 amp\nDC panel +ve,Stereo,16 AWG,9 ft,20 amp breaker\n'
)


@pytest.mark.parametrize(
    ("text", "conductors", "lines", "problems"),
    [
        (SEMICOLONS, 3, ["cable W1, 70 mm2, 0.2 m", "fuse F2, ANL, 250 A", "breaker Q3, thermal, 100 A", "cable W3, 35 mm2, 9.5 m"], []),
        (AMERICAN, 3, ['cable W1 "Bilge pump", 14 AWG, 18 ft, brown', "breaker Q2, 5 A", 'cable W3 "VHF", 12 AWG, 9.5 ft'], ["RED/BLK"]),
        (MERGED, 3, ["fuse F1, 150 A", "cable W2, 2.5 mm2, 4 m", "cable W3, 1.5 mm2, 186 in"], ["line 2 above", "line 2 above"]),
        (TABS, 3, ['cable W1 "House feed", 50 mm2, 1.5 m', "fuse F1, class T, 200 A", "breaker Q2, 20 A"], ["a fuse, or a breaker"]),
        (SHEATHED, 2, ["breaker Q1, 16 A, curve C", "cable W1, 2 m", "fuse F2, 5 A"], ["3 side by side", "2 side by side"]),
        (SUMS, 1, ["breaker Q1, 10 A", "cable W1, 2.5 mm2, 6.0 m"], ["Total length"]),
        (THOUSANDS, 3, ["cable W1, 70 mm2, 1400.00 mm", "cable W2, 35 mm2", "fuse F3, bolt-down strip, 150 A"], ["part thousands", "no size", "no unit"]),
        (GAUGES, 2, ["cable A1, 4/0 AWG, 2.5 ft", "fuse F1, class T, 300 A", "cable A3, 6 AWG, 8 ft"], ["the return side"]),
        (STROKES, 3, ["fuse F1, bolt-down strip, 200 A", "cable W2, 0.75 mm2, 8 m", "cable W3, 1 mm2, 5 m"], ["=cmd"]),
        (TERMINALS, 2, ["breaker Q1, 100 A", "cable W1, 2 AWG, 6 ft", "breaker Q2, 20 A"], []),
    ],
    ids=["semicolons", "american", "merged", "tabs", "sheathed", "sums", "thousands", "gauges", "strokes", "terminals"],
)  # fmt: skip
def test_schedules(text: str, conductors: int, lines: list[str], problems: list[str]) -> None:
    found = made(text, "")
    assert found.conductors == conductors
    written = code(found)
    assert [line for line in lines if line not in written] == []
    assert len(told(found)) == len(problems), told(found)
    for said, expected in zip(told(found), problems, strict=True):
        assert expected in said


def test_a_rating_without_a_unit_is_taken_and_asked() -> None:
    text = import_schedule(MERGED, "Tern", "12 V").text
    assert "fuse F1, 150 A  # to do: class, is it 150 A? no unit in the schedule, voltage, breaking capacity" in text
    assert "no unit in" not in import_schedule(AMERICAN, "Tern", "12 V").text


def test_a_merged_cell_is_asked_about() -> None:
    text = import_schedule(MERGED, "Tern", "12 V").text
    assert text.count("from Battery  # to do: is it so? The schedule has it in line 2 above") == 2
