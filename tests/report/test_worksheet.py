"""Worksheets: every printed step is reckoned again from what is printed, on every element of the three boats."""

from __future__ import annotations

import json
import math
import re
from functools import cache
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from markdown_it import MarkdownIt

from linter.cli import main
from linter.model.build import build
from linter.model.elements import Conductor, Device, Element, Load
from linter.report.worksheet.make import NoElement, worksheet_of
from linter.report.worksheet.sheet import Found, Judgement, Sheet, Step, num, qty
from linter.report.worksheet.show import WIDTH, as_data, as_json, as_markdown, as_text
from linter.rules.engine import Examination, examine
from linter.source.files import Reader

from ..model.designs import design_of
from .worksheet_reading import NotReckoned, read_again, reckon, unbroken

ROOT = Path(__file__).parents[2]
BOATS = ("launch", "cutter", "motor-yacht")


@cache
def examined(path: str) -> Examination:
    return examine(build(Reader().design(str(ROOT / path))))


def boat(name: str) -> Examination:
    return examined(f"boats/{name}.boat")


@cache
def sheet_of(name: str, element: str) -> Sheet:
    return worksheet_of(examined(name if "/" in name else f"boats/{name}.boat"), element)


def elements(result: Examination) -> list[str]:
    return [n for n, e in result.design.elements.items() if isinstance(e, Element)]


# ---- the calculator that judges


@pytest.mark.parametrize(
    ("expression", "value"),
    [
        ("2 × 7.2 m × 0.164 mΩ/m × (234.5 + 105) ÷ (234.5 + 20)", 14.4 * 0.164e-3 * 339.5 / 254.5),
        ("226 × √(ln(1 + (160 − 63.3) ÷ (234.5 + 63.3)))", 226 * math.sqrt(math.log(1 + 96.7 / 297.8))),
        ("min(0.9 × 2.6 mΩ, 14.4 V ÷ 5600 A)", 2.34e-3),
        ("200 ms × (1595.5 ÷ 1500) ^ (ln(0.06) ÷ ln(2))", 0.2 * (1595.5 / 1500) ** (math.log(0.06) / math.log(2))),
        ("30 + (105 − 30) × min(1, 300 ÷ 450)²", 30 + 75 * 4 / 9),
        ("(1595.5 A)² × 155.66 ms", 1595.5**2 * 0.15566),
        ("240 kA²s ÷ (3000 A)²", 240e3 / 9e6),
        ("√((105 − 50) ÷ (105 − 30))", math.sqrt(55 / 75)),
    ],
)
def test_the_calculator(expression: str, value: float) -> None:
    assert reckon(expression) == pytest.approx(value, rel=1e-12)


def test_the_calculator_finds_what_is_wrong() -> None:
    lines = [
        "  ampacity: 450 A × 0.86 = 390 A",
        "  let-through: 300 A ≤ 200 A (allowed)? yes [clause]",
        "    + 2 mΩ  W1",
        "    = 3 mΩ",
    ]
    assert len(read_again(lines).wrong or ()) == 3
    with pytest.raises(NotReckoned):
        reckon("2 × apples")
    assert read_again(["  ampacity: about = 390 A"]).wrong


# ---- every element of every boat


@pytest.mark.parametrize("name", BOATS)
def test_every_step_comes_to_what_is_printed(name: str) -> None:
    result = boat(name)
    steps = sums = judgements = 0
    for element in elements(result):
        made = read_again(list(unbroken(as_text(sheet_of(name, element)))))
        assert not made.wrong, f"{element}: {made.wrong}"
        steps, sums, judgements = steps + made.steps, sums + made.sums, judgements + made.judgements
        kind = result.design.elements[element]
        if isinstance(kind, Conductor | Device | Load):
            assert made.judgements, element
    assert min(steps, sums, judgements) > 300


@pytest.mark.parametrize("name", [*(f"boats/{n}.boat" for n in BOATS), "tests/broken/launch-as-found.boat"])
def test_every_finding_stands_at_the_step_where_it_fails(name: str) -> None:
    result = examined(name)
    for element in elements(result):
        sheet = sheet_of(name, element)
        said = [(s.title, x.finding) for s in sheet.sections for x in s.lines if isinstance(x, Found)]
        about = [f for f in result.findings if f.subject == element or element in f.guard]
        assert len(said) == len(about) and all(f in [g for _, g in said] for f in about)
        assert not [f.rule for title, f in said if title == "Other findings" and f.subject == element]


