"""The judge's machinery: flows, rings; and that its shortcuts change no answer."""

from __future__ import annotations

import math
import os
import random
from pathlib import Path
from typing import Any

import pytest

from linter.model.export import circuit_json

from ..defects.campaign import cases, sound
from .circuit import NONE, Network, networkx_flow
from .currents import Currents
from .quick import QuickNetwork
from .quick_currents import QuickCurrents
from .random_networks import network
from .reading import circuit_of, design_in, design_of
from .test_judge import ISO, SELECTOR
from .wrongs import judge

BOATS = Path(__file__).parents[2] / "boats"
CAMPAIGN = bool(os.environ.get("WIREWORTHY_CAMPAIGN"))
BATCH = 15


def test_parallel_edges_add_up_and_no_limit_is_no_limit() -> None:
    arcs = [("a", "b", 10.0, False), ("a", "b", 15.0, False), ("b", "c", math.inf, False)]
    assert networkx_flow(arcs, {"a": math.inf}, "c") == 25
    assert networkx_flow(arcs, {"a": 12.5}, "c") == 12.5
    assert networkx_flow([("a", "b", math.inf, False)], {"a": math.inf}, "b") == math.inf
    assert networkx_flow([("a", "b", math.inf, True)], {"b": math.inf}, "a") == 0


def test_what_is_no_ring_is_a_bridge() -> None:
    net = Network(circuit_of(ISO + SELECTOR.format(" both") + "from B1\ncable W9, 4 mm2, 1 m\nto S 2\n"))
    made = Currents(net)
    for i in range(len(net.edges)):
        assert (made._sides(i, NONE) is None) == bool(made._ring(i, NONE)), net.edges[i]["id"]
    assert {net.edges[i]["element"] for i in made._ring(net.number["W9"], NONE)} == {"F1", "S", "W9"}


def test_a_ring_carries_all_of_its_load_at_worst() -> None:
    text = """
battery B, 12 V
from B
fuse F0, 100 A
bus P
cable W1, 35 mm2, 1 m
joint J
cable W2, 35 mm2, 1 m
to P
from J
fuse F1, 60 A
cable W3, 35 mm2, 1 m
load L, draws 50 A
"""
    net = Network(circuit_of(ISO + text))
    made = Currents(net)
    assert [(s.least, s.most) for s in (made.spans[net.number[n]] for n in ("F0", "W1", "W2", "W3"))] == [
        (50.0, 50.0)
    ] * 4


# ---- shortcuts


@pytest.mark.parametrize("batch", range(40 if CAMPAIGN else 4))
def test_peeling_and_joining_change_no_flow(batch: int) -> None:
    """Against networkx over all edges one by one, with any edges gone."""
    for k in range(batch * BATCH, (batch + 1) * BATCH):
        chosen = random.Random(k)
        data = circuit_json(design_of(network(chosen, most=9)))
        plain, quick = Network(data), QuickNetwork(data)
        for opened in plain.configurations[:3]:
            gone = opened | frozenset(
                chosen.sample(range(len(plain.edges)), chosen.randrange(4) % (len(plain.edges) + 1))
            )
            for node in plain.nodes:
                assert quick.flow_in(node, gone) == plain.flow_in(node, gone), (k, node, gone)
                assert quick.sources_before(node, gone) == plain.sources_before(node, gone), (k, node, gone)
                assert quick.sources_joined(node, gone) == plain.sources_joined(node, gone), (k, node, gone)
        for i in range(len(plain.edges)):
            assert [quick.in_ring(i, d) for d in (False, True)] == [plain.in_ring(i, d) for d in (False, True)], (k, i)


@pytest.mark.parametrize("batch", range(40 if CAMPAIGN else 4))
def test_the_quick_judge_says_what_the_plain_one_says(batch: int) -> None:
    for k in range(batch * BATCH, (batch + 1) * BATCH):
        data = circuit_json(design_of(network(random.Random(k), most=10)))
        _same(data, k)
        quick, plain = QuickCurrents(QuickNetwork(data)).spans, Currents(Network(data)).spans
        for i, (one, two) in enumerate(zip(quick, plain, strict=True)):
            assert (one.least, one.most) == pytest.approx((two.least, two.most)), (k, data["edges"][i]["id"])


@pytest.mark.parametrize(("name", "every"), [("launch.boat", 90), ("cutter.boat", 1000)])
def test_the_quick_judge_says_what_the_plain_one_says_of_broken_boats(name: str, every: int, tmp_path: Path) -> None:
    """One after the other, so that what is kept of the boat before may mislead."""
    for k, (kind, case, boat) in enumerate(list(cases(sound(BOATS / name)))[:: every // (10 if CAMPAIGN else 1)]):
        folder = tmp_path / str(k)
        folder.mkdir()
        _same(circuit_json(design_in(boat.write(folder))), (kind, case))


def _same(data: dict[str, Any], what: object) -> None:
    quick, plain = judge(data), judge(data, plain=True)
    assert quick.wrong == plain.wrong, what
    assert quick.open == plain.open, what
    assert quick.conductors == plain.conductors, what
