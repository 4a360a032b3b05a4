"""Cable schedules to designs: what is sure is taken over, what is not is asked, nothing is invented."""

from __future__ import annotations

import csv
import io
import random
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from hypothesis import given, settings
from hypothesis import strategies as st

from linter.cli import main
from linter.model.build import build
from linter.model.elements import Conductor, Device
from linter.model.export import circuit_json
from linter.source.files import Reader, Unusable
from linter.source.parser import parse
from linter.source.schedule import Imported, import_schedule
from linter.source.schedule_table import BadCell, figure, read_table
from linter.source.schedule_words import device_of, kind_of
from linter.source.tidy import tidy

from ..judge.random_networks import network
from ..model.designs import design_of

ROOT = Path(__file__).resolve().parents[2]
HEADERS = "from,to,size,length,device,rating,label\n"


def made(rows: str, headers: str = HEADERS) -> Imported:
    found = import_schedule(headers + rows, "Tern", "12 V")
    source = parse("t", found.text)
    assert source.mistakes == []
    assert tidy(source) == found.text
    assert design_of(found.text).mistakes == []
    return found


def code(found: Imported) -> list[str]:
    """The lines of a text without comments, from the first run on."""
    lines = [line.split("  # ")[0] for line in found.text.splitlines() if line and not line.startswith("#")]
    return lines[lines.index(next(line for line in lines if line.startswith("from "))) :]


def told(found: Imported) -> list[str]:
    return [str(p) for p in found.problems]


def test_a_row_is_a_run() -> None:
    found = made("House bank,Main bus,35 mm2,1.2 m,class T fuse,200 A,Main feed\n")
    assert told(found) == []
    assert code(found) == [
        "from HOUSE-BANK", "fuse F1, class T, 200 A", 'cable W1 "Main feed", 35 mm2, 1.2 m', 'bus MAIN-BUS "Main bus"',
    ]  # fmt: skip
    assert 'battery HOUSE-BANK "House bank"  # to do: chemistry' in found.text
    assert "system DC-SYSTEM, 12 V\n" in found.text and (found.rows, found.conductors) == (1, 1)


@pytest.mark.parametrize(
    "text",
    [
        "TO;From;Length (m);Size [mm2];Rating (A);Device;Cable no\nBUS;B;1,2;2,5;10;blade;W7\n",
        "destination\torigin\tlength/m\tcsa mm²\tamps\tprotection\twire\nBUS\tB\t1,2\t2.5\t10\tblade fuse\tW7\n",
        '\ufeffsep=,\r\nSchedule of Tern\r\n\r\nNo,Source,Load,mm2,"Length, m",Fuse,Fuse rating\r\nW7,B,BUS,2.5,1.2,blade 10 A,\r\n',
        "no,from,to,size,length,fuse rating (A),fuse type\n7,B,BUS,2.5 mm2,1.2 m,10,blade\n",
        'id,fed from,feeds,wire size,run length,fuse\n7,B,BUS,"2,5 mm²","1,2 metres","Blade, 10 amps"\n',
    ],
)
def test_headers_units_and_delimiters_as_people_have_them(text: str) -> None:
    found = made(text, "")
    assert code(found) == ["from B", "fuse F7, blade, 10 A", "cable W7, 2.5 mm2, 1.2 m", "bus BUS"]
    assert [p for p in told(found) if "header" not in p] == []


@pytest.mark.parametrize(
    ("text", "kind", "unit", "expected"),
    [
        ("2,5 mm²", "AREA", "", "2.5 mm²"), ("2.5", "AREA", "mm2", "2.5 mm2"), ("2/0", "AREA", "", "2/0 AWG"),
        ("AWG 10", "AREA", "mm2", "10 AWG"), ("10ga", "AREA", "", "10 AWG"), ("6 sq mm", "AREA", "AWG", "6 mm2"),
        ("0,750", "LENGTH", "m", "0.750 m"), ("30 ft", "LENGTH", "m", "30 ft"), ("12'6\"", "LENGTH", "", "150 in"),
        ("#12", "AREA", "", "12 AWG"), ("#2/0 AWG", "AREA", "mm2", "2/0 AWG"), ("1.400,50 mm", "LENGTH", "", "1400.50 mm"),
        ("1,400.5 mm", "LENGTH", "", "1400.5 mm"), ("12 ft 6.5 in", "LENGTH", "", "150.5 in"), ('30"', "LENGTH", "", "30 in"), ("3 Metres", "LENGTH", "", "3 m"),
        ("15amps", "CURRENT", "", "15 A"), ("0.5 kA", "CURRENT", "A", "0.5 kA"), ("\u00a010\u00a0A ", "CURRENT", "", "10 A"),
    ],
)  # fmt: skip
def test_figures(text: str, kind: str, unit: str, expected: str) -> None:
    assert figure(text, kind, unit) == expected


