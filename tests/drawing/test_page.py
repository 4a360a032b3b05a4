"""The page in a browser, from the file system."""

from __future__ import annotations

import base64
import json
import re
import subprocess
import tomllib
from collections.abc import Iterator
from importlib import resources
from itertools import pairwise
from pathlib import Path
from typing import Any

import networkx as nx
import pytest
from click.testing import CliRunner

from linter.cli import main
from linter.drawing.page import page
from linter.drawing.page_ways import ways
from linter.drawing.picture import Picture
from linter.drawing.sheets import Settings, sheets
from linter.model.build import build
from linter.model.design import Design
from linter.model.elements import Conductor
from linter.report.caution import CAUTION
from linter.report.devices import devices_json
from linter.report.loads import loads_json
from linter.rules.engine import Examination, examine
from linter.source.files import Reader
from tests.bench.generate import boat
from tests.drawing.browser import Browser, needs_browser


@pytest.fixture(scope="module")
def browser(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Browser]:
    made = Browser(tmp_path_factory.mktemp("profile"))
    yield made
    made.call("Browser.close")
    made.process.wait(20)


def written(path: str | None, folder: Path, text: str = "") -> tuple[Design, Examination, Path, list[Picture]]:
    reader = Reader(None)
    design = build(reader.design(path) if path else reader.design_text(text))
    result = examine(design)
    pictures = sheets(design, result.findings, study=result.study)
    made = page(pictures, result.study, result.findings)
    assert made == page(pictures, result.study, result.findings)
    file = folder / "x.html"
    file.write_bytes(made)
    return design, result, file, pictures


LIT = "[...new Set([...document.querySelectorAll('.el.way')].map(g => +g.dataset.n))].map(n => JSON.parse(document.getElementById('data').textContent).elements[n].id).sort()"
LINES = """[...document.querySelectorAll('.sheet')].map((s, i) => Object.fromEntries([['wires', '-wires'], ['things', '-elements']].map(
([name, id]) => [name, [...s.querySelector('#s' + (i + 1) + id).children].map((g, k) => g.classList.contains('way') ? k : -1).filter(k => k >= 0)])))"""
FACTS = "Object.fromEntries([...document.querySelectorAll('#panel dt')].map(t => [t.textContent, t.nextElementSibling.textContent]))"
SIZES = ((1440, 900), (1024, 768), (768, 1024))


def seek(browser: Browser, name: str) -> None:
    browser.run("document.getElementById('find').value = ''; document.getElementById('find').focus()")
    browser.call("Input.insertText", text=name.lower())
    browser.key("Enter")


def hangs_together(pictures: list[Picture], lit: list[dict[str, list[int]]]) -> set[str]:
    """The elements lit; asserts, by where things stand, that lit lines join them all and end at nothing unlit."""
    graph: nx.Graph[Any] = nx.Graph()
    elements = set()
    for sheet, (picture, on) in enumerate(zip(pictures, lit, strict=True)):
        ends: dict[tuple[float, float], set[tuple[Any, bool]]] = {}
        for number, drawn in enumerate(picture.elements):
            plain = ("terminal", sheet, number)
            key = ("pair", drawn.reference) if drawn.reference >= 0 else drawn.name or plain
            lights = number in on["things"]
            if lights:
                graph.add_node(key)
                elements |= {drawn.name} if drawn.name and drawn.reference < 0 else set()
            for _, (x, y) in drawn.terminals:
                ends.setdefault((round(x, 1), round(y, 1)), set()).add((key, lights))
        lines = [(n, [(round(x, 1), round(y, 1)) for x, y in picture.wires[n].points]) for n in on["wires"]]
        for number, points in lines:
            for point in (points[0], points[-1]):
                for key, lights in ends.get(point, set()):
                    assert lights, (sheet + 1, key)
                    graph.add_edge(("wire", sheet, number), key)
                for other, along in lines:
                    if other != number and any(
                        min(a[0], b[0]) <= point[0] <= max(a[0], b[0])
                        and min(a[1], b[1]) <= point[1] <= max(a[1], b[1])
                        for a, b in pairwise(along)
                    ):
                        graph.add_edge(("wire", sheet, number), ("wire", sheet, other))
        for meeting in ends.values():
            for (one, a), (two, b) in pairwise(sorted(meeting, key=str)):
                if a and b:
                    graph.add_edge(one, two)
    assert nx.number_connected_components(graph) == 1, [sorted(map(str, c)) for c in nx.connected_components(graph)]
    return elements


