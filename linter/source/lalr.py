"""The LALR tables of the grammar as data: what lark works out of boat.lark, kept in a file beside this one.

Working them out takes longer than checking a boat.  The file says of which grammar it was made; of any other, lark is
asked anew.  After a change of the grammar: ``python -m linter.source.lalr`` writes it.
"""

from __future__ import annotations

import json
import zlib
from pathlib import Path
from typing import Any

FILE = Path(__file__).with_name("lalr.json")


def tables(grammar: str) -> dict[str, Any]:
    """The tables of a grammar, from the file if they are of this text, else by lark.

    ``rows``: by state, by symbol: the state it leads to, or below nil which reduction: -1 is the first.
    ``reductions``: [how many values, the rule, which call: -1 is none, the one value stays as it is].
    ``onward``: by rule and state, the state to which it leads.
    ``calls``: [the method, which values it takes, whether a single one stays as it is]; each value is [which,
    whether its own values stand in its place, how many of nothing before it], and at the end how many behind all.
    """
    try:
        kept: dict[str, Any] = json.loads(FILE.read_bytes())
    except (OSError, ValueError):
        kept = {}
    return kept if kept.get("grammar") == signature(grammar) else worked_out(grammar)


def signature(grammar: str) -> list[int]:
    data = grammar.encode("utf-8")
    return [len(data), zlib.crc32(data)]


def worked_out(grammar: str) -> dict[str, Any]:
    """The tables by lark; states are numbered as one comes to them from the start, so that they are always the same."""
    from lark import Lark
    from lark.lexer import Lexer
    from lark.parsers.lalr_analysis import Shift

    class FedByHand(Lexer):
        def __init__(self, conf: Any) -> None:
            del conf

        def lex(self, lexer_state: Any, parser_state: Any) -> Any:
            del lexer_state, parser_state
            return iter(())

    lark = Lark(grammar, parser="lalr", lexer=FedByHand, maybe_placeholders=True)
    conf = lark.parse_interactive().parser_state.parse_conf
    states: dict[int, dict[str, Any]] = conf.parse_table.states
    number = {conf.start_state: 0}
    for state in (order := [conf.start_state]):
        for _, (action, argument) in sorted(states[state].items()):
            if action is Shift and argument not in number:
                number[argument] = len(number)
                order.append(argument)
    onward: dict[str, dict[str, int]] = {}
    calls: list[list[Any]] = []
    reductions: list[list[Any]] = []
    rows: list[dict[str, int]] = []
    known: dict[Any, int] = {}
    for state in order:
        row: dict[str, int] = {}
        for symbol, (action, argument) in sorted(states[state].items()):
            if action is Shift:
                row[symbol] = number[argument]
                if not symbol.isupper():
                    onward.setdefault(symbol, {})[str(number[state])] = number[argument]
                continue
            if argument not in known:
                known[argument] = len(reductions)
                size = len(argument.expansion)
                stays = size == 1 and argument.options.expand1 and not argument.alias
                call = None if stays else _call(argument)
                if call is not None and call not in calls:
                    calls.append(call)
                reductions.append([size, argument.origin.name, -1 if call is None else calls.index(call)])
            row[symbol] = -1 - known[argument]
        rows.append(row)
    return {
        "grammar": signature(grammar), "end": number[conf.end_state], "calls": calls, "reductions": reductions,
        "onward": onward, "rows": rows,
    }  # fmt: skip


def _call(rule: Any) -> list[Any]:
    """What a reduction calls, as lark shapes its trees: tokens that begin with `_` are left out, values of rules that
    do stand in their place, and what is optional and not there is nothing."""
    empty = list(rule.options.empty_indices or ())
    takes: list[list[int]] = []
    nothing = at = 0
    # one False for each symbol, one True for each that may stand between and does not
    for missing in empty or [False] * len(rule.expansion):
        if missing:
            nothing += 1
            continue
        symbol = rule.expansion[at]
        if rule.options.keep_all_tokens or not (symbol.is_term and symbol.filter_out):
            takes.append([at, int(not symbol.is_term and symbol.name.startswith("_")), nothing])
            nothing = 0
        at += 1
    plain = not empty and takes == [[i, 0, 0] for i in range(len(rule.expansion))]
    single = bool(rule.options.expand1 and not rule.alias)
    return [rule.alias or str(rule.origin.name), None if plain else [*takes, nothing], single]


def write() -> None:
    from linter.source.grammar import grammar_text

    made = worked_out(grammar_text())
    lines = [f'"{key}": {json.dumps(value, separators=(",", ":"))}' for key, value in made.items() if key != "rows"]
    rows = ",\n".join(json.dumps(row, separators=(",", ":")) for row in made["rows"])
    FILE.write_text("{\n" + ",\n".join(lines) + f',\n"rows": [\n{rows}\n]\n}}\n', encoding="utf-8")


if __name__ == "__main__":
    write()