@pytest.mark.parametrize(
    ("text", "kind", "unit", "why"),
    [
        ("10", "AREA", "", "has no unit"), ("1,500", "LENGTH", "m", "comma before three digits"), ("3", "LENGTH", "", "no unit"),
        ("2 x 2.5 mm2", "AREA", "", "2 side by side"), ("10 mm", "AREA", "", "is no size"), ("11 AWG", "AREA", "", "there is no 11 AWG"),
        ("-3 m", "LENGTH", "", "is no length"), ("about 3 m", "LENGTH", "", "is no length"), ("0 A", "CURRENT", "", "none"),
        ("0 mm2", "AREA", "", "nothing at all"), ("10-15 A", "CURRENT", "", "is no rated current"), ("٣ m", "LENGTH", "", "is no"),
        ("9" * 40 + " m", "LENGTH", "", "no figure"), ("2.100 mm", "LENGTH", "", "part thousands"), ("", "AREA", "", "is no size"),
    ],
)  # fmt: skip
def test_figures_that_are_not_sure(text: str, kind: str, unit: str, why: str) -> None:
    with pytest.raises(BadCell, match=why):
        figure(text, kind, unit)


@pytest.mark.parametrize(
    ("cell", "kind", "expected"),
    [
        ("blade fuse 10 A", "", ("fuse", "blade", "", "10 A")), ("10A CB", "", ("breaker", "", "", "10 A")),
        ("Mini blade (fast)", "", ("fuse", "miniature blade", "fast", "")), ("thermal magnetic", "", ("breaker", "thermal-magnetic", "", "")),
        ("thermal breaker 100A", "fuse", ("breaker", "thermal", "", "100 A")), ("MCB C16", "", ("breaker", "", "", "16 A")),
        ("15 A", "breaker", ("breaker", "", "", "15 A")), ("ANL 200 amps slow-blow", "", ("fuse", "ANL", "slow", "200 A")),
    ],
)  # fmt: skip
def test_devices(cell: str, kind: str, expected: tuple[str, str, str, str]) -> None:
    found = device_of(cell, kind, "")
    assert (found.kind, found.sort, found.speed, found.rating) == expected


@pytest.mark.parametrize("cell", [
    "10 A", "fuse?", "fuse missing", "to be fused", "without fuse", "2x10 A fuse", "fuse or breaker", "thermal fuse", "blade gG", "slow",
])  # fmt: skip
def test_devices_that_are_not_sure(cell: str) -> None:
    with pytest.raises(BadCell):
        device_of(cell, "", "A")
    found = made(f"B,L,1 mm2,1 m,{cell},,\n")
    assert not any(line.startswith(("fuse", "breaker")) for line in code(found))
    assert cell in found.text and len(found.problems) == 1


@pytest.mark.parametrize("cell", ["", "none", "-", "n/a", "No fuse", "unprotected"])
def test_no_device(cell: str) -> None:
    found = made(f"B,L,1 mm2,1 m,{cell},,\n")
    assert told(found) == [] and "what protects" not in found.text
    assert "what protects this?" in made(f"B,L,1 mm2,1 m,{cell},10 A,\n").text


@pytest.mark.parametrize(
    ("name", "arriving", "leaving", "kind"),
    [
        ("House bank 2", 1, 3, "battery"), ("Battery switch", 1, 1, "joint"), ("Battery charger", 0, 1, "charger"),
        ("DC-DC charger", 1, 1, "converter"), ("Charger", 1, 1, "joint"), ("Bilge pump aft", 1, 0, "load"),
        ("Bilge pump", 1, 1, "joint"), ("Bilge pump switch", 1, 1, "joint"), ("Main bus bar", 1, 5, "bus"),
        ("Control panel", 1, 0, "joint"), ("Solar panel", 0, 1, "joint"), ("Alternator", 0, 1, "alternator"),
        ("Alternator regulator", 1, 0, "joint"), ("Pumpkin", 1, 0, "joint"), ("1", 1, 0, "joint"), ("", 0, 1, "joint"),
    ],
)  # fmt: skip
def test_what_a_terminal_is(name: str, arriving: int, leaving: int, kind: str) -> None:
    assert kind_of(name, arriving, leaving) == kind


