"""What each case of load current says by itself: sources that fall short, and loads that a scene leaves without any."""

from __future__ import annotations

from .circuit import NONE, Network
from .currents import Case, Currents, State
from .judgement import Judgement


def judge_cases(net: Network, currents: Currents, made: Judgement) -> None:
    short = [_short(net, currents, cases) for cases in currents.readings]
    unfed = [_unfed(net, currents, cases) for cases in currents.readings]
    # whether an inverter that charges feeds itself the words do not say
    fed_by_others = [
        [Case({n: a for n, a in case.on.items() if not net.nodes[n]["source"]}, case.states) for case in cases]
        for cases in currents.readings
    ]
    short = [mine & _short(net, currents, cases) for mine, cases in zip(short, fed_by_others, strict=True)]
    for rule, answers in (("source-overloaded", short), ("scene-not-fed", unfed)):
        for element in set().union(*answers):
            made.say(rule, element, True if all(element in answer for answer in answers) else None)
    # whether a load by itself, or all at once for all that the scenes say, is a case of this the words do not say
    anyhow = [Case(currents.everything, case.states) for cases in currents.readings for case in cases]
    for element in _short(net, currents, [*anyhow, Case(currents.everything, [State(NONE)])]):
        made.say("source-overloaded", element, None)


def _short(net: Network, currents: Currents, cases: list[Case]) -> set[str]:
    """The first source of every piece without battery or unlimited source whose loads draw more than it is given."""
    found = set()
    for case in cases:
        for state in case.states:
            for first, given, loads in currents.weak(state):
                if sum(amps for n, amps in case.on.items() if n in loads) > given * (1 + 1e-9):
                    found.add(net.nodes[first]["element"])
    return found


def _unfed(net: Network, currents: Currents, cases: list[Case]) -> set[str]:
    """Loads on in a scene that have no source in their piece, whatever the position of what the scene leaves free."""
    found = set()
    for case in cases:
        if case.scene is None:
            continue
        fed: set[str] = set()
        for state in case.states:
            for piece, _ in currents.pieces(state):
                fed |= piece
        found |= {net.nodes[n]["element"] for n in case.on if n not in fed}
    return found
