"""Random circuits: the tool's study and rules against the judge, networkx's maximum flow and exhaustive paths.

A few hundred in the suite; thousands with WIREWORTHY_CAMPAIGN=1 in the environment.
"""

from __future__ import annotations

import os
import random
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings

from linter.model.export import circuit_json
from linter.rules.engine import examine

from .compare import study_differences
from .random_networks import network, networks
from .reading import design_of
from .shrink import smallest
from .wrongs import COVERED, judge

CAMPAIGN = bool(os.environ.get("WIREWORTHY_CAMPAIGN"))
# Networks a test takes at once: a failing batch still names its smallest text.
BATCH = 25
STUDY_BATCHES = 160 if CAMPAIGN else 10
RULE_BATCHES = 60 if CAMPAIGN else 6

SETTLED_WHOLE = Path(__file__).parent / "settled"
HEAD = 'boat "R", 9 m, rulebook cfr-183\nsystem MAIN, 12 V, negative earthed\nbattery B1, 12 V\n'
# What tool and judge once differed on, each as the smallest text.
SETTLED = {
    "current-rating counts what has no way on for fed, beside parallel conductors": """
charger C1, 12 V, 30 A
joint X
bus P1, 20 A
from B1
to X
from B1
cable W1, 50 mm2, 1 m
to X
from X
to P1
from C1
to X
""",
    "current-rating overlooks a switch behind parallel conductors": """
bus P1
bus P2
load L1, draws 240 A
from B1
switch S0, 300 A
to P1
from P1
cable W1, 120 mm2, 1 m
to P2
from P1
cable W2, 120 mm2, 1 m
to P2
from P2
switch S1, 100 A
to L1
""",
    "a load by itself is not counted through a ring that hangs on a single conductor": """
load L3, draws 240 A
bus P1
bus P2
from B1
relay K1
breaker Q1, 150 A
to P1
from P1
to P2
from P2
to P1
from P2
to L3
scene "One", L3, K1 open
""",
    "a load by itself is not counted through a selector that a scene has at off": """
load L1, draws 240 A
selector X1, positions off 1 2
from X1 1
to L1
from B1
fuse F1, 60 A
to X1
scene "Two", L1, X1 at off
""",
    "source-overloaded does not stand at the first of the sources": """
load L1, draws 12 A
load L2, draws 240 A
charger C1, 12 V, 150 A
charger C2, 12 V, 100 A
from L1
to L2
from L1
to C1
from C2
to L2
scene "One", L1, L2, B1 off
""",
    "scene-not-fed overlooks a load that does not say what it draws": """
load L3
from B1
to L3
scene "One", L3, B1 off
""",
    "not-fed takes two positions of a selector as closed together": """
load L1, draws 6 A
selector X1, positions 1 2
from B1
to X1 1
from X1 2
to L1
""",
    "a fuse without a rating limits nothing, even where it leads to a source": """
bus P1, 200 A
solar C1, 40 A
from B1
to P1
from P1
fuse F2
to C1
""",
    "scene-not-fed is said of loads that stand in no scene": """
battery B2, 12 V
load L1, draws 6 A
from B1
relay K1, combining
to L1
from B2
relay K2, combining
to L1
scene "One", B1 off
""",
}


def rule_differences(text: str) -> list[str]:
    """What the judge holds wrong and the tool does not say; what the tool says and the judge does not hold wrong."""
    design = design_of(text)
    examination = examine(design)
    if any(m.loses for m in examination.mistakes):
        return []
    word = judge(circuit_json(design))
    said = {(f.rule, f.subject) for f in examination.findings if f.rule in COVERED}
    grave = {
        (f.rule, f.subject)
        for f in examination.findings
        if f.rule in COVERED and f.severity.value in {"danger", "fault"}
    }
    return (
        [f"broken: {name}: {problem}" for name, problem in examination.broken]
        + [f"missed: {rule} at {element}" for rule, element in sorted(word.wrong - said)]
        + [f"false alarm: {rule} at {element}" for rule, element in sorted(grave - word.wrong - word.open)]
    )


def smallest_with(differ: object, text: str, first: str) -> str:
    """The smallest text that still shows a difference of the same sort, for the message."""
    sort = first.split(" at ")[0].split(": ", 1)[-1][:20]
    assert callable(differ)
    return smallest(text, lambda t: any(sort in d for d in differ(t)))


@pytest.mark.parametrize("batch", range(STUDY_BATCHES))
def test_the_study_agrees_with_the_judge(batch: int) -> None:
    """Let-through and guard against networkx's maximum flow, what is allowed, verdict, distance."""

    def differ(text: str) -> list[str]:
        return study_differences(design_of(text))

    for k in range(batch * BATCH, (batch + 1) * BATCH):
        text = network(random.Random(k))
        found = differ(text)
        assert not found, f"network {k}: {found}\n{smallest_with(differ, text, found[0])}"


@pytest.mark.parametrize("batch", range(RULE_BATCHES))
def test_the_rules_agree_with_the_judge(batch: int) -> None:
    for k in range(100_000 + batch * BATCH, 100_000 + (batch + 1) * BATCH):
        text = network(random.Random(k), most=9)
        found = rule_differences(text)
        assert not found, f"network {k}: {found}\n{smallest_with(rule_differences, text, found[0])}"


@pytest.mark.parametrize("what", SETTLED)
def test_what_is_settled(what: str) -> None:
    assert rule_differences(HEAD + SETTLED[what].lstrip("\n")) == []


@pytest.mark.parametrize("path", sorted(SETTLED_WHOLE.glob("*.boat")), ids=lambda p: p.stem)
def test_what_is_settled_but_larger(path: Path) -> None:
    """What tool and judge once differed on and nobody has found a smaller text for; the name says what it is about."""
    text = path.read_text(encoding="utf-8")
    assert rule_differences(text) == []
    about = "overloaded" if "overload" in path.stem else "-asked"
    assert any(about in rule for rule, _ in judge(circuit_json(design_of(text))).wrong)


@settings(
    max_examples=1000 if CAMPAIGN else 40, deadline=None, suppress_health_check=list(HealthCheck), derandomize=True
)
@given(networks(most=6))
def test_small_networks(text: str) -> None:
    assert not study_differences(design_of(text)), text


def test_the_networks_are_worth_judging() -> None:
    """Every verdict and most of the rules must come up, or the agreement above says little."""
    verdicts: set[str] = set()
    rules: set[str] = set()
    for k in range(100):
        design = design_of(network(random.Random(k)))
        assert not design.mistakes, [m.message for m in design.mistakes]
        word = judge(circuit_json(design))
        verdicts |= {v.verdict for v in word.conductors.values()}
        rules |= {rule for rule, _ in word.wrong}
    assert verdicts == {"protected", "within distance", "too far", "unprotected", "unknown", "cranking"}
    assert rules == COVERED - {"systems-joined"}
