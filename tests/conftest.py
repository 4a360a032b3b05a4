"""Tests name files from the top of the project."""

from __future__ import annotations

from pathlib import Path

import pytest


@pytest.fixture(autouse=True)
def _from_the_top(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    """A test may be started from anywhere."""
    monkeypatch.chdir(Path(request.config.rootpath))
