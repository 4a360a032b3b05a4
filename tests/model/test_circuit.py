"""Which points hang together, asked again after the circuit has grown."""

from __future__ import annotations

from linter.model.build import build
from linter.source.files import Reader

TEXT = """boat "T", 9 m, rulebook iso-13297
system DC12, 12 V
battery A, 12 V
from A
fuse F1, 10 A
cable W1, 2.5 mm2, 1 m
bus N
bus Q
"""


def test_pieces_follow_what_is_added() -> None:
    circuit = build(Reader().design_text(TEXT)).circuit
    a, n, q = (circuit.by_name[name] for name in "ANQ")
    for _ in range(2):
        piece, region = circuit.pieces(), circuit.pieces(devices=False)
        assert piece[a.index] == piece[n.index] != piece[q.index]
        assert len({region[x.index] for x in (a, n, q)}) == 3
    assert n.element is not None
    circuit.add_edge(n, q, "link", n.element)
    piece, region = circuit.pieces(), circuit.pieces(devices=False)
    assert piece[a.index] == piece[n.index] == piece[q.index]
    assert region[a.index] != region[n.index] == region[q.index]
    more = circuit.add_node("more", "end")
    assert len(circuit.pieces()) == len(circuit.nodes)
    assert circuit.pieces()[more.index] not in circuit.pieces()[: more.index]
