"""A progress bar on standard error, for work that lasts longer than a second."""

from __future__ import annotations

import sys
import time
from types import TracebackType
from typing import Any

# Reading a large design takes about as long as studying it and running all rules.
READING_SHARE = 0.5
PATIENCE_S = 1.0


class Progress:
    """Shown only on a terminal, and only once the work has lasted longer than a person waits unasked."""

    def __init__(self, rules: int) -> None:
        self._steps = rules + 1
        self._done = 0.0
        self._began = time.monotonic()
        self._bar: Any = None
        self.shown = sys.stderr.isatty()

    def reading(self, share: float) -> None:
        """A share, 0 to 1, of a file has been read."""
        self._show(READING_SHARE * share)

    def step(self, name: str) -> None:
        del name
        self._done += (1 - READING_SHARE) / self._steps
        self._show(min(READING_SHARE + self._done, 1.0))

    def _show(self, share: float) -> None:
        if not self.shown or time.monotonic() - self._began < PATIENCE_S:
            return
        import click

        if self._bar is None:
            self._bar = click.progressbar(length=100, label="wireworthy", file=sys.stderr)
            self._bar.__enter__()
        self._bar.update(max(0, int(100 * share) - self._bar.pos))

    def __enter__(self) -> Progress:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if self._bar is not None:
            self._bar.__exit__(kind, error, trace)