def test_problems_are_told_with_line_and_column() -> None:
    found = made(
        'B,,1 mm2,1 m,,,\n"B","Two\nlines",10,"1,500",,,\nB,Negative bus,1 mm2,1 m,,,\nP,p,,,,,\nB,two LINES,1 mm2,1 m,blade fuse 5 A,7 A,\n'
    )
    assert [(p.line, p.column) for p in found.problems] == [(2, 2), (3, 3), (3, 4), (5, 2), (6, 2), (7, 2), (7, 6)]
    assert "size (10), length (1,500)" in found.text
    assert "# to do: line 5 of the schedule: from B; to Negative bus" in found.text
    assert found.conductors == 2


def test_names_are_the_languages_and_kept_apart() -> None:
    found = made("light,12V box,1 mm2,1 m,,,\nlight,12V-box!,1 mm2,1 m,,,\nW1,AGM,1 mm2,1 m,,,\n")
    assert [line for line in code(found) if not line.startswith("cable")] == [
        "from light-1", 'joint _12V-BOX "12V box"', "from light-1", 'joint _12V-BOX-2 "12V-box!"', "from W1", 'joint AGM-1 "AGM"',
    ]  # fmt: skip
    assert [line.split(",")[0] for line in code(found) if line.startswith("cable")] == [
        "cable W1-2",
        "cable W2",
        "cable W3",
    ]


def test_columns_that_nobody_knows_are_kept_as_comments() -> None:
    found = made("B,L,1 mm2,1 m,taped\n", "from,to,size,length,Fixing\n")
    assert "# Fixing: taped\nfrom B\n" in found.text
    assert told(found) == ["1: column 5 (Fixing): not read: no known header; what it holds is kept in comments"]
    # remarks are remarks, and nothing is lost by that
    found = made("B,L,1 mm2,1 m,taped\n", "from,to,size,length,Remarks\n")
    assert "# Remarks: taped\nfrom B\n" in found.text and told(found) == []
    # there and back is not the length of one conductor
    assert "# to do: length" in made("B,L,1 mm2,7\n", "from,to,size,length (round trip)\n").text


@pytest.mark.parametrize("text", ["", "\n\n", "a,b,c\n1,2,3\n", "from\nB\n", "\0", 'from,to\n"' + "x" * 200_000])
def test_what_is_no_schedule(text: str) -> None:
    with pytest.raises(Unusable):
        import_schedule(text, "Tern")


def test_a_voltage_is_a_voltage() -> None:
    for voltage in ("12", "12 A", "12 V, least 10 V", "12 V\nbus B", "x"):
        with pytest.raises(ValueError, match="voltage"):
            import_schedule(HEADERS + "A,B,,,,,\n", "Tern", voltage)


CELLS = st.one_of(
    st.text(max_size=12),
    st.sampled_from(
        [
            "B",
            "Main bus",
            "pump",
            '"',
            "#",
            "a\nb",
            "\u202e",
            "10 A",
            "2,5",
            "6 mm2",
            "blade",
            "fuse 5 A",
            "none",
            "=1+1",
            "DC",
        ]
    ),
)


@given(st.lists(st.lists(CELLS, max_size=9), max_size=8), st.sampled_from(",;\t|"))
@settings(max_examples=150, deadline=None)
def test_any_cells_give_a_design_without_mistakes(rows: list[list[str]], delimiter: str) -> None:
    out = io.StringIO()
    writer = csv.writer(out, delimiter=delimiter)
    writer.writerow(["from", "to", "size", "length (m)", "device", "rating", "label", "cable", "x"])
    try:
        writer.writerows(rows)
    except csv.Error:  # a lone character that the module cannot quote
        return
    try:
        found = made(out.getvalue(), "")
    except Unusable:
        return
    # every row is either a conductor or accounted for
    lost = sum("of the schedule:" in line for line in found.text.splitlines())
    assert found.conductors + lost == found.rows


@given(st.text(max_size=200))
@settings(max_examples=80, deadline=None)
def test_any_text_at_all(text: str) -> None:
    for whole in (text, HEADERS + text):
        try:
            made(whole, "")
        except Unusable:
            continue


# ---- there and back: a boat's own conductors as a schedule


