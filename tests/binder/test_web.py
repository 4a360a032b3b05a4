"""The page: its text against the model, and in a browser: search, sort, print, and nothing asked for from anywhere."""

from __future__ import annotations

import base64
import html
import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from linter.binder import shown
from linter.binder.contents import document
from linter.binder.model import Card, Table
from linter.binder.subject import Subject
from linter.binder.web import page
from linter.drawing.page import page as diagram_page
from tests.binder.making import HOSTILE, LONG, launch, plain, read, small, subject_of
from tests.drawing.browser import Browser, needs_browser


def page_of(subject: Subject) -> bytes:
    made = document(subject)
    return page(made, diagram_page(subject.pictures, subject.study, subject.result.findings))


@cache
def hostile() -> Subject:
    return subject_of(HOSTILE, None)


@cache
def text_of(name: str) -> str:
    subject: Any = {"small": small, "launch": launch, "hostile": hostile}[name]
    return page_of(subject()).decode()


def without_tags(text: str) -> str:
    text = re.sub(r"<(script|style|svg|iframe)\b.*?</\1>", " ", text, flags=re.DOTALL)
    return plain(html.unescape(re.sub(r"<[^>]*>", "", text.replace("<wbr>", ""))))


@pytest.mark.parametrize("name", ["small", "launch", "hostile"])
def test_every_cell_is_on_the_page(name: str) -> None:
    subject: Any = {"small": small, "launch": launch, "hostile": hostile}[name]
    text = without_tags(text_of(name))
    for section in document(subject()).sections:
        for block in section.blocks:
            table = block if isinstance(block, Table) else block.table if isinstance(block, Card) else None
            for row in shown.rows(table) if table is not None else ():
                assert all(plain(c.lead + c.text) in text for c in row), (section.key, row)


@pytest.mark.parametrize("name", ["small", "launch", "hostile"])
def test_the_page_fetches_nothing_and_runs_only_its_own(name: str) -> None:
    text = text_of(name)
    policy = re.search(r'http-equiv="Content-Security-Policy" content="([^"]*)"', text)
    assert policy is not None and policy[1].startswith("default-src 'none'; script-src 'sha256-")
    assert "unsafe" not in policy[1] and "http" not in policy[1] and "*" not in policy[1]
    outer = re.sub(r'srcdoc="[^"]*"', "", text)
    assert len(re.findall(r"<script", outer)) == 1
    assert not re.search(r'\s(src|href)="(?!#)', outer) and "url(" not in outer and "@import" not in outer
    assert not re.search(
        r"\son[a-z]+=", re.sub(r"<script>.*?</script>", "", outer, flags=re.DOTALL).replace("onerror=alert", "")
    )
    assert "<script>alert" not in outer and "<img" not in outer


def test_the_same_design_gives_the_same_page() -> None:
    assert page_of(small()) == text_of("small").encode()


def test_ids_are_given_once() -> None:
    found = re.findall(r'\sid="([^"]+)"', re.sub(r'srcdoc="[^"]*"', "", text_of("launch")))
    assert len(found) == len(set(found))


@pytest.fixture(scope="module")
def browser(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Browser]:
    made = Browser(tmp_path_factory.mktemp("profile"))
    yield made
    made.process.terminate()
    made.process.wait(20)


def opened(browser: Browser, tmp_path: Path, name: str) -> None:
    path = tmp_path / "binder.html"
    path.write_bytes(text_of(name).encode())
    browser.open(path)


SHOWN = "Array.from(document.querySelectorAll('{}')).filter(e => e.checkVisibility()).map(e => e.cells[0].textContent)"


@needs_browser
def test_search_leaves_the_lines_that_have_all_words(browser: Browser, tmp_path: Path) -> None:
    opened(browser, tmp_path, "launch")
    rows = SHOWN.format("#part-conductors tbody tr")
    everything = browser.run(rows)
    assert sorted(everything) == sorted(launch().study.conductors)

    def search(words: str) -> None:
        browser.run(f"document.getElementById('find').value = {words!r};"
                    "document.getElementById('find').dispatchEvent(new Event('input'))")  # fmt: skip

    search("trim 6 AWG")
    assert browser.run(rows) == ["W11"]
    assert "lines" in browser.run("document.getElementById('said').textContent")
    assert not browser.run("document.getElementById('part-glossary').checkVisibility()")
    search("nothing-has-this-name")
    assert browser.run("document.getElementById('said').textContent") == "0 lines"
    assert browser.run(SHOWN.format("main tbody tr")) == []
    search("")
    assert browser.run(rows) == everything
    assert browser.run("document.getElementById('part-glossary').checkVisibility()")
    browser.quiet()


