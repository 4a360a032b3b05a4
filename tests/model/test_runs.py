"""Runs to the graph: what is joined to what, and what is not."""

from __future__ import annotations

import pytest

from .designs import HEAD, design_of, edges, mends, said

# text of a run -> the edges it makes
JOINED: dict[str, tuple[str, list[tuple[str, str, str, str]]]] = {
    "device, cable, load": (
        "from P\nfuse F, 5 A\ncable W, 1 mm2, 1 m\nload L\n",
        [("conductor", "F.out", "L", "W"), ("device", "P", "F.out", "F")],
    ),
    "on behind a bus": (
        "from P\ncable W, 1 mm2\nbus A\ncable V, 1 mm2\nload L\n",
        [("conductor", "A", "L", "V"), ("conductor", "P", "A", "W")],
    ),
    "on behind a source": (
        "from P\ncable W, 1 mm2\nbattery C, 12 V\ncable V, 1 mm2\nload L\n",
        [("conductor", "C", "L", "V"), ("conductor", "P", "C", "W")],
    ),
    "to": ("from B\ncable W, 1 mm2\nto P\n", [("conductor", "B", "P", "W")]),
    "to what is declared below": ("from B\ncable W, 1 mm2\nto J\n\njoint J\n", [("conductor", "B", "J", "W")]),
    "to itself": ("from B\ncable W, 1 mm2\nto B\n", [("conductor", "B", "B", "W")]),
    "touching, by from": ("from B\njoint J\n", [("link", "B", "J", "J")]),
    "touching, by from and to": ("from B\nto P\n", [("link", "B", "P", "P")]),
    "touching, said twice": ("from B\nto P\nfrom B\nto P\n", [("link", "B", "P", "P")]),
    "from the end of a fuse": (
        "from P\nfuse F, 5 A\ncable W, 1 mm2\nload L\nfrom F\ncable V, 1 mm2\nload M\n",
        [("conductor", "F.out", "L", "W"), ("conductor", "F.out", "M", "V"), ("device", "P", "F.out", "F")],
    ),
    "from the end of a fuse above it": (
        "from F\ncable V, 1 mm2\nload M\nfrom P\nfuse F, 5 A\nbus A\n",
        [("conductor", "A", "M", "V"), ("device", "P", "A", "F")],
    ),
    "from the end of a cable that ends in a load": (
        "from P\ncable W, 1 mm2\nload L\nfrom W\ncable V, 1 mm2\nload M\n",
        [("conductor", "L", "M", "V"), ("conductor", "P", "L", "W")],
    ),
    "from load to load": (
        "from P\ncable W, 1 mm2\nload L\nfrom L\ncable V, 1 mm2\nload M\n",
        [("conductor", "L", "M", "V"), ("conductor", "P", "L", "W")],
    ),
    "a dangling end": ("from P\ncable W, 1 mm2\n", [("conductor", "P", "W.out", "W")]),
    "a diode": ("from P\ndiode D\nto B\n", [("diode", "P", "B", "D")]),
    "switch and relay": (
        "from P\nswitch S\nrelay R\nto B\n", [("relay", "S.out", "B", "R"), ("switch", "P", "S.out", "S")]
    ),
    "through a converter": (
        "from P\ncable W, 1 mm2\nconverter C, 12 V to 12 V, 5 A\ncable V, 1 mm2\nload L\n",
        [("conductor", "C.out", "L", "V"), ("conductor", "P", "C.in", "W")],
    ),
    "to and from a converter": (
        "converter C, 12 V to 12 V, 5 A\nfrom C\ncable V, 1 mm2\nload L\nfrom P\ncable W, 1 mm2\nto C\n",
        [("conductor", "C.out", "L", "V"), ("conductor", "P", "C.in", "W")],
    ),
    "an inverter that gives": ("from P\ncable W, 1 mm2\ninverter I, 12 V, gives 5 A\n", [("conductor", "P", "I", "W")]),
    "selector terminals": (
        "selector S, positions off 1 2 both\nfrom B\ncable W, 1 mm2\nto S 1\nfrom S 2\ncable V, 1 mm2\nto S\n",
        [
            ("conductor", "B", "S.1", "W"), ("conductor", "S.2", "S", "V"),
            ("selector", "S.1", "S", "S"), ("selector", "S.2", "S", "S"),
        ],
    ),
}  # fmt: skip


@pytest.mark.parametrize("case", JOINED)
def test_what_is_joined(case: str) -> None:
    text, expected = JOINED[case]
    design = design_of(HEAD + text)
    assert said(design) == []
    assert edges(design) == sorted(expected)
    for node in design.circuit.nodes:
        assert design.circuit.nodes[node.index] is node and design.circuit.by_name[node.name] is node
        for index in node.edges:
            assert node.index in (design.circuit.edges[index].u, design.circuit.edges[index].v)


def test_what_is_not_joined() -> None:
    # a bus declared by itself, a run ended by `to`, another run, another file, another place
    # nor what is declared below a terminal that a run has come to
    design = design_of(HEAD + "place X\nfrom P\nfuse F, 5 A\nbus A\nbus C\n", "bus D, in X\nbus E, in X\n")
    assert edges(design) == [("device", "P", "A", "F")]
    assert not any(design.circuit.by_name[n].edges for n in "BCDE")


