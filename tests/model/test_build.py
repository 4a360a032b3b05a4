"""Declarations, names, facts, part sheets, scenes and acceptances."""

from __future__ import annotations

import gc
import subprocess
import sys
from pathlib import Path

import pytest

from linter.model.build import build
from linter.model.elements import Conductor, Converter, Device, Load, Source
from linter.source.files import Reader

from .designs import HEAD, design_of, mends, said

# text behind the head -> what is said, and a part of the first mend
WRONG: dict[str, tuple[list[str], str]] = {
    "place X\nplace X\n": (["6:7: place X is declared twice"], "another name"),
    "system DC12, 12 V\n": (["5:8: system DC12 is declared twice"], "another name"),
    "bus B\n": (["5:5: element B is declared twice"], "another name"),
    "part p, fuse\npart p, fuse\n": (["6:6: part p is declared twice"], "another name"),
    'boat "U", 9 m\n': (["5:6: a second `boat` statement"], "a design is one boat"),
    "load L, in FOREPEEK\nplace FOREPEAK\n": (["5:12: there is no place FOREPEEK"], "did you mean FOREPEAK?"),
    "load L, in X\n": (["5:12: there is no place X"], "declare it"),
    "load L, part pq\npart p, load\n": (["5:14: there is no part pq"], "did you mean p?"),
    "load L, on DC24\n": (["5:12: there is no system DC24"], "did you mean DC12?"),
    "load L, part p\npart p, fuse\n": (["5:14: part p is the sheet of a fuse, not of a load"], ""),
    "from B\ncable W, 1 m in X\n": (["6:17: there is no place X"], "declare it"),
    "load L, 35 mm2\n": (["5:9: a load does not take a size (35 mm2, 2/0 AWG)"], "a load takes: part NAME;"),
    "load L, vitall\n": (["5:9: 'vitall' is no fact of a load"], "did you mean vital?"),
    "load L, VITAL\n": (["5:9: 'VITAL' is no fact of a load"], "did you mean vital?"),
    "load L, draws 1 A, draws 2 A\n": (["5:20: draws 2 A: the load says such a thing already"], "keep one"),
    "from B\nfuse F, blade, large blade\n": (
        ["6:16: large blade: the fuse says such a thing already"], "keep one"),
    "battery C, 12 V, 0 parallel\n": (["5:18: 0 parallel: there is at least one, and no bank has a thousand"], "correct"),
    "converter C, 12 V to 12 V, efficiency 120 %\n": (
        ["5:28: efficiency 120 %: it lies between 1 % and 100 %"], "correct"),
    "from B\ncable W, bundle of 0\n": (
        ["6:10: bundle of 0: the cable itself counts, and no bundle has a thousand"], "correct"),
    "selector S, 5 A\n": (["5:10: selector S does not say its positions"], "positions off 1 2 both"),
    "system D24, AC\n": (["5:8: system D24 has no voltage"], "12 V"),
    "cables, tinned\ncables, plain\n": (["6:9: `cables` says this a second time"], "keep one"),
    "part p, load, in X\nplace X\n": (["5:15: a part sheet does not take in PLACE"], "where the load stands"),
    "part p, load, part p\n": (["5:15: a part sheet does not take part NAME"], "where the load stands"),
    "part p, cable, 1 m in X\n": (["5:16: a part sheet does not take a stretch (1.5 m in PLACE)"], ""),
    "rulebook yard, file y.toml\n": (["5:10: rulebook yard is declared but the boat does not name it"], "rulebook yard"),
    "rulebook iso-13297\n": (["5:10: rulebook iso-13297 does not say in which file it stands"], "file yard.toml"),
    "rulebook iso-13297, file ../y.toml\n": (["5:21: ../y.toml lies outside the folder of this design"], "own folder"),
    'scene "s", NOPE\n': (["5:12: there is no element NOPE"], ""),
    'scene "s", P\n': (["5:12: P is a bus; a scene names loads, sources, switches and devices"], ""),
    'scene "s", P off\n': (["5:12: P is a bus; a scene names loads, sources, switches and devices"], ""),
    'scene "s", B open\n': (["5:12: a battery cannot be open"], "B off"),
    'scene "s", B at 1\n': (["5:12: B is a battery and has no positions"], "B off"),
    'scene "s", S\nfrom B\nswitch S\n': (["5:12: the scene does not say whether S is open or closed"], "S closed or S open"),
    'scene "s", S off\nfrom B\nswitch S\n': (["5:12: a switch cannot be off"], "S closed or S open"),
    'scene "s", S at 3\nselector S, positions off 1 2\n': (["5:12: S has no position 3"], "its positions are 1, 2, off"),
    'scene "s", S\nselector S, positions off 1 2\n': (["5:12: the scene does not say in which position S is"], "S at 1"),
    'scene "s", S open\nselector S, positions off 1 2\n': (["5:12: a selector cannot be open"], "1, 2, off"),
    'scene "s", tinned\n': (["5:12: a scene does not take tinned or plain"], "a scene takes: NAME;"),
    'accept x at W9, "r"\n': (["5:13: there is no element W9"], ""),
    'accept x at B, "r", until 2027-02-30\n': (["5:21: 2027-02-30 is no date"], "write 2027-04-01"),
}  # fmt: skip


