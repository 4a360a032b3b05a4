"""A browser that loads a page from the file system: spoken to over a pipe, so that no driver is needed."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
from pathlib import Path
from typing import Any

import pytest

CHROMIUM = shutil.which("chromium")
needs_browser = pytest.mark.skipif(CHROMIUM is None, reason="chromium is not installed")
FLAGS = (
    "--headless=new", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-sync",
    "--disable-background-networking", "--disable-component-update", "--remote-debugging-pipe",
    "--window-size=1440,900",
)  # fmt: skip


class Browser:
    def __init__(self, profile: Path) -> None:
        assert CHROMIUM is not None
        its_in, self.out = os.pipe()
        self.into, its_out = os.pipe()
        # The browser reads from 3 and writes to 4, whatever the numbers of the pipes are here.
        command = ["bash", "-c", f'exec "$0" "$@" 3<&{its_in} 4>&{its_out}', CHROMIUM, *FLAGS]
        self.process = subprocess.Popen(
            [*command, f"--user-data-dir={profile}"], pass_fds=(its_in, its_out), stderr=subprocess.DEVNULL
        )
        os.close(its_in)
        os.close(its_out)
        self.rest, self.count, self.session = b"", 0, ""
        self.events: list[dict[str, Any]] = []
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

    def key(self, key: str, shift: bool = False) -> None:
        text = {"Enter": "\r"}.get(key, key if len(key) == 1 else "")
        code = {"Enter": 13, "Tab": 9, "Escape": 27, "ArrowDown": 40, "ArrowRight": 39}.get(key, 0)
        held = 8 if shift else 0
        self.call(
            "Input.dispatchKeyEvent", type="keyDown", key=key, text=text, windowsVirtualKeyCode=code, modifiers=held
        )
        self.call("Input.dispatchKeyEvent", type="keyUp", key=key, windowsVirtualKeyCode=code)

    def complaints(self) -> list[dict[str, Any]]:
        """Exceptions, refusals of the browser, and whatever a script wrote to the console as an error or warning."""
        found = [e for e in self.events if e.get("method") in ("Runtime.exceptionThrown", "Log.entryAdded")]
        said = [e for e in self.events if e.get("method") == "Runtime.consoleAPICalled"]
        return found + [e for e in said if e["params"]["type"] in ("error", "warning", "assert")]

    def quiet(self) -> None:
        """No error was logged, and nothing but the file itself was asked for."""
        assert not self.complaints(), self.complaints()
        asked = {e["params"]["request"]["url"] for e in self.events if e.get("method") == "Network.requestWillBeSent"}
        assert len(asked) == 1 and asked.pop().startswith("file:")