def test_a_diode_is_one_way_downwards() -> None:
    design = design_of(HEAD + "from P\ndiode D\nto B\nfrom B\nfuse F, 5 A\nto P\n")
    assert {e.element.name: e.one_way for e in design.circuit.edges} == {"D": True, "F": False}


def test_sources_and_loads_of_converter_and_inverter() -> None:
    nodes = design_of(
        HEAD + "converter C, 12 V to 12.5 V, 5 A\ninverter I, 12 V, gives 5 A\ninverter J, 12 V\n"
    ).circuit.by_name
    assert [(n, bool(nodes[n].source), bool(nodes[n].load)) for n in ("C.in", "C.out", "I", "J")] == [
        ("C.in", False, True), ("C.out", True, False), ("I", True, True), ("J", False, True),
    ]  # fmt: skip
    assert nodes["C.out"].source and nodes["C.out"].source.voltage_v == 12.5


WRONG: dict[str, tuple[str, list[str], str]] = {
    "begins nowhere": ("cable W, 1 mm2\n", ["5:7: cable W begins nowhere"], "P was declared, not begun from"),
    "begins nowhere, told once a run": ("cable W, 1 mm2\nfuse F, 5 A\nload L\n", ["5:7: cable W begins nowhere"], ""),
    "behind a load": (
        "from P\nload L\ncable W, 1 mm2\nload M\n", ["7:7: cable W begins nowhere"], "the run ended at L; say"
    ),
    "behind an inverter": ("from P\ninverter I\ncable W, 1 mm2\n", ["7:7: cable W begins nowhere"], "the run ended at I"),
    "behind to": ("from B\nto P\ncable W, 1 mm2\n", ["7:7: cable W begins nowhere"], "the run ended with `to`"),
    "behind a place": (
        "from B\ncable V, 1 mm2\nplace X\ncable W, 1 mm2\n", ["8:7: cable W begins nowhere"], "ended at the line `place`"
    ),
    "behind a bus that stands alone": (
        "bus A\ncable W, 1 mm2\n", ["6:7: cable W begins nowhere"], "A was declared, not begun from"
    ),
    "to a cable": (
        "from B\ncable W, 1 mm2\nto V\nfrom P\ncable V, 1 mm2\n",
        ["7:4: V is a cable, which a run passes through; a run goes to a terminal"], "put a `joint` there",
    ),
    "to nothing": ("from B\ncable W, 1 mm2\nto PP\n", ["7:4: nothing is called PP"], "did you mean P?"),
    "from nothing": ("from BB\ncable W, 1 mm2\nto P\n", ["5:6: nothing is called BB"], "did you mean B?"),
    "from nothing, to a bus and on": ("from BB\nbus A\ncable W, 1 mm2\nto P\n", ["5:6: nothing is called BB"], ""),
    "to without from": ("to P\n", ["5:1: nothing goes to P here"], "write from NAME first"),
    "to behind a bus": ("from B\nfuse F, 5 A\nbus A\nto P\n", ["8:1: nothing goes to P here"], "the run has come to A"),
    "to behind to": ("from B\nto P\nto B\n", ["7:1: nothing goes to B here"], "the run ended with `to`"),
    "a terminal that is none": (
        "selector S, positions off 1 2 both\nfrom B\nto S 3\n", ["7:6: S has no terminal 3"], "its terminals are 1, 2"
    ),
    "a terminal of a bus": ("from B\nto P 1\n", ["6:6: P has no terminal 1"], "write P alone"),
    "a selector in a run": (
        "from B\ncable W, 1 mm2\nselector S, positions 1 2\n",
        ["7:10: the run does not say to which terminal of S it goes"], "end the run with: to S 1",
    ),
    "a line that cannot be read, in a run": (
        "from B\ncabel W, 1 mm2\nfuse F, 5 A\nto P\n", ["6:1: no statement begins with 'cabel'"], "did you mean cable?"
    ),
    "an element declared twice, in a run": (
        "from B\ncable W, 1 mm2\ncable W, 1 mm2\nto P\n", ["7:7: element W is declared twice"], "another name"
    ),
}  # fmt: skip


@pytest.mark.parametrize("case", WRONG)
def test_what_is_wrong_with_a_run(case: str) -> None:
    text, expected, mend = WRONG[case]
    design = design_of(HEAD + text)
    assert said(design) == expected
    assert mend in mends(design)[0]
    assert not design.whole


def test_two_files_with_runs_share_their_terminals() -> None:
    design = design_of(HEAD + "from B\nfuse F, 5 A\nto AFT\n", "bus AFT\nfrom AFT\ncable W, 1 mm2\nload L\n")
    assert said(design) == []
    assert edges(design) == [("conductor", "AFT", "L", "W"), ("device", "B", "AFT", "F")]


def test_a_run_does_not_go_on_in_the_next_file() -> None:
    design = design_of(HEAD + "from B\ncable V, 1 mm2\n", "cable W, 1 mm2\n")
    assert said(design) == ["1:7: cable W begins nowhere"]


def test_positions_that_exclude_each_other() -> None:
    design = design_of(
        HEAD + "selector S, positions off 1 2\nselector R, positions off 1 2 both\nselector Q, positions 1\n"
    )
    ((switch, groups),) = design.circuit.excluding()
    assert switch.name == "S"
    assert [[design.circuit.edges[i].position for i in g] for g in groups] == [["1"], ["2"]]
