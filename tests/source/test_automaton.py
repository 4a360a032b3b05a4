"""Statements read as a whole by what was learned of others like them, against token by token."""

from __future__ import annotations

import random
from pathlib import Path
from typing import Any

import pytest

from linter.source import automaton
from linter.source.automaton import Automaton
from linter.source.parser import _automaton, parse
from linter.source.scanner import Token

BOATS = Path(__file__).resolve().parents[2] / "boats"
INSERTED = [",", "\n", " ", "5", '"', "x", "at", "12 V", "2.5 mm2", "\n  ", "#", "2027-04-01", "off", "fuse"]


def shown(value: Any) -> Any:
    """A token by its looks, as tokens of two passes are never the same."""
    if isinstance(value, Token):
        return value.type, str(value.value), value.start, value.end
    return [shown(v) for v in value] if isinstance(value, tuple | list) else value


def read(text: str) -> list[Any]:
    made = parse("t", text)
    return [
        *((s.kind, s.start, s.end, shown(s.name), s.label, shown(s.facts), shown(s.extra), s.damaged)
          for s in made.statements),
        *((m.span.start, m.span.end, m.message, m.mend) for m in made.mistakes),
    ]  # fmt: skip


def broken(text: str, rng: random.Random) -> str:
    parts = list(text)
    for _ in range(rng.randrange(1, 40)):
        at = rng.randrange(len(parts))
        parts[at : at + rng.randrange(3)] = rng.choice(INSERTED)
    return "".join(parts)


@pytest.mark.parametrize("path", sorted(BOATS.rglob("*.boat")), ids=lambda p: p.stem)
def test_a_whole_statement_is_read_as_token_by_token(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    rng = random.Random(path.stem)
    text = path.read_text(encoding="utf-8")
    texts = [text, *(broken(text[at : at + 1500], rng) for at in range(0, len(text), 1000))]
    at_once = [read(t) for t in texts]
    with monkeypatch.context() as patch:
        patch.setattr(Automaton, "steps", lambda self, states, row: None)
        assert [read(t) for t in texts] == at_once
    assert any(len(made) > 10 for made in at_once)


def test_statements_alike_are_looked_up_once() -> None:
    """Of a thousand statements of one shape, the tables are asked for the first three: the first of the text, one that
    stands behind the first, and one that stands behind such a one."""
    _automaton().known_steps.clear()
    parse("t", "".join(f"cable W{i}, {i + 1} mm2, tinned\n" for i in range(1000)))
    assert 1 <= len(_automaton().known_steps) <= 3


def test_what_is_remembered_is_bounded(monkeypatch: pytest.MonkeyPatch) -> None:
    _automaton().known_steps.clear()
    monkeypatch.setattr(automaton, "GREATEST_ROWS", 7)
    text = "".join('scene "s"' + ", L off" * i + "\n" for i in range(30))
    made = parse("t", text)
    assert (len(made.statements), made.mistakes) == (30, [])
    assert len(_automaton().known_steps) == 7
    _automaton().known_steps.clear()
    long = 'scene "s"' + ", L off" * automaton.GREATEST_ROW + "\n"
    assert len(parse("t", long).statements[0].facts) == automaton.GREATEST_ROW
    assert not _automaton().known_steps
