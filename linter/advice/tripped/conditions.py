"""Which conditions of the table the figures of a circuit meet."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from linter.advice.tripped.motors import is_motor
from linter.advice.tripped.seen import Seen, power_loads
from linter.advice.tripped.warmth import limit_c, opens_by_magnetism
from linter.rules.finding import Finding

if TYPE_CHECKING:
    from linter.advice.tripped.figures import Circuit

#: A fault that is open within this time is cleared at once for who stands beside it.
AT_ONCE_S = 1.0
SLOW_S = 5.0


def start_opens(seen: Seen) -> bool:
    """Whether by its curve it may open at a start that is as long as its sheet says."""
    pair = seen.start
    if pair is None or pair[1].seconds is None:
        return False
    least_s, _ = seen.band(pair[1].amps)
    return bool(least_s) and least_s is not None and least_s <= pair[1].seconds


def conditions(made: Circuit, findings: list[Finding]) -> list[str]:
    seen = made.seen
    device, study = seen.device, seen.study
    found: list[str] = []
    if not seen.meshed and not seen.loads:
        found.append("nothing-behind")
    fault = seen.far_fault
    # a run without length or size hides the smallest fault beyond it
    whole = all(r.length_m is not None and r.area_mm2 is not None for r in seen.runs)
    if whole and fault is not None and fault.most_s is not None:
        if fault.most_s <= AT_ONCE_S:
            found.append("fault-opens-at-once")
        elif fault.most_s > SLOW_S:
            found.append("fault-may-not-open")
    if seen.runs and all(r.covered for r in seen.runs):
        found.append("covered")
    if any(p.engine_space for r in seen.runs for p in (r.place, *(p for _, p in r.route)) if p is not None):
        found.append("engine-space")
    system = study.design.circuit.nodes[seen.far].system
    if system is not None and system.earthing == "isolated":
        found.append("isolated")
    found += _steady_conditions(seen)
    found += _motor_conditions(seen)
    if opens_by_magnetism(device):
        found.append("magnetic")
    elif seen.carries_a is not None and device.rated_a and seen.carries_a < device.rated_a * (1 - 1e-9):
        found.append("derated")
    if not seen.meshed and not power_loads(seen):
        found.append("no-power-load")
    elif seen.carries_a is not None and seen.low is not None and seen.low.low_a is not None:
        found.append("low-voltage-over" if seen.low.low_a > seen.carries_a else "low-voltage-below")
    if any(f.rule == "device-not-as-asked" for f in findings):
        found.append("not-as-asked")
    elif device.rated_a is not None and made.asked and all(a.allows(device.rated_a) for a in made.asked):
        found.append("as-asked")
    if device.rated_a is None:
        found.append("rating-untold")
    if len(seen.loads) > 1 or seen.meshed:
        found.append("several-loads")
    elif len(seen.loads) == 1:
        found.append("one-load")
    return found


def _no_motor(seen: Seen) -> bool:
    """Whether nothing that it feeds is a motor; in a mesh that may be any load on board."""
    nodes = seen.study.design.circuit.nodes if seen.meshed else seen.loads
    return not any(n.load is not None and is_motor(n.load) for n in nodes)


def _steady_conditions(seen: Seen) -> list[str]:
    if seen.steady is None and (seen.loads or seen.meshed):
        return ["no-current"]
    if seen.steady is None or seen.carries_a is None:
        return []
    share = seen.steady.steady_a / seen.carries_a if seen.carries_a else math.inf
    found = []
    if share > 1 + 1e-9:
        found.append("steady-over")
    elif share > 0.8:
        found.append("steady-near")
    else:
        found.append("steady-below" if share <= 0.5 else "steady-within")
    limit = limit_c(seen.device, seen.steady.steady_a)
    # hotter than the design says, and yet what a closed locker or an engine room reaches
    if limit is not None and share <= 1 + 1e-9 and limit <= (seen.place_c or 30.0) + 30:
        found.append("warm-opens")
    return found


def _motor_conditions(seen: Seen) -> list[str]:
    found = []
    if _no_motor(seen):
        found.append("no-motor")
    if seen.stall_a is not None:
        least_s, most_s = seen.band(seen.stall_a)
        if least_s == math.inf:
            found.append("stall-does-not-open")
        elif most_s is not None and most_s < math.inf:
            found.append("stall-opens")
    start = seen.start
    if start is None:
        found.append("no-start")
        return found
    if all(seen.bears(s) for _, s in seen.starts):
        found.append("start-borne")
        return found
    one = start[1]
    least_s, _ = seen.band(one.amps)
    if not least_s or one.seconds is None:
        # nothing promises how long it holds
        return found
    if start_opens(seen):
        found.append("start-opens")
    elif least_s <= 3 * one.seconds:
        found.append("start-close")
    else:
        found.append("start-clear")
    return found