@pytest.mark.parametrize("name", [*(f"boats/{n}.boat" for n in BOATS), "tests/broken/launch-as-found.boat"])
def test_what_does_not_hold_is_a_finding_or_says_why_not(name: str) -> None:
    """A limit that is passed with nobody saying so would make the worksheet and the check two opinions."""
    result = examined(name)
    for element in elements(result):
        for section in sheet_of(name, element).sections:
            failed = [x for x in section.lines if isinstance(x, Judgement) and not x.holds and not x.otherwise]
            if not failed:
                continue
            subjects = {f.subject for f in result.findings} | {n for f in result.findings for n in f.guard}
            named = [x for x in failed if element in subjects or any(s in x.what for s in subjects)]
            assert named == failed, f"{element}: {section.title}: {failed}"


@pytest.mark.parametrize("name", BOATS)
def test_figures_are_those_of_the_study(name: str) -> None:
    """What the rules judge, and nothing reckoned anew: printed results are the study's own."""
    result = boat(name)
    study = result.study
    for made in study.conductors.values():
        sheet = sheet_of(name, made.conductor.name)
        steps = {x.what: x.value for s in sheet.sections for x in s.lines if isinstance(x, Step)}
        if len(made.capacities) == 1:
            assert steps["ampacity"] == made.ampacity_a
        text = as_text(sheet)
        if made.load is not None:
            assert qty(made.load.amps, "A") in text
        if made.let_through_a and made.governing is not None:
            assert f"let-through: {qty(made.let_through_a, 'A')} ≤ {qty(made.governing.allowed_a, 'A')}" in text
        for way in study.clears(made):
            if way.heat is not None:
                assert f"heat: {qty(way.heat.a2s, 'A²s')}" in text
                assert steps["k"] == way.heat.withstand.k
        far = study.parts.leads_to[made.edge.index]
        smallest = study.faults().smallest(far) if far >= 0 else None
        if smallest is not None and not smallest.unknown:
            assert qty(smallest.amps, "A") in text
    for edge in study.design.circuit.edges:
        if edge.kind == "device" and (through := study.faults().to_break(edge.index)).amps:
            assert qty(through.amps, "A") in as_text(sheet_of(name, edge.device.name))


@pytest.mark.parametrize("name", BOATS)
def test_the_loop_of_every_fault_is_told_line_by_line(name: str) -> None:
    """On these boats every smallest fault comes from one source by one way, and is shown so."""
    result = boat(name)
    told = 0
    for made in result.study.conductors.values():
        text = "\n".join(unbroken(as_text(sheet_of(name, made.conductor.name))))
        section = text.split("Smallest fault current at its far end")[1].split("\n\n")[0]
        if "no current of a source" not in section:
            assert "all that the current flows through" in section and ", inside" in section
            told += made.conductor.name in section
    assert told > 20


def test_what_a_device_may_have_to_break_is_added_up() -> None:
    """Also where sources stand on both sides of it, as on the cutter's main bus bar."""
    for edge in boat("cutter").study.design.circuit.edges:
        if edge.kind == "device":
            text = "\n".join(unbroken(as_text(sheet_of("cutter", edge.device.name))))
            section = text.split("Breaking capacity")[1].split("\n\n")[0]
            amount = qty(boat("cutter").study.faults().to_break(edge.index).amps, "A")
            assert f"= {amount}" in section, edge.device.name


# ---- forms


@pytest.mark.parametrize("name", BOATS)
def test_no_line_is_wider_than_a_terminal(name: str) -> None:
    result = boat(name)
    for element in elements(result)[::7]:
        assert all(len(line) <= WIDTH for line in as_text(sheet_of(name, element)).splitlines())


def test_markdown_and_json_say_the_same() -> None:
    sheet = worksheet_of(boat("cutter"), "W17")
    data = json.loads(as_json(sheet))
    assert data == json.loads(json.dumps(as_data(sheet)))
    lines = [x for s in data["sections"] for x in s["lines"]]
    (ampacity,) = [x for x in lines if x["kind"] == "step" and x["what"] == "ampacity"]
    assert (ampacity["expression"], ampacity["value"], ampacity["unit"]) == ("450 A × 1", 450.0, "A")
    loop = next(
        x for x in lines if x["kind"] == "sum" and x["unit"] == "Ω" and any("W17" in r["what"] for r in x["rows"])
    )
    assert sum(r["value"] for r in loop["rows"]) == pytest.approx(loop["value"], rel=1e-4)
    markdown = as_markdown(sheet)
    assert "- ampacity: 450 A × 1 = 450 A" in markdown and markdown.startswith("# W17 (Forepeak feeder): worksheet\n")
    assert list(re.findall(r"^## \d+\. (.*)$", markdown, re.M)) == [s["title"] for s in data["sections"]]


def test_figures_are_printed_without_exponents() -> None:
    assert [num(x) for x in (1e-7, 0.000123456, 1, 123456.7, 2.5e8, 0.0)] == [
        "0.0000001", "0.00012346", "1", "123460", "250000000", "0",
    ]  # fmt: skip
    assert qty(math.inf, "A") == "unlimited" and qty(0.012, "s") == "12 ms" and qty(2.6e-3, "Ω") == "2.6 mΩ"