def schedule_of(text_or_path: str | Path) -> tuple[str, dict[str, tuple[str, str, float, float, str, float]]]:
    """A CSV of a design's conductors with the device just before each, and what must come back, by cable."""
    if isinstance(text_or_path, Path):
        design = build(Reader().design(str(text_or_path)))
    else:
        design = design_of(text_or_path)
    nodes, edges = design.circuit.nodes, design.circuit.edges
    leads_to = {e.v: e for e in edges if isinstance(e.element, Device)}
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(["To", "From", "Cable", "Size", "Length (m)", "Device", "Rating"])
    expected = {}
    for edge in edges:
        cable = edge.element
        if edge.kind != "conductor" or not isinstance(cable, Conductor) or cable.size is None or cable.length_m is None:
            continue
        before = leads_to.get(edge.u)
        device = before.element if before is not None and nodes[edge.u].kind == "end" else None
        start = nodes[before.u if before is not None and device is not None else edge.u].name
        kind, rating = "", 0.0
        if isinstance(device, Device) and device.rated_a is not None:
            kind, rating = device.kind, device.rated_a
        size = str(cable.size)
        writer.writerow(
            [
                nodes[edge.v].name,
                start,
                cable.name,
                size,
                f"{cable.length_m:.6f}",
                kind,
                f"{rating:g} A" if kind else "",
            ]
        )
        expected[cable.name] = (start, nodes[edge.v].name, cable.size.value, cable.length_m, kind, rating)
    return out.getvalue(), expected


def verify_there_and_back(design: str | Path) -> int:
    text, expected = schedule_of(design)
    if not expected:
        return 0
    found = made(text, "")
    assert [p for p in found.problems if "is the name of something else" not in p.message] == []
    assert found.conductors == len(expected)
    circuit = circuit_json(design_of(found.text))
    labels = {n["id"]: n["label"] or n["id"] for n in circuit["nodes"]}
    edges = {e["id"]: e for e in circuit["edges"]}
    into = {e["to"]: e for e in circuit["edges"] if e["kind"] == "device"}
    for name, (start, end, mm2, length_m, kind, rating) in expected.items():
        edge = edges[name]
        device = into.get(edge["from"])
        first = device["from"] if device is not None and edge["from"].endswith(".out") else edge["from"]
        assert (labels[first], labels[edge["to"]]) == (start, end)
        assert edge["size"]["mm2"] == pytest.approx(mm2) and edge["length_m"] == pytest.approx(length_m, abs=1e-6)
        assert (device["device"], device["rated_a"]) == (kind, rating) if kind else device is None
    return len(expected)


@pytest.mark.parametrize(("boat", "least"), [("launch", 25), ("cutter", 90), ("motor-yacht", 180)])
def test_the_boats_there_and_back(boat: str, least: int) -> None:
    assert verify_there_and_back(ROOT / "boats" / f"{boat}.boat") >= least


@given(st.integers(0, 2**32))
@settings(max_examples=40, deadline=None)
def test_random_networks_there_and_back(seed: int) -> None:
    verify_there_and_back(network(random.Random(seed)))


# ---- the command


def run(*arguments: str, stdin: str | bytes | None = None) -> Result:
    return CliRunner().invoke(main, ["import", *arguments], input=stdin)


def test_the_command(tmp_path: Path) -> None:
    path, out = tmp_path / "Tern schedule.csv", tmp_path / "x.boat"
    path.write_text(HEADERS + "House bank,Main bus,35 mm2,1.2 m,class T,200 A,\n", encoding="utf-8")
    assert run(str(path), "-o", str(out), "--voltage", "12 V").exit_code == 0
    text = out.read_text(encoding="utf-8")
    assert 'boat "Tern schedule"' in text
    again = run(str(path), "-o", str(out))
    assert again.exit_code == 2 and "not overwritten" in again.output and out.read_text(encoding="utf-8") == text
    assert run("-", "--boat", "Tern", "--voltage", "12 V", stdin=path.read_text()).stdout == text.replace(
        "Tern schedule", "Tern"
    )
    odd = run("-", stdin=HEADERS + "B,L,35,1 m,,,\n")
    assert odd.exit_code == 3 and "-:2: column 3 (size): 35 has no unit" in odd.stderr
    for wrong in (b"\xff\xfe", b"x,y\n", b""):
        refused = run("-", stdin=wrong)
        assert refused.exit_code == 2 and "Traceback" not in refused.output
    assert run(str(tmp_path / "none.csv")).exit_code == 2
    assert run(str(path), "--voltage", "much").exit_code == 2


def test_rows_tell_the_line_on_which_they_begin() -> None:
    table = read_table('sep=;\nfrom;to\n\n"a\nb";c\nd;e\n')
    assert [row.line for row in table.rows] == [4, 6]
