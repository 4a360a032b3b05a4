"""The page in a browser, from the file system: spoken to over a pipe, so that no driver is needed."""

from __future__ import annotations

import base64
import json
import os
import re
import shutil
import subprocess
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from linter.drawing.page import page
from linter.drawing.page_ways import ways
from linter.drawing.sheets import sheets
from linter.model.build import build
from linter.rules.engine import examine
from linter.source.files import Reader

CHROMIUM = shutil.which("chromium")
needs_browser = pytest.mark.skipif(CHROMIUM is None, reason="chromium is not installed")
FLAGS = (
    "--headless=new --no-sandbox --disable-gpu --disable-quic --no-first-run --disable-background-networking "
    "--disable-component-update --disable-sync --remote-debugging-pipe --window-size=1440,900"
).split()  # fmt: skip


class Browser:
    def __init__(self, profile: Path) -> None:
        assert CHROMIUM is not None
        its_in, self.out = os.pipe()
        self.into, its_out = os.pipe()
        command = ["bash", "-c", 'exec "$0" "$@" 3<&%d 4>&%d' % (its_in, its_out), CHROMIUM, *FLAGS]
        self.process = subprocess.Popen(
            [*command, f"--user-data-dir={profile}"], pass_fds=(its_in, its_out), stderr=subprocess.DEVNULL
        )
        os.close(its_in)
        os.close(its_out)
        self.rest, self.count, self.session, self.events = b"", 0, "", []  # type: ignore[var-annotated]
        target = self.call("Target.createTarget", url="about:blank")["targetId"]
        self.session = self.call("Target.attachToTarget", targetId=target, flatten=True)["sessionId"]
        for domain in ("Page", "Runtime", "Log", "Network"):
            self.call(f"{domain}.enable")

    def call(self, method: str, **params: Any) -> Any:
        self.count += 1
        message: dict[str, Any] = {"id": self.count, "method": method, "params": params}
        if self.session:
            message["sessionId"] = self.session
        os.write(self.out, json.dumps(message).encode() + b"\0")
        while (answer := self.read()).get("id") != self.count:
            self.events.append(answer)
        assert "error" not in answer, answer
        return answer["result"]

    def read(self) -> Any:
        while b"\0" not in self.rest:
            more = os.read(self.into, 1 << 20)
            assert more, "the browser has ended"
            self.rest += more
        one, _, self.rest = self.rest.partition(b"\0")
        return json.loads(one)

    def open(self, path: Path) -> None:
        self.events.clear()
        self.call("Page.navigate", url=path.as_uri())
        while not any(e.get("method") == "Page.loadEventFired" for e in self.events):
            self.events.append(self.read())

    def run(self, script: str) -> Any:
        made = self.call("Runtime.evaluate", expression=script, returnByValue=True)
        assert "exceptionDetails" not in made, made
        return made["result"].get("value")

    def key(self, key: str) -> None:
        text = {"Enter": "\r"}.get(key, key if len(key) == 1 else "")
        code = {"Enter": 13, "Tab": 9, "Escape": 27, "ArrowDown": 40, "ArrowRight": 39}.get(key, 0)
        self.call("Input.dispatchKeyEvent", type="keyDown", key=key, text=text, windowsVirtualKeyCode=code)
        self.call("Input.dispatchKeyEvent", type="keyUp", key=key, windowsVirtualKeyCode=code)

    def quiet(self) -> None:
        """No error was logged, and nothing but the file itself was asked for."""
        bad = [e for e in self.events if e.get("method") in ("Runtime.exceptionThrown", "Log.entryAdded")]
        assert not bad, bad
        asked = {e["params"]["request"]["url"] for e in self.events if e.get("method") == "Network.requestWillBeSent"}
        assert len(asked) == 1 and asked.pop().startswith("file:")


@pytest.fixture(scope="module")
def browser(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Browser]:
    made = Browser(tmp_path_factory.mktemp("profile"))
    yield made
    made.call("Browser.close")
    made.process.wait(20)


def written(path: str | None, folder: Path, text: str = "") -> tuple[Any, Any, Path, int]:
    reader = Reader(None)
    design = build(reader.design(path) if path else reader.design_text(text))
    result = examine(design)
    pictures = sheets(design, result.findings, study=result.study)
    made = page(pictures, result.study, result.findings)
    assert made == page(pictures, result.study, result.findings)
    file = folder / "x.html"
    file.write_bytes(made)
    return design, result, file, len(pictures)


LIT = "[...new Set([...document.querySelectorAll('.el.way')].map(g => +g.dataset.n))].map(n => JSON.parse(document.getElementById('data').textContent).elements[n].id).sort()"


@needs_browser
@pytest.mark.parametrize(
    ("boat", "asked"),
    [("tests/broken/launch-as-found.boat", "W34"), ("boats/cutter.boat", ""), ("boats/motor-yacht.boat", "")],
)
def test_page(browser: Browser, tmp_path: Path, boat: str, asked: str) -> None:
    design, result, file, count = written(boat, tmp_path)
    browser.open(file)
    name = asked or next(n for n, e in reversed(design.elements.items()) if e.kind == "cable")
    browser.run("document.getElementById('find').focus()")
    browser.call("Input.insertText", text=name.lower())
    browser.key("Enter")
    assert browser.run("document.querySelector('#panel h2').textContent").startswith(name)
    off = browser.run(
        "(() => { const b = document.querySelector('.shown .chosen').getBoundingClientRect(),"
        " v = document.getElementById('view').getBoundingClientRect();"
        " return Math.hypot(b.left + b.width / 2 - v.left - v.width / 2, b.top + b.height / 2 - v.top - v.height / 2) })()"
    )
    assert off < 3
    assert browser.run(LIT) == sorted(ways(design.circuit)[name].elements)
    assert "Lets through" in browser.run("document.getElementById('panel').textContent")
    browser.run("document.getElementById('view').focus()")
    browser.key("Escape")
    assert browser.run("document.querySelectorAll('.chosen, .way').length") == 0
    assert browser.run("document.querySelectorAll('#panel .row').length") == len(result.findings)
    browser.key("Enter")
    browser.key("ArrowRight")
    browser.key("Enter")
    assert browser.run("document.activeElement === document.querySelector('.shown .chosen')")
    pdf = base64.b64decode(browser.call("Page.printToPDF", preferCSSPageSize=True)["data"])
    assert len(re.findall(rb"/Type\s*/Page\b", pdf)) == count
    browser.quiet()


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
