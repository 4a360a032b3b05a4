"""After a campaign: the table of what came of every kind of case, boat by boat, from whichever process ran them."""

from __future__ import annotations

import os
import signal

import pytest

from .campaign import Tally, table


def pytest_configure() -> None:
    """A campaign that is told to end still writes down what came of it so far."""
    if os.environ.get("WIREWORTHY_CAMPAIGN"):
        signal.signal(signal.SIGTERM, signal.default_int_handler)


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    tallies: dict[str, list[Tally]] = {}
    seconds: dict[str, float] = {}
    for sort in ("passed", "failed"):
        for report in terminalreporter.stats.get(sort, []):
            for key, value in getattr(report, "user_properties", ()):
                if key == "campaign":
                    boat, made = value
                    tallies.setdefault(boat, []).append(made)
                    seconds[boat] = seconds.get(boat, 0.0) + report.duration
    for boat, made in sorted(tallies.items()):
        terminalreporter.section(f"{boat}: {seconds[boat]:.0f} s of all processes together")
        terminalreporter.write_line(table(made))