@pytest.mark.parametrize("text", WRONG)
def test_what_is_wrong(text: str) -> None:
    expected, mend = WRONG[text]
    design = design_of(HEAD + text)
    assert said(design) == expected
    assert mend in mends(design)[0]


@pytest.mark.parametrize("text", [t for t in WRONG if "declared twice" in WRONG[t][0][0]])
def test_what_stands_twice_shows_the_first(text: str) -> None:
    ((span, words),) = design_of(HEAD + text).mistakes[0].related
    assert words == "first here" and span.line < 7


def test_the_first_of_two_is_the_one_that_counts() -> None:
    design = design_of(HEAD + "load L, draws 1 A\nload L, draws 2 A\n")
    load = design.elements["L"]
    assert isinstance(load, Load) and load.draws_a == 1


def test_a_file_without_a_boat_is_no_design_and_says_so() -> None:
    assert said(design_of("bus A\n")) == ["1:1: this file has no `boat` statement, so it is no design"]
    assert said(design_of("")) == ["1:1: this file has no `boat` statement, so it is no design"]


def test_a_boat_without_a_system_is_told() -> None:
    assert said(design_of('boat "T"\n')) == ["1:6: the boat has no system"]


def test_one_mistake_in_a_used_file_makes_the_design_incomplete() -> None:
    assert design_of(HEAD, "bus A\n").whole
    design = design_of(HEAD, "bus A\ncabel\n")
    assert not design.whole and design.mistakes[0].span.path == "1.boat"


def test_mistakes_come_in_the_order_of_the_text_its_own_file_first() -> None:
    design = design_of(HEAD + "load L, in X\ncabel\nload M, in X\n", "cabel\nload N, in X\n")
    assert [(m.span.path, m.span.line) for m in design.mistakes] == [
        ("0.boat", 5), ("0.boat", 6), ("0.boat", 7), ("1.boat", 1), ("1.boat", 2),
    ]  # fmt: skip


def test_own_fact_before_sheet_before_cables() -> None:
    design = design_of(
        HEAD + "cables, insulation 70 °C, plain, class 2\nfrom B\n"
        "cable W1, insulation 105 °C, part p\ncable W2, part p\ncable W3\npart p, cable, insulation 85 °C, tinned\n"
    )
    wires = [design.elements[n] for n in ("W1", "W2", "W3")]
    assert [(w.insulation_c, w.tinned, w.stranding) for w in wires if isinstance(w, Conductor)] == [
        (105, True, 2), (85, True, 2), (70, False, 2),
    ]  # fmt: skip
    assert [str(w.where("insulation")) for w in wires] == ["0.boat:7:11", "0.boat:8:7", "0.boat:9:7"]
    assert [str(w.stated("insulation")) for w in wires] == ["0.boat:7:11", "0.boat:10:16", "0.boat:9:7"]


def test_the_label_of_the_sheet_stands_in() -> None:
    design = design_of(HEAD + 'part p "Sheet", load\nload L, part p\nload M "Own", part p\n')
    assert [design.elements[n].title for n in "LM"] == ["L (Sheet)", "M (Own)"]


def test_what_a_maker_asks_and_says() -> None:
    design = design_of(
        HEAD + 'part p, load, asks slow fuse 10 A to 5 A, asks cable at least 6 mm2, says "p. 1"\n'
        "load L, part p\nload M, part p, asks breaker 9 A\n"
    )
    load, other = design.elements["L"], design.elements["M"]
    assert isinstance(load, Load) and isinstance(other, Load)
    assert [(a.device_kind, a.speed, a.rating_a, a.cable and a.cable.value, a.owner.name) for a in load.asks] == [
        ("fuse", "slow", (5, 10), None, "p"), ("", "", None, 6, "p"),
    ]  # fmt: skip
    assert [(a.device_kind, a.rating_a, a.owner.name) for a in other.asks] == [
        ("breaker", (9, 9), "M"),
        ("", None, "p"),
    ]
    assert load.says() == "p. 1"


def test_a_device_in_full() -> None:
    design = design_of(
        HEAD + "from P\nfuse F, class T, slow, 30 A, 80 V, breaks 20 kA at 125 V, breaks 5 kA, holder 60 A,\n"
        "  opens at 200 % in 9 s to 1 s, opens at 400 % in 10 ms, comes in 20 A 30 A, resistance 2 mΩ to 1 mΩ\n"
    )
    fuse = design.elements["F"]
    assert said(design) == [] and isinstance(fuse, Device)
    assert (fuse.device_class, fuse.speed, fuse.rated_a, fuse.voltage_v) == ("class-t", "slow", 30, 80)
    assert fuse.breaks == [(20000, 125), (5000, None)]
    assert fuse.opens == [(2, 1, 9), (4, 0.01, 0.01)]
    assert (fuse.comes_in_a, fuse.holder_a, fuse.resistance_ohm) == ((20, 30), 60, (0.001, 0.002))