@needs_browser
def test_a_click_on_a_head_sorts_by_figures_not_by_letters(browser: Browser, tmp_path: Path) -> None:
    opened(browser, tmp_path, "launch")
    (section,) = document(launch(), ["conductors"]).sections
    column = [c.key for c in section.data.columns].index("capacity A")
    click = f"document.querySelectorAll('#part-conductors th button')[{column}].click()"
    browser.run(click)
    names = browser.run(SHOWN.format("#part-conductors tbody tr"))
    amps = [launch().study.conductors[n].ampacity_a or 0 for n in names]
    assert amps == sorted(amps) and amps != sorted(amps, key=str)
    browser.run(click)
    names = browser.run(SHOWN.format("#part-conductors tbody tr"))
    assert [launch().study.conductors[n].ampacity_a for n in names] == sorted(amps, reverse=True)
    order = "document.querySelector('#part-conductors th[aria-sort]').getAttribute('aria-sort')"
    assert browser.run(order) == "descending"
    # a sum stays below what it sums
    browser.run("document.querySelectorAll('#part-energy table')[0].querySelectorAll('th button')[4].click()")
    last = "Array.from(document.querySelectorAll('#part-energy table')[0].tBodies[0].rows).pop().cells[0].textContent"
    assert browser.run(last) == "In all"
    browser.quiet()


@needs_browser
def test_the_diagram_is_alive_in_its_frame(browser: Browser, tmp_path: Path) -> None:
    """The frame may not reach the page around it, so that the browser runs it as a target of its own."""
    browser.call("Target.setAutoAttach", autoAttach=True, waitForDebuggerOnStart=False, flatten=True)
    opened(browser, tmp_path, "launch")
    attached = [e["params"] for e in browser.events if e.get("method") == "Target.attachedToTarget"]
    frames = [a["sessionId"] for a in attached if a["targetInfo"]["type"] == "iframe"]
    assert len(frames) == 1
    outside, browser.session = browser.session, frames[0]
    try:
        for domain in ("Runtime", "Log", "Network"):
            browser.call(f"{domain}.enable")
        for _ in range(50):
            # the list of sheets is filled by its script
            if browser.run("document.readyState") == "complete":
                break
        assert browser.run("document.getElementById('pick').options.length") == len(launch().pictures)
        assert browser.run("document.querySelectorAll('.sheet.shown').length") == 1
        assert browser.run("try { parent.document.title } catch (e) { e.name }") == "SecurityError"
    finally:
        browser.session = outside
    assert browser.run("document.querySelector('iframe').contentDocument") is None
    browser.call("Target.setAutoAttach", autoAttach=False, waitForDebuggerOnStart=False, flatten=True)
    browser.quiet()


@needs_browser
@pytest.mark.parametrize("name", ["launch", "hostile"])
def test_it_prints_whole(browser: Browser, tmp_path: Path, name: str) -> None:
    opened(browser, tmp_path, name)
    data = base64.b64decode(browser.call("Page.printToPDF", preferCSSPageSize=True)["data"])
    reader = read(data)
    text = plain(" ".join(p.extract_text() for p in reader.pages)).replace(" ", "")
    subject = launch() if name == "launch" else hostile()
    for one in subject.study.conductors:
        # the machine may have no font for others, and then nothing can be read back
        assert one in text or not one.isascii()
    sizes = {(round(float(p.mediabox.width)), round(float(p.mediabox.height))) for p in reader.pages}
    assert {(595, 842), (842, 595)} <= sizes
    assert "Search" not in text
    if name == "hostile":
        assert LONG in text
        assert browser.run("typeof window.alerted") == "undefined"
        assert browser.run("document.documentElement.scrollWidth <= innerWidth")
    browser.quiet()