# ---- what is missing is said


MISSING = """\
boat "T", 9 m, rulebook iso-13297 rulebook abyc-e11
system DC12, 12 V
battery B, AGM, 12 V, 100 Ah
place HOT, ambient 55 °C
from B
fuse F1, ANL, 100 A
cable W1, 16 mm2, 2 m, in HOT
bus P
from P
fuse F2, blade, 10 A
cable W2, 2.5 mm2
load L "Lamp"
"""


def test_what_leans_on_a_missing_figure_says_so() -> None:
    result = examine(design_of(MISSING.replace("iso-13297 rulebook", "iso-13297, rulebook")))
    text = "\n".join(unbroken(as_text(worksheet_of(result, "W1"))))
    assert "? missing: the temperature of its insulation is not given" in text
    assert "? missing: leans on a rough resistance for AGM" in text
    assert "√((60 − 55) ÷ (60 − 30))" in text
    assert not read_again(text.splitlines()).wrong
    assert "? missing: its length is not given" in as_text(worksheet_of(result, "W2"))
    load = as_text(worksheet_of(result, "L"))
    assert "? missing: what it draws is not given" in load
    assert "? missing: its rated current is not given" in as_text(worksheet_of(result, "P"))
    assert "What abyc-e11 lets it carry" in text and "What iso-13297 lets it carry" in text


NIL = """\
boat "T", 9 m, rulebook iso-13297
system DC12, 12 V
cables, insulation 105 °C, plain
battery B, 12 V, 100 Ah, resistance 4 mΩ
from B
fuse F1, class T, 40 A, 125 V
cable W1, 16 mm2
bus P, 100 A
from P
cable W2, 4 mm2, 3 m
load L, draws 3 A, works from 11 V
from P
cable W3, 3 m
load M, draws 3 A
from B
fuse F2, blade, 10 A, 32 V
cable W4, 4 mm2, 3 m
load N, draws 3 A, works from 11 V
"""


def test_a_drop_in_which_a_conductor_counts_as_nil_is_not_known() -> None:
    """In the words of `study --of loads`; a limit that is passed all the same is passed."""
    result = examine(design_of(NIL))
    assert result.study.scenes().remarks == ["conductors whose size or length nobody tells count as nil: W1, W3"]
    for name, nil, why in (("L", "W1", "W1 counts as nil"), ("M", "W1, W3", "W1 and W3 count as nil"), ("N", "", "")):
        sheet = worksheet_of(result, name)
        text = "\n".join(unbroken(as_text(sheet)))
        assert not read_again(text.splitlines()).wrong
        drops = [
            x
            for s in sheet.sections
            for x in s.lines
            if isinstance(x, Judgement) and x.limit_what == "allowed by iso-13297"
        ]
        drops = [x for x in drops if x.what == "drop"]
        assert len(drops) == 2 and all(x.holds for x in drops)
        said = [
            line.rpartition("? ")[2]
            for line in text.splitlines()
            if line.startswith(("  drop: ", "  lowest voltage: "))
        ]
        assert len(said) == (2 if name == "M" else 3)
        assert set(said) == {f"not known: {why}" if nil else "yes"}
        assert text.count("? missing: conductors whose size or length nobody tells count as nil: " + nil) == bool(nil)
        assert ("at its terminals, everything at once: at most " in text) == bool(nil)
        data = [x for s in as_data(sheet)["sections"] for x in s["lines"] if x.get("what") == "drop"]
        assert {x["holds"] for x in data} == ({None} if nil else {True})
    passed = examine(design_of(NIL.replace("W2, 4 mm2, 3 m", "W2, 4 mm2, 60 m")))
    assert "(allowed by iso-13297)? NO" in as_text(worksheet_of(passed, "L"))


def test_a_ring_past_a_conductor_that_counts_as_nil() -> None:
    """The other way of a ring would carry nothing; beside a battery of its own a missing cable matters to nobody else."""
    ring = (
        NIL
        + "from P\ncable W5, 4 mm2, 3 m\nto L\nbattery C, 12 V, resistance 4 mΩ\nfrom C\nfuse F3, blade, 10 A, 32 V\ncable W6, 4 mm2\nload Q, draws 1 A\n"
    )
    scenes = examine(design_of(ring)).study.scenes()
    nodes = {n.load.name: n.index for n in scenes.study.design.circuit.nodes if n.load is not None}
    assert {k: scenes.untold(scenes.worst[n]) for k, n in nodes.items()} == {
        "L": ["W1"], "M": ["W1", "W3"], "N": [], "Q": ["W6"],
    }  # fmt: skip
    assert {k: scenes.untold(scenes.alone[n]) for k, n in nodes.items()} == {
        "L": ["W1"], "M": ["W1", "W3"], "N": [], "Q": ["W6"],
    }  # fmt: skip


