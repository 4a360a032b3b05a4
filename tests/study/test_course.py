"""Devices alike asked together open as they do asked one by one."""

from __future__ import annotations

import random

from linter.study.chain import between_sources
from linter.study.course import ByCurve, Carried, OneByOne
from linter.study.curve import Curve
from linter.study.net import net_of
from linter.tables.cite import Cite
from tests.study.test_scaling import HEAD, studied

CITE = Cite("invented", "read")


def curve(rated_a: float) -> Curve:
    slow = tuple((m * rated_a, s) for m, s in ((1.35, 3600.0), (2.0, 20.0), (5.0, 1.5), (5.0, 0.4), (10.0, 0.05)))
    return Curve(rated_a, slow, (), CITE, ((rated_a**2 * 4, rated_a * 40),))


def test_by_curve_as_one_by_one() -> None:
    rng = random.Random(3)
    curves = [curve(10.0), curve(25.0), None]
    of = {edge: rng.choice(curves) for edge in range(30)}
    opened = 0
    for _ in range(300):
        alike = Carried(ByCurve(of.__getitem__))
        each = Carried(OneByOne(lambda e, a: c.slowest(a).seconds if (c := of[e]) is not None else float("inf")))
        # several in a row carry the same
        loads = [rng.choice([0.0, 12.0, 60.0, rng.uniform(5, 900)]) for _ in range(6)]
        seconds, closed = 0.0, set(of)
        for _ in range(4):
            now = {e: a * rng.choice([1.0, 1.0, rng.uniform(0.3, 2)]) for e in sorted(closed) if (a := loads[e % 6])}
            (least_a, first_a, beyond), (least, first, _) = alike.next(now, seconds), each.next(now, seconds)
            assert (least_a, first_a) == (least, first)
            told = {e for e, a in now.items() if (c := of[e]) is not None and c.slowest(a).told}
            assert list(beyond) == [e for e in now if e not in told]
            if not first:
                break
            opened += len(first)
            seconds += least
            closed -= set(first)
    assert opened > 500


def test_what_leads_to_no_source_lies_between_none() -> None:
    """Two batteries on a ring of three buses; from the third a tail hangs, and an open end."""
    text = HEAD + (
        "battery B, AGM, 12 V, 100 Ah\nbus N\nbus M\nbus O\nbus P\nbus Q\nfrom A\nfuse F1, ANL, 100 A\nto N\n"
        "from B\nfuse F2, ANL, 100 A\nto M\nfrom N\ncable W1, 10 mm2, 1 m\nto M\nfrom M\ncable W2, 10 mm2, 1 m\nto O\n"
        "from O\ncable W3, 10 mm2, 1 m\nto N\nfrom O\ncable W4, 10 mm2, 1 m\nto P\nfrom P\ncable W5, 10 mm2, 1 m\nto Q\n"
    )
    study = studied(text)
    net = net_of(study.design.circuit)
    circuit = net.circuit
    at = {node.name: node.index for node in circuit.nodes}
    sources = {node.index for node in circuit.nodes if node.source is not None}

    def between(node: str, without: str = "") -> set[str]:
        edges = {e.index for e in circuit.edges if e.element.name != without}
        return {circuit.edges[e].element.name for e in between_sources(net, at[node], edges, sources)}

    assert between("N") == {"F1", "F2", "W1", "W2", "W3"}
    assert between("P") == {"F1", "F2", "W1", "W2", "W3", "W4"}
    assert between("N", "W2") == {"F1", "F2", "W1"}
    assert between("N", "F2") == {"F1", "W1", "W2", "W3"}
