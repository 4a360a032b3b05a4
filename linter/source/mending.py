"""A fact that cannot be read for a comma, a word or a dash: what it would be with that put right.

Tried on the tables themselves, so that what is said to be written is what would be read.  A statement's tokens are
looked at between its commas; each piece is tried a few times at most, however long the statement is.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from linter.source.automaton import Automaton
from linter.source.scanner import Token

#: So many pieces are joined at most where nothing is gained on the way; a fact has no more parts.
MOST_JOINED = 6
#: Longer pieces are not tried.
MOST_TOKENS = 400
#: What may have been left out within a fact, in the order in which it is thought of.
_LITTLE = ("TO", "AT", "FOR", "IN", "A_DAY", "AT_LEAST")
_SHOWN = {"TO": "to", "AT": "at", "FOR": "for", "IN": "in", "A_DAY": "a day", "AT_LEAST": "at least"}
#: What begins a fact that may be said several times, and how many words of it at most.
_MANY = frozenset({"OPENS", "CARRIES", "LETS_THROUGH", "BREAKS", "ASKS", "IN"})
MOST_WORDS = 2
#: Said of a figure, and not written: its unit tells what it is.
SAID = frozenset({
    "rating", "rated", "size", "length", "long", "current", "voltage", "capacity", "nominal", "max", "power", "charge",
    "each", "total", "approx", "about",
})  # fmt: skip

States = tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Mend:
    """What is wrong, and the tokens that would be right up to ``until``, a place in the statement."""

    at: Token
    message: str
    tokens: tuple[Token, ...]
    until: int
    # only commas were wrong: what was meant is plain, and is read
    plain: bool
    # how many commas are taken away
    commas: int = 0
    # begins one fact before that in which reading is stuck
    from_previous: bool = False


@dataclass(frozen=True, slots=True)
class Scene:
    """A statement that is stuck: its tokens, where, and the states in which its fact, or itself, begins."""

    tables: Automaton
    states: States
    statement: Sequence[Token]
    # where the piece begins in which reading is stuck, and where the stuck token stands
    begins: int
    stuck: int
    kind: str
    in_fact: bool
    # whether the fact before is as its tokens say
    with_previous: bool = True


def mend(scene: Scene) -> Mend | None:
    """The smallest change after which the fact, or the beginning of the statement, can be read; None if there is none.

    In this order: a comma taken away within it, or between it and the fact before it; the word of the fact before it
    said again; then a word put in, or a comma, or a word taken away that people say of a figure.
    """
    end = _ends(scene.statement, scene.begins)
    own = scene.statement[scene.begins : end]
    if not own or len(own) > MOST_TOKENS:
        return None
    if scene.in_fact:
        joined = _joined(scene, own, end, filled=False)
        before = _with_previous(scene, own, end, filled=False) if joined is None else None
        if joined is not None or before is not None:
            return joined or before
    found = _repeated(scene, own) if scene.in_fact else None
    found = found or _filled(scene, own)
    if found is not None:
        return replace(found, until=end)
    if scene.in_fact:
        return _joined(scene, own, end, filled=True) or _with_previous(scene, own, end, filled=True)
    return None


def written(tokens: Sequence[Token], text: str) -> str:
    """The tokens as one would write them, one blank between words."""
    shown = ""
    for token in tokens:
        if token.type == "_SEP":
            shown += ","
            continue
        word = text[token.start : token.end] if token.end > token.start else str(token.value)
        shown += f" {' '.join(word.split())}" if shown else word
    return shown if len(shown) <= 100 else shown[:99] + "…"


def _ends(statement: Sequence[Token], begins: int) -> int:
    """Where a piece ends: at a comma, or the end of the statement."""
    end = begins
    while end < len(statement) and statement[end].type not in {"_SEP", "_NL"} and end - begins <= MOST_TOKENS:
        end += 1
    return end


def _reads(scene: Scene, tokens: Sequence[Token]) -> bool:
    """Whether the tokens are a whole fact."""
    if tokens and tokens[0].type == "NAME" and scene.kind != "scene":
        return False
    row = (*(t.type for t in tokens), "_SEP")
    return bool(tokens) and scene.tables.follow(scene.states, row) is not None


def _joined(scene: Scene, own: Sequence[Token], end: int, filled: bool, from_previous: bool = False) -> Mend | None:
    """The piece with those behind it, the commas between them taken away."""
    statement = scene.statement
    tokens, until = list(own), end
    first = statement[end] if end < len(statement) else None
    for _ in range(MOST_JOINED):
        if until >= len(statement) or statement[until].type != "_SEP":
            return None
        after = _ends(statement, until + 1)
        if after == until + 1:
            return None
        tokens += statement[until + 1 : after]
        until = after
        if len(tokens) > MOST_TOKENS:
            return None
        if _reads(scene, tokens) and first is not None:
            return _and_on(scene, tokens, until, first, from_previous)
        if filled:
            found = _filled(scene, tokens, commas=False)
            if found is not None:
                return replace(found, until=until, from_previous=from_previous)
    return None


def _previous(scene: Scene) -> Sequence[Token]:
    """The tokens of the fact before; none where there is none, or it is not as they say."""
    comma = scene.begins - 1
    start = comma
    while start > 0 and comma - start <= MOST_TOKENS and scene.statement[start - 1].type != "_SEP":
        start -= 1
    earlier = scene.statement[max(start, 0) : max(comma, 0)]
    return earlier if scene.with_previous and start > 0 and len(earlier) <= MOST_TOKENS else ()


def _repeated(scene: Scene, own: Sequence[Token]) -> Mend | None:
    """The piece as another fact like the one before, whose word is left out: `opens at 200 % in 9 s, 300 % in 2 s`."""
    earlier = _previous(scene)
    if not earlier or earlier[0].type not in _MANY:
        return None
    for words in range(1, MOST_WORDS + 1):
        tokens = [*earlier[:words], *own]
        if _reads(scene, tokens):
            said = " ".join(str(t.value) for t in earlier[:words])
            return Mend(
                own[0], f"`{said}` is missing before {str(own[0].value)!r}: each is a fact", tuple(tokens), 0, False
            )
    return None


def _with_previous(scene: Scene, own: Sequence[Token], end: int, filled: bool) -> Mend | None:
    """The fact before, the comma behind it taken away, and the piece."""
    earlier = _previous(scene)
    if not earlier:
        return None
    tokens = [*earlier, *own]
    if _reads(scene, tokens):
        return _and_on(scene, tokens, end, scene.statement[scene.begins - 1], True)
    if filled:
        found = _filled(scene, tokens, commas=False)
        return replace(found, until=end, from_previous=True) if found is not None else None
    return _joined(scene, tokens, end, filled=False, from_previous=True)


def _and_on(scene: Scene, tokens: list[Token], until: int, comma: Token, from_previous: bool) -> Mend:
    """Further pieces too that are no facts by themselves and go on with this one."""
    statement = scene.statement
    while until < len(statement) and statement[until].type == "_SEP":
        after = _ends(statement, until + 1)
        piece = statement[until + 1 : after]
        if not piece or len(tokens) + len(piece) > MOST_TOKENS:
            break
        if _reads(scene, piece) or not _reads(scene, [*tokens, *piece]):
            break
        tokens, until = [*tokens, *piece], after
    first = scene.statement.index(tokens[0], max(scene.begins - MOST_TOKENS - 1, 0))
    commas = sum(t.type == "_SEP" for t in scene.statement[first:until])
    return Mend(comma, "a comma stands within a fact", tuple(tokens), until, True, commas, from_previous)


def _filled(scene: Scene, tokens: Sequence[Token], commas: bool = True) -> Mend | None:
    """The tokens with what is missing between them put in."""
    states, made = scene.states, list[Token]()
    follow = scene.tables.follow
    at: Token | None = None
    messages: list[str] = []
    fact: list[Token] = []
    statement_kind = scene.kind
    last = Token("_SEP", ",", tokens[-1].end, tokens[-1].end) if tokens else None
    for token in (*tokens, last):
        if token is None:
            return None
        if token.type in {"NAME", "SIZE"} and statement_kind != "scene" and _only_said(token, fact, scene, made):
            at = at or token
            messages.append(f"{str(token.value)!r} is not written: the unit tells what a figure is")
            continue
        found = follow(states, (token.type,))
        if found is None:
            way = _way(scene, states, token, commas, fact)
            if way is None:
                return None
            put, message = way
            at = at or token
            messages.append(message)
            made.append(put)
            after = follow(states, (put.type,))
            assert after is not None
            states = after
            fact = [] if put.type == "_SEP" else [*fact, put]
            found = follow(states, (token.type,))
        if found is None:
            return None
        states = found
        if token is not last:
            made.append(token)
            fact.append(token)
    if at is None:
        return None
    plain = all(m.startswith("a comma") for m in messages)
    return Mend(at, messages[0], tuple(made), 0, plain)


def _only_said(token: Token, fact: list[Token], scene: Scene, made: list[Token]) -> bool:
    """Whether a word is one that people say of a figure; the second word of a statement is its name."""
    named = scene.in_fact or len(made) >= 2
    return named and not (token.type == "SIZE" and fact) and str(token.value).lower() in SAID


def _way(scene: Scene, states: States, token: Token, commas: bool, fact: list[Token]) -> tuple[Token, str] | None:
    """(what to put before a token that does not fit, what is wrong)."""
    follow = scene.tables.follow
    shown = str(token.value)
    if token.type == "BAD":
        return None
    end = token.type == "_SEP"
    # a name is a fact in a scene only, and nothing is known of what stands behind one elsewhere
    in_scene = scene.kind == "scene"
    unknown = token.type == "NAME" or (scene.in_fact and bool(fact) and fact[0].type == "NAME")
    for word in _LITTLE:
        if not in_scene and scene.in_fact and bool(fact) and fact[0].type == "NAME":
            continue
        if (word == "IN" and token.type == "NAME") or (end and word != "A_DAY"):
            continue
        if not fact and scene.kind != "scene":
            # no fact begins with one of them; what stands before goes on
            continue
        if follow(states, (word, token.type)) is not None:
            before = "" if end else f" before {shown!r}"
            return _word(word, token), f"`{_SHOWN[word]}` is missing{before}"
    if commas and not end and (in_scene or not unknown) and follow(states, ("_SEP", token.type)) is not None:
        return Token("_SEP", ",", token.start, token.start), f"a comma is missing before {shown!r}"
    return None


def _word(terminal: str, at: Token) -> Token:
    return Token(terminal, _SHOWN[terminal], at.start, at.start)