# ---- the command


def run(*arguments: str) -> Result:
    return CliRunner().invoke(main, ["explain", *arguments])


CUTTER = str(ROOT / "boats/cutter.boat")


def test_one_argument_is_a_rule_and_two_are_a_design_and_an_element(tmp_path: Path) -> None:
    assert run("protection-distance").output.startswith("protection-distance (fault)")
    made = run(CUTTER, "W17")
    assert made.exit_code == 0 and made.output.startswith("W17 (Forepeak feeder): worksheet")
    out = tmp_path / "w17.md"
    assert run(CUTTER, "W17", "--format", "markdown", "-o", str(out)).exit_code == 0
    assert out.read_text().startswith("# W17")
    assert json.loads(run(CUTTER, "W17", "--format", "json").output)["element"] == "W17"


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        ((CUTTER, "W17X"), "there is no element W17X"),
        ((CUTTER,), "of a design name an element as well"),
        (("protection-distanc",), "did you mean protection-distance"),
        ((), "explain one rule"),
        (("a", "b", "c"), "explain one rule"),
        (("none.boat", "W1"), "none.boat"),
        (("--all",), "explain --all --format markdown -o FOLDER"),
    ],
)
def test_a_wrong_call_is_told(arguments: tuple[str, ...], said: str) -> None:
    made = run(*arguments)
    assert made.exit_code == 2 and said in made.output and "Traceback" not in made.output


def test_a_design_that_is_not_whole(tmp_path: Path) -> None:
    path = tmp_path / "t.boat"
    path.write_text(MISSING.replace("cable W2, 2.5 mm2", "cabel W2"))
    made = run(str(path), "W1")
    assert made.exit_code == 3 and "INCOMPLETE" in made.output


def test_a_place_has_no_worksheet() -> None:
    made = run(CUTTER, "BATTERY-BAY")
    assert made.exit_code == 2 and "BATTERY-BAY" in made.output


def test_no_element_of_that_name() -> None:
    with pytest.raises(NoElement):
        worksheet_of(boat("cutter"), "NOBODY")


# ---- hostile names


HOSTILE = [
    "\x1b[31mred\x1b[0m", "a\u202egnp.exe", "<script>alert(1)</script>", "[x](http://evil.example/)", "![x](//e.example)",
    "`` ` ``", "| a | b |", "=1+2: 3 A × 4 = 99 A", "# not a heading", "@everyone www.evil.example", "x" * 5000, "\u200b\u2028y",
]  # fmt: skip


@pytest.mark.parametrize("label", HOSTILE)
def test_hostile_labels_do_no_harm(label: str) -> None:
    safe = label.replace('"', "'")
    text = MISSING.replace("iso-13297 rulebook", "iso-13297, rulebook").replace('"Lamp"', f'"{safe}"')
    result = examine(design_of(text.replace('boat "T"', f'boat "{safe}"')))
    sheet = worksheet_of(result, "L")
    for made in (as_text(sheet), as_markdown(sheet)):
        assert not re.search(r"[\x00-\x09\x0b-\x1f\x7f-\x9f\u200b-\u200f\u2028-\u202e]", made)
    assert all(len(line) <= WIDTH for line in as_text(sheet).splitlines())
    markdown = as_markdown(sheet)
    kinds = {t.type for t in MarkdownIt().parse(markdown)}
    kinds |= {c.type for t in MarkdownIt().parse(markdown) for c in t.children or ()}
    assert kinds <= {
        "heading_open", "heading_close", "paragraph_open", "paragraph_close", "bullet_list_open", "bullet_list_close",
        "list_item_open", "list_item_close", "inline", "text", "text_special", "strong_open", "strong_close",
    }  # fmt: skip
    assert not re.search(r"(?<!\\)[\[\]`|]|<|://|@\w|www\.", markdown)
    assert next(line for line in markdown.splitlines() if line.startswith("#")).endswith(": worksheet")
    assert len([line for line in markdown.splitlines() if line.startswith("# ")]) == 1
    assert json.loads(as_json(sheet))["boat"] == result.design.boat


def test_a_thinner_return_is_judged_too() -> None:
    text = MISSING.replace("iso-13297 rulebook", "iso-13297, rulebook")
    text = text.replace("cable W1, 16 mm2, 2 m", "cable W1, 70 mm2, 2 m, return 10 mm2, insulation 105 °C")
    made = "\n".join(unbroken(as_text(worksheet_of(examine(design_of(text)), "W1"))))
    section = made.split("Its return, which is thinner")[1].split("\n\n")[0]
    assert "[return-unprotected]" in section and "NO" in section
    assert not read_again(made.splitlines()).wrong
