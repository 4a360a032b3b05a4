"""What a time-current plot says in words: labels, what is known of each device, and what is missing."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Iterator

from linter.drawing import labels
from linter.drawing.text import NBSP, shorten
from linter.rules.words import energy, kiloamps, names, seconds
from linter.study.curve import MAKER, Curve, shares
from linter.study.heating import Withstand
from linter.study.plot import Band, Damage, DirectLoad, Fault, Named, Plot, Role
from linter.study.plot_lines import promised_to_a, told_to_a

LONGEST = 56


def device_words(band: Band) -> str:
    """class T fuse 300 A; thermal-magnetic breaker 16 A, curve C."""
    device = band.device
    sort = labels.device_class(device.device_class) if device.device_class else ""
    text = f"{sort} {device.kind} {labels.figure(device.rated_a, 'A')}".strip()
    return f"{text}, curve {device.curve}" if device.curve and not device.opens else text


def whose_words(curve: Curve | None) -> str:
    """Whose figures the band is drawn by."""
    if curve is None or not (curve.slow or curve.fast):
        return "no curve is known"
    if curve.cite == MAKER:
        return "maker's points"
    return f"{curve.cite.clause}, {curve.cite.status}"


def part_words(band: Band) -> str:
    """What the part is called, figures kept with their units; "" without one."""
    part = band.device.part
    return "" if part is None else re.sub(r"(\d) (?=(k?A|V)\b)", f"\\1{NBSP}", part.label or part.name)


def band_lines(band: Band, size: float, large: float, crowded: bool) -> tuple[tuple[str, float, bool], ...]:
    """The label at a band; in a crowd without the part, which stands beside the plot too."""
    device = band.device
    if band.role is Role.NAMED:
        made = [(shorten(f"{device.name} {device.label}", 44), large, True), (device_words(band), size, False)]
        if device.part is not None and not crowded:
            made.append((shorten(part_words(band), LONGEST), size, False))
        made.append((shorten(whose_words(band.curve), LONGEST), size, False))
        return tuple(made)
    who = shorten(f"{device.name} {device.label}", 28)
    if len(band.names) > 1:
        more = f" and {len(band.names) - 2} more" if len(band.names) > 2 else ""
        who = f"{', '.join(shorten(n, 12) for n in band.names[:2])}{more}"
    return (
        (f"{band.role.value}: {who}", size, True),
        (device_words(band), size, False),
        (shorten(whose_words(band.curve), LONGEST), size, False),
    )


def stands_words(conductor_size: str, stands: Withstand) -> str:
    heated = f"{stands.initial_c:.0f}→{stands.final_c:.0f}{NBSP}°C"
    return f"{conductor_size.replace(' ', NBSP)}, k{NBSP}{stands.k:.0f}, {heated}"


def size_words(damage: Damage) -> str:
    size = damage.conductor.size
    return size.text if size is not None else "?"


def damage_label(damage: Damage, size: float) -> tuple[tuple[str, float, bool], ...]:
    return (
        (shorten(f"{damage.conductor.name} damage line", LONGEST), size, True),
        (stands_words(size_words(damage), damage.stands), size, False),
    )


def start_label(direct: DirectLoad, size: float) -> tuple[tuple[str, float, bool], ...]:
    load = direct.load
    return (
        (shorten(f"{load.name} starts", LONGEST), size, True),
        (f"{labels.figure(load.starts_a, 'A')} for {labels.figure(load.starts_s, 's')}", size, False),
    )


def about(fault: Fault) -> str:
    """A fault current; ~ where it leans on a rough figure."""
    return f"{'~' if fault.leans_on else ''}{kiloamps(fault.amps)}"


def smallest_words(named: Named, fault: Fault) -> str:
    where = f"at the end of {shorten(fault.at, 16)}" if fault.at else f"behind {shorten(named.device.name, 16)}"
    return f"{about(fault)} smallest fault {where}"


def largest_words(named: Named, fault: Fault) -> str:
    return f"{about(fault)} largest fault through {shorten(named.device.name, 16)}"


def breaking_words(named: Named) -> str:
    known = named.breaking
    assert known is not None
    at = f" at {known.voltage_v:g} V" if known.voltage_v is not None else ""
    return f"{kiloamps(known.amps)} breaking capacity of {shorten(named.device.name, 16)}{at}"


def ampacity_words(damage: Damage) -> str:
    by = f" ({shorten(damage.by, 16)})" if damage.by else ""
    return f"{damage.ampacity_a:.4g} A ampacity of {shorten(damage.conductor.name, 16)}{by}"


def running_words(named: Named) -> tuple[float, str] | None:
    """What flows by intention, A, and how that is said: a single load by its name, else the worst case."""
    if len(named.loads) == 1 and named.loads[0].draws_a:
        one = named.loads[0]
        return one.draws_a or 0.0, f"{one.draws_a:.3g} A {shorten(one.load.name, 20)} running"
    running = named.running
    if running is None or not 0 < running.amps < math.inf:
        return None
    return running.amps, f"{running.amps:.3g} A load, {shorten(running.case, 28)}" if running.case else (
        f"{running.amps:.3g} A load"
    )


# ---- beside the plot ------------------------------------------------------------------------------------------------


def facts(named: Named) -> Iterator[str]:
    """What is known of a device, a sentence each."""
    device, damage, known = named.device, named.damage, named.breaking
    about_it = [device_words(named.band)]
    if device.part is not None:
        about_it.append(part_words(named.band))
    curve = named.band.curve
    by = "band by its " if curve is not None and curve.cite == MAKER else "band by " if curve is not None else ""
    yield f"{', '.join(about_it)}; {by if curve and curve.slow else ''}{whose_words(curve)}."
    if named.release is not None:
        yield f"Its magnet, curve {device.curve} on DC, by {named.release}."
    if named.guards:
        yield f"Guards {names(named.guards)}."
    if damage is not None:
        stands = damage.stands
        which = "Weakest of them: " if len(named.guards) > 1 else ""
        yield (
            f"{which}{damage.conductor.name}, {stands_words(size_words(damage), stands)}, stands "
            f"{energy(stands.a2s)} ({stands.cite}), adiabatic to {stands.greatest_s:g}{NBSP}s."
        )
    if known is not None:
        at = f" at {known.voltage_v:g} V" if known.voltage_v is not None else ""
        yield f"Breaks {kiloamps(known.amps)}{at}: {known.whose}."


def notes(plot: Plot, out_of_sight: Iterable[str], remarks: Iterable[str]) -> Iterator[str]:
    """What is missing, doubtful or not shown; ``remarks``: how the study had to simplify."""
    for named in plot.named:
        name = named.device.name
        yield from (f"{name}: {text}" for text in _band_notes(named))
        yield from (f"{name}: {text}" for text in _conductor_notes(named))
        yield from (f"{name}: {text}" for text in _fault_notes(named))
        yield from (f"{name}: {text}" for text in _load_notes(named))
    yield from (f"Left of the plot: {text}." for text in out_of_sight)
    yield from (f"{text[:1].upper()}{text[1:]}." for text in remarks)
    if plot.more_above:
        yield f"{plot.more_above} more above, not drawn."
    if plot.more_below:
        yield f"{plot.more_below} more below, smaller or alike, not drawn."


def _band_notes(named: Named) -> Iterator[str]:
    device, curve = named.device, named.band.curve
    if curve is None:
        yield "no rating is given, so it has no band."
        return
    if not curve.slow and not curve.fast:
        sort = labels.device_class(device.device_class) if device.device_class else "such"
        yield f"no curve is published for {sort} {device.kind}s, and its sheet gives none; ask the maker."
        return
    if device.curve and not device.opens and named.release is None:
        yield f"nothing tells when the magnet of curve {device.curve} acts on DC; the band is without it."
    if not curve.slow:
        yield "nothing says by when it opens; ask the maker."
    elif not curve.fast:
        yield "no least time is promised: below its line it may open at any time. Ask the maker for the curve."
    elif not curve.melts and promised_to_a(curve) < curve.told_to_a * 0.75:
        yield f"beyond {kiloamps(promised_to_a(curve))} no least time is promised."
    if curve.slow and named.largest is not None and not named.largest.unknown:
        told_a = told_to_a(curve)
        if named.largest.amps > told_a * (1 + 1e-9):
            last = seconds(curve.slowest(told_a).seconds)
            yield f"beyond {kiloamps(told_a)} its time is not told; dashed, the last one ({last}) is drawn out."
    assert device.rated_a is not None
    if abs(curve.rated_a - device.rated_a) > 1e-6 * device.rated_a:
        share = 100 * curve.rated_a / device.rated_a
        yield f"its fast edge is that of a hot place, where it carries {share:.0f} % of its rating."
    cold = shares(device)[1]
    if cold > 1:
        yield f"its slow edge is that of the cold, where it carries {100 * cold:.0f} % of its rating."


def _conductor_notes(named: Named) -> Iterator[str]:
    if named.unsized:
        yield f"no size is given of {names(named.unsized)}; a damage line is missing."
    elif named.damage is None:
        yield "no conductor lies between it and the next device."
    elif named.damage.ampacity_a is None:
        yield f"what {named.damage.conductor.name} carries is not known."
    if named.stretches:
        yield f"{names(named.stretches)}: a stretch before another device, or a cranking feed; judged by its distance."
    if named.bypassed:
        yield "a way around it has no device; see `check`."


def _fault_notes(named: Named) -> Iterator[str]:
    if named.alternating:
        yield "alternating current: fault currents are not reckoned; the band is drawn as for DC."
        return
    smallest, largest = named.smallest, named.largest
    if smallest is None:
        yield "no smallest fault: only sources that limit themselves feed what it guards, or none."
    elif smallest.unknown:
        yield "the smallest fault is not known: a resistance, size or length is missing on its way."
    elif smallest.part:
        yield "other ways lead to the smallest fault; perhaps only a part of it goes through the device."
    if largest is None:
        yield "no fault current reaches it."
    elif largest.unknown:
        yield "the largest fault is not known: the resistance of a source is missing."
    known = [f for f in (smallest, largest) if f is not None and not f.unknown]
    leans = list(dict.fromkeys(text for f in known for text in f.leans_on))
    if leans:
        yield f"~ leans on {' and '.join(leans)}."
    if named.breaking is None:
        at = f" at {named.voltage_v:g} V" if named.voltage_v else ""
        yield f"nobody says what it breaks{at}."


def _load_notes(named: Named) -> Iterator[str]:
    unknown = [x.load.name for x in named.loads if x.draws_a is None]
    if unknown:
        yield f"what {names(unknown)} {'draws' if len(unknown) == 1 else 'draw'} is not given."
    untimed = [x.load.name for x in named.loads if x.load.starts_a is not None and x.load.starts_s is None]
    if untimed:
        yield f"how long {names(untimed)} {'starts' if len(untimed) == 1 else 'start'} is not given."
    start = named.start
    if start is not None and len(named.loads) > 1:
        yield f"the start of {start.load.name} is drawn alone, without what else runs."