@needs_browser
@pytest.mark.parametrize(
    ("path", "asked"),
    [("tests/broken/launch-as-found.boat", "W34"), ("boats/cutter.boat", ""), ("boats/motor-yacht.boat", "")],
)
def test_page(browser: Browser, tmp_path: Path, path: str, asked: str) -> None:
    design, result, file, pictures = written(path, tmp_path)
    browser.open(file)
    name = asked or next(n for n, e in reversed(design.elements.items()) if e.kind == "cable")
    seek(browser, name)
    assert browser.run("document.querySelector('#panel h2').textContent").startswith(name)
    off = browser.run(
        "(() => { const b = document.querySelector('.shown .chosen').getBoundingClientRect(),"
        " v = document.getElementById('view').getBoundingClientRect();"
        " return Math.hypot(b.left + b.width / 2 - v.left - v.width / 2, b.top + b.height / 2 - v.top - v.height / 2) })()"
    )
    assert off < 3
    assert browser.run(LIT) == sorted(ways(design.circuit)[name].elements)
    lit = browser.run(LINES)
    assert hangs_together(pictures, lit) == set(ways(design.circuit)[name].elements)
    assert 0 < sum(len(s["wires"]) for s in lit) < sum(len(p.wires) for p in pictures)
    assert "Lets through" in browser.run(FACTS)
    browser.run("document.getElementById('view').focus()")
    browser.key("Escape")
    assert browser.run("document.querySelectorAll('.chosen, .way').length") == 0
    assert browser.run("document.querySelectorAll('#panel .row').length") == len(result.findings)
    browser.key("Enter")
    browser.key("ArrowRight")
    browser.key("Enter")
    assert browser.run("document.activeElement === document.querySelector('.shown .chosen')")
    pdf = base64.b64decode(browser.call("Page.printToPDF", preferCSSPageSize=True)["data"])
    assert len(papers(pdf)) == len(pictures)
    browser.quiet()


def papers(pdf: bytes) -> list[tuple[int, int]]:
    """The size of each page in whole mm."""
    boxes = re.findall(rb"/MediaBox *\[0 0 ([0-9.]+) ([0-9.]+)\]", pdf)
    return [(round(float(w) * 25.4 / 72), round(float(h) * 25.4 / 72)) for w, h in boxes]


@needs_browser
def test_sheets_print_on_their_own_size(browser: Browser, tmp_path: Path) -> None:
    """Even where one is larger than another: sizes by ISO 216."""
    design = build(Reader(None).design("tests/broken/launch-as-found.boat"))
    result = examine(design)
    a3, a4 = (sheets(design, result.findings, Settings(paper=p)) for p in ("a3", "a4"))
    file = tmp_path / "x.html"
    file.write_bytes(page([*a3, *a4], result.study, result.findings))
    browser.open(file)
    seek(browser, "W34")
    pdf = base64.b64decode(browser.call("Page.printToPDF", preferCSSPageSize=True)["data"])
    assert papers(pdf) == [(420, 297)] * len(a3) + [(297, 210)] * len(a4)


def told(browser: Browser, name: str) -> dict[str, str]:
    seek(browser, name)
    made: dict[str, str] = browser.run(FACTS)
    return made


@needs_browser
def test_panel(browser: Browser, tmp_path: Path) -> None:
    """What the panel tells of a conductor, its guard and a load is what the study's own tables say."""
    _, result, file, _ = written("boats/cutter.boat", tmp_path)
    browser.open(file)
    row = next(r for r in devices_json(result.study)["devices"] if "W12" in r["guards"])
    assert told(browser, "W12")["Guard"] == row["id"] == "F12"
    browser.run("[...document.querySelectorAll('#panel dd .link')].find(b => b.textContent === 'F12').click()")
    assert browser.run("document.querySelector('#panel h2').textContent") == "F12: Solar, port"
    assert browser.run("document.activeElement.tagName") == "H2"
    facts = browser.run(FACTS)
    assert facts["Rated current"] == f"{row['rated_a']:.4g} A"
    assert facts["Breaking capacity"].startswith(f"{row['breaks_a']:.4g} A at {row['breaks_at_v']:.4g} V;")
    assert facts["Largest prospective current"] == f"{row['prospective_a']:.4g} A"
    assert facts["Guards"] == "".join(row["guards"])
    load = next(r for r in loads_json(result.study)["loads"] if r["id"] == "THRUSTER")
    facts = told(browser, "THRUSTER")
    assert facts["Draws"] == f"{load['draws_a']:.4g} A"
    assert facts["Guard"] == "".join(load["guard"])
    assert (
        f"{load['worst']['volts_v']:.4g} V, drop {load['worst']['drop_percent']:.2g} %"
        in (facts["Voltage in the worst scene"])
    )
    found = next(f for f in result.findings if f.guard)
    seek(browser, found.subject)
    said = browser.run("document.querySelector('#panel .row').textContent")
    assert found.message in said
    assert browser.run("[...document.querySelectorAll('#panel .row .link')].map(b => b.textContent)") == [
        g for g in found.guard if g != found.subject
    ]
    outside = browser.run("document.querySelector('aside').innerText + document.querySelector('header').innerText")
    assert outside.count(CAUTION) == 1
    assert browser.run("document.getElementById('said').textContent").startswith(found.subject)
    browser.quiet()