def bank(text: str) -> Source:
    design = design_of(HEAD + "part p, battery, 12 V, 100 Ah, greatest 14 V, resistance 4 mΩ to 6 mΩ, short-circuit 2 kA,\n"
                       "  cranking 800 A, self-limiting 150 A\nsystem DC24, 24 V\n" + text)  # fmt: skip
    assert said(design) == []
    found = design.elements["X"]
    assert isinstance(found, Source)
    return found


def test_figures_of_a_sheet_are_of_one_battery_of_the_bank() -> None:
    one, two = bank("battery X, part p\n"), bank("battery X, part p, 2 series, 3 parallel\n")
    assert (one.voltage_v, one.greatest_v, one.charge_ah, one.short_circuit_a) == (12, 14, 100, 2000)
    assert (two.voltage_v, two.greatest_v, two.charge_ah, two.short_circuit_a) == (24, 28, 300, 6000)
    assert (two.cranking_a, two.limit_a) == (2400, 450)
    # two in series, three such strings side by side: 2/3 of one (Ohm's law)
    assert two.resistance_ohm == pytest.approx((0.004 * 2 / 3, 0.006 * 2 / 3))


def test_figures_of_the_statement_are_of_the_whole_bank() -> None:
    own = bank("battery X, part p, 24 V, 250 Ah, 2 series, 2 parallel\n")
    assert (own.voltage_v, own.charge_ah, own.short_circuit_a) == (24, 250, 4000)
    plain = bank("battery X, 24 V, 250 Ah, 2 series, 2 parallel\n")
    assert (plain.voltage_v, plain.charge_ah, plain.parallel) == (24, 250, 2)


def test_which_sources_limit_themselves() -> None:
    design = design_of(
        HEAD
        + "alternator A1, 14 V, 60 A\nalternator A2, 14 V, 60 A, self-limiting\nalternator A3, 14 V, 60 A, self-limiting 70 A\n"
        "alternator A4, 14 V, self-limiting\ninverter I, 12 V, gives 50 A, self-limiting\n"
    )
    limits = [e.limit_a for n in ("A1", "A2", "A3", "A4") if isinstance(e := design.elements[n], Source)]
    assert limits == [float("inf"), 60, 70, float("inf")]
    inverter = design.elements["I"]
    assert isinstance(inverter, Converter) and inverter.output and inverter.output.limit_a == 50


def test_a_scene_keeps_what_is_said() -> None:
    design = design_of(
        HEAD + "selector S, positions off 1 2 both\nload L\nload M\nfrom B\nswitch K\n"
        'scene "s", L, M off, S at both, K open, for 2 h\nscene "t", S off\n'
    )
    assert said(design) == []
    scene, other = design.scenes
    assert (scene.title, [e.name for e in scene.on], scene.duration_s) == ("s", ["L"], 7200)
    assert scene.states == {"M": "off", "S": "both", "K": "open"} and other.states == {"S": "off"}


def test_an_acceptance_keeps_what_is_said() -> None:
    (accepted,) = design_of(HEAD + 'accept r at "all of it", "why", by "me", until 2027-04-01\n').accepted
    assert (accepted.rule, accepted.subject, accepted.reason, accepted.by, accepted.until) == (
        "r", "all of it", "why", "me", "2027-04-01",
    )  # fmt: skip


def test_a_rulebook_file_is_found_from_the_file_that_names_it(tmp_path: Path) -> None:
    (tmp_path / "rules").mkdir()
    (tmp_path / "d.boat").write_text(HEAD.replace("iso-13297", "yard") + "use rules/r.boat\n")
    (tmp_path / "rules" / "r.boat").write_text("rulebook yard, file yard.toml\n")
    (choice,) = build(Reader().design(str(tmp_path / "d.boat"))).rulebooks
    assert (choice.file, choice.shown) == (tmp_path / "rules" / "yard.toml", "yard.toml")


def test_many_wrong_names_compare_few(monkeypatch: pytest.MonkeyPatch) -> None:
    import linter.source.guess as guess

    compared: list[int] = []
    original = guess.difflib.get_close_matches
    monkeypatch.setattr(guess.difflib, "get_close_matches", lambda *a, **k: compared.append(1) or original(*a, **k))
    design = design_of(HEAD + "".join(f"load L{i}, in X{i}\n" for i in range(2000)))
    assert len(design.mistakes) == 2000
    assert len(compared) == guess.GREATEST_GUESSES


def test_the_collector_is_left_as_it_was() -> None:
    design_of(HEAD)
    assert gc.isenabled()


def test_reading_and_building_need_no_heavy_library() -> None:
    code = (
        "import sys\n"
        "from linter.source.files import Reader\n"
        "from linter.model.build import build\n"
        "build(Reader().design_text('boat \"T\"\\nsystem S, 12 V\\n'))\n"
        "print(sorted({'networkx', 'numpy', 'graphviz', 'typst', 'linter.tables.conductors'} & set(sys.modules)))\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
