"""What a voltage drop that is too large tells of larger sizes.

Most likely it stays so as long as its parts, each falling as its conductor grows, still add up to too much.
"""

from __future__ import annotations

from collections.abc import Sequence

from linter.advice.clauses import Ruled
from linter.advice.options import Open
from linter.model.elements import Conductor
from linter.rules.finding import Finding
from linter.study.scene_limit import drop_limit
from linter.study.study import Study

# A larger conductor is cooler, and loads of a fixed power then draw less: so much is left to that.
MARGIN = 1.04
# From so many open conductors on the way no more are looked at.
MOST = 12


def wider(near: Ruled, choice: Sequence[int], opens: Sequence[Open], study: Study) -> list[Ruled]:
    """More that is likely ruled out with what a finding of voltage drop rules out, one for each open conductor on the
    load's way, which is made as large as the others leave it.  Never sure: temperature and other loads have a say."""
    lost, allowed_v = _parts(near.finding, study)
    elements = study.design.elements
    on_way = [
        v for v, _ in near.within
        if opens[v].conductor and lost.get(opens[v].name) and _scales(elements[opens[v].name])
    ][:MOST]  # fmt: skip
    total = sum(lost.values())
    found: list[Ruled] = []
    for first in range(len(on_way)):
        left = total - allowed_v * MARGIN
        figures: dict[int, float] = {}
        for variable in (*on_way[first:], *on_way[:first]):
            one, here = opens[variable], opens[variable].options[choice[variable]].figure
            volts = lost[one.name]
            fitting = [o.figure for o in one.options if o.figure >= here and volts * (1 - here / o.figure) < left]
            figures[variable] = largest = max(fitting, default=here)
            left -= volts * (1 - here / largest)
        within = tuple(
            (v, frozenset(i for i, o in enumerate(opens[v].options) if o.figure <= figures[v] * (1 + 1e-9)))
            if v in figures
            else (v, options)
            for v, options in near.within
        )
        found.append(Ruled(near.demand, within, near.finding))
    return found


def _scales(element: object) -> bool:
    """Whether all of its resistance falls as it grows."""
    return isinstance(element, Conductor) and element.return_size is None


def _parts(finding: Finding, study: Study) -> tuple[dict[str, float], float]:
    """What each element on the way of a load loses, V, and how much all may; nothing where nobody can tell."""
    scenes, circuit = study.scenes(), study.design.circuit
    node = next((n for n in circuit.nodes if n.load is not None and n.load.name == finding.subject), None)
    limit = drop_limit(node.load, study.rulebooks) if node is not None and node.load is not None else None
    if node is None or limit is None:
        return {}, 0.0
    cases = [at for at in (scenes.worst.get(node.index), scenes.alone.get(node.index)) if at is not None]
    worst = max(cases, key=lambda at: scenes.percent(at) or 0.0, default=None)
    percent = scenes.percent(worst) if worst is not None else None
    if worst is None or not percent:
        return {}, 0.0
    lost: dict[str, float] = {}
    for edge, volts in scenes.losses(worst):
        name = circuit.edges[edge].element.name
        lost[name] = lost.get(name, 0.0) + volts
    return lost, worst.drop_v * limit.percent / percent