@needs_browser
@pytest.mark.parametrize("size", SIZES)
def test_by_keys_alone_on_any_screen(browser: Browser, tmp_path: Path, size: tuple[int, int]) -> None:
    _, _, file, _ = written("tests/broken/launch-as-found.boat", tmp_path)
    browser.call("Emulation.setDeviceMetricsOverride", width=size[0], height=size[1], deviceScaleFactor=1, mobile=False)
    browser.open(file)
    stops = []
    for _ in range(9):
        browser.key("Tab")
        stops.append(browser.run("document.activeElement.id || document.activeElement.className"))
        ring = browser.run("getComputedStyle(document.activeElement).outlineStyle")
        assert ring == "solid", stops
    assert stops == ["find", "pick", "less", "whole", "more", "view", "facts", "link", "link"]
    first = browser.run("document.activeElement.textContent")
    browser.key("Enter")
    assert browser.run("document.querySelector('#panel h2').textContent").startswith(first)
    browser.key("Tab")
    assert browser.run("document.getElementById('panel').contains(document.activeElement)")
    while browser.run("document.activeElement.id") != "view":
        browser.key("Tab", shift=True)
    browser.key("Enter")
    assert browser.run("document.activeElement.classList.contains('chosen')")
    assert browser.run("getComputedStyle(document.activeElement).outlineStyle") == "solid"
    browser.key("Escape")
    browser.key("Escape")
    assert browser.run("document.querySelector('#panel h2').textContent").startswith("Findings")
    small = "[...document.querySelectorAll('button, select, input, summary')].filter(b => b.offsetHeight < 40 || b.offsetWidth < 40).length"
    assert browser.run(small) == 0
    assert browser.run(
        "document.documentElement.scrollWidth <= innerWidth && document.documentElement.scrollHeight <= innerHeight"
    )
    browser.call("Emulation.clearDeviceMetricsOverride")
    browser.quiet()


@needs_browser
def test_what_a_script_writes_as_an_error_is_caught(browser: Browser, tmp_path: Path) -> None:
    _, _, file, _ = written("tests/broken/launch-as-found.boat", tmp_path)
    browser.open(file)
    browser.quiet()
    browser.run("console.error('on purpose')")
    assert len(browser.complaints()) == 1
    browser.run("fetch('https://example.invalid/').catch(() => 0)")
    browser.run("1")
    assert len(browser.complaints()) > 1


@needs_browser
def test_a_large_boat_opens(browser: Browser, tmp_path: Path) -> None:
    design, _, file, pictures = written(None, tmp_path, boat(500))
    assert sum(isinstance(e, Conductor) for e in design.elements.values()) >= 500
    browser.open(file)
    name = list(design.elements)[-1]
    seek(browser, name)
    assert hangs_together(pictures, browser.run(LINES)) == set(ways(design.circuit)[name].elements)
    browser.quiet()


def test_command(tmp_path: Path) -> None:
    """The page as it is made at the terminal; with --only it lists and numbers what its sheets mark."""
    file = tmp_path / "boat.html"
    source = "tests/broken/launch-as-found.boat"
    done = CliRunner().invoke(main, ["draw", source, "-o", str(file), "--only", "W34"])
    assert (done.exit_code, done.output) == (0, "")
    text = file.read_text(encoding="utf-8")
    data = json.loads(text.partition('id="data">')[2].partition("</script>")[0])
    marks = {int(n) for n in re.findall(r'<g class="mark [a-z]+">.*?<text[^>]*>([0-9]+)</text>', text)}
    assert marks
    assert marks <= {f["number"] for f in data["findings"]}
    for finding in data["findings"]:
        if finding["subject"] >= 0:
            group = f'-el-{data["elements"][finding["subject"]]["id"]}" '
            at = text.index(group)
            assert f">{finding['number']}</text></g>" in text[at : text.index("\n", at)]
    wrong = CliRunner().invoke(main, ["draw", source, "-o", str(file), "--one-sheet"])
    assert wrong.exit_code == 2
    assert "a page shows sheets" in wrong.output


def test_style_and_script_are_shipped() -> None:
    """The wheel takes all of the package that git does not ignore."""
    wheel = tomllib.loads(Path("pyproject.toml").read_text(encoding="utf-8"))["tool"]["hatch"]["build"]["targets"][
        "wheel"
    ]
    assert wheel["packages"] == ["linter"]
    assert not {"exclude", "include", "only-include"} & set(wheel)
    made = [resources.files("linter.drawing") / "page" / name for name in ("page.css", "page.js")]
    assert all(f.is_file() for f in made)
    ignored = subprocess.run(["git", "check-ignore", *map(str, made)], capture_output=True, check=False)
    assert (ignored.returncode, ignored.stdout) == (1, b"")


@needs_browser
def test_hostile_texts_do_nothing(browser: Browser, tmp_path: Path) -> None:
    text = 'boat "</script><script>window.hit=1</script>"\nbattery B "\'><img src=x onerror=window.hit=1>\u202eab"\nfrom B\ncable W1 "</title></svg><script>window.hit=1</script>"\nload L "&quot;<b>"\n'
    _, _, file, _ = written(None, tmp_path, text)
    browser.open(file)
    browser.run(
        "document.querySelectorAll('.el').forEach(g => g.dispatchEvent(new MouseEvent('click', {bubbles: true})))"
    )
    assert browser.run("document.querySelectorAll('script').length") == 2
    assert browser.run("[typeof window.hit, document.querySelectorAll('img, b').length]") == ["undefined", 0]
    assert "\u202e" not in file.read_text(encoding="utf-8")
    browser.quiet()
