"""Energy of a day: by load, by scene, and the load total."""

from __future__ import annotations

from linter.binder.model import Block, Cell, Column, Figure, Kind, Mark, Paragraph, Section, Table, figure
from linter.binder.subject import Subject
from linter.binder.words import NBSP, joined, memory, sentence
from linter.drawing.text import clean
from linter.study.energy import HOUR_S, Bank, LoadTotal, Use

USES = (
    Column("load", "Load", kind=Kind.NAME),
    Column("called", "Called"),
    Column("hours h", "Time", "h", Kind.FIGURE, 2),
    Column("basis", "By"),
    Column("charge Ah", "A day", "Ah", Kind.FIGURE, 1),
    Column("energy Wh", "A day", "Wh", Kind.FIGURE, 0),
    Column("remark", "Remark"),
)
SCENES = (
    Column("scene", "Scene"),
    Column("hours h", "Lasts", "h", Kind.FIGURE, 2),
    Column("charge Ah", "Takes", "Ah", Kind.FIGURE, 1),
    Column("share %", "Of its charge", "%", Kind.FIGURE, 0),
    Column("remark", "Remark"),
)
TOTALS = (
    Column("system", "System", kind=Kind.NAME),
    Column("always A", "Always", "A", Kind.FIGURE, 1),
    Column("now and then A", "Now and then", "A", Kind.FIGURE, 1),
    Column("counted A", "of it counted", "A", Kind.FIGURE, 1),
    Column("total A", "Total", "A", Kind.FIGURE, 1),
    Column("by", "By"),
)
DATA = (
    Column("bank", "Bank"), Column("kind", "Of"), Column("name", "Name"), Column("hours h", "Time", "h", Kind.FIGURE),
    Column("basis", "By"), Column("charge Ah", "A day", "Ah", Kind.FIGURE),
    Column("energy Wh", "A day", "Wh", Kind.FIGURE), Column("remark", "Remark"),
)  # fmt: skip
BASIS = {"runs": "its own figure", "always on": "always on", "scenes": "the scenes"}


def section(subject: Subject) -> Section:
    made = subject.energy
    blocks: list[Block] = [
        Paragraph(
            "What the loads take from each bank in a day, losses of converters included and nothing that charges "
            "counted: it is what charging has to bring back. A load's time is what it says it runs a "
            "day; of one that is always on 24 h; else the time of the scenes that name it. Where nothing says how long "
            "a load runs no time is guessed."
        )
    ]
    data = Table(DATA)
    for bank in made.banks:
        blocks += _bank(bank, data)
    if made.elsewhere:
        table = Table(USES, title="Loads that no bank feeds")
        for use in made.elsewhere:
            table.add(*_use(use))
            data.add("", "load", *_flat(use))
        blocks.append(table)
    if made.totals:
        totals = Table(TOTALS, title="Load total by system")
        for total in made.totals:
            totals.add(*_total(total))
        totals.notes.append("Of what is on now and then counts the larger of a part of all and of the largest alone.")
        blocks.append(totals)
    blocks += [Paragraph(sentence(r)) for r in made.remarks]
    return Section("energy", "Energy of a day", blocks, data)


def _bank(bank: Bank, data: Table) -> list[Block]:
    name = clean(" + ".join(bank.batteries))
    table = Table(USES, title=f"{name}: what its loads take in a day", empty="No load takes from it.")
    for use in bank.uses:
        table.add(*_use(use))
        data.add(name, "load", *_flat(use))
    share = f"{100 * bank.ah / bank.charge_ah:.0f} % of {bank.charge_ah:g} Ah" if bank.charge_ah else "charge not told"
    rough = (Mark.ROUGH,) if bank.unknown else ()
    sums: list[Cell] = [
        "In all", "", Figure(), "", figure(bank.ah, *rough), figure(bank.wh, *rough), share,
    ]  # fmt: skip
    if bank.uses:
        table.add(*sums, strong=True)
    if bank.unknown:
        table.notes.append(f"~ stands for: the sum leaves out {joined(bank.unknown)}.")
    data.add(name, "in all", "", Figure(), "", sums[4], sums[5], share)
    scenes = Table(SCENES, title=f"{name}: by scene", empty="No scene says how long it lasts.")
    for title, seconds, ah in bank.scenes:
        used = figure(100 * ah / bank.charge_ah if bank.charge_ah else None, needed=True)
        remark = _lasting(bank, seconds, ah)
        scenes.add(clean(title), figure(seconds / HOUR_S), figure(ah), used, remark)
        data.add(name, "scene", clean(title), figure(seconds / HOUR_S), "", figure(ah), Figure(), remark)
    if bank.scenes:
        scenes.notes.append(
            "What flows out of the bank in the scene less what flows into it, as if all that the scene names were on "
            "for all of its time, in the position of switches that takes most. Less than nothing: what its chargers "
            "could give, were the bank empty enough to take it."
        )
    return [table, scenes]


def _lasting(bank: Bank, seconds: float, ah: float) -> str:
    """How long the bank lasts at that rate, where that is less than the scene."""
    if not bank.charge_ah or ah <= bank.charge_ah:
        return ""
    hours = seconds / HOUR_S * bank.charge_ah / ah
    return f"more than it holds: empty after {hours:.1f}{NBSP}h from full"


def _use(use: Use) -> list[Cell]:
    return [
        clean(use.load), clean(use.label), figure(None if use.seconds is None else use.seconds / HOUR_S, needed=True),
        BASIS.get(use.basis, ""), figure(use.ah, needed=True), figure(use.wh, needed=True), _remark(use),
    ]  # fmt: skip


def _flat(use: Use) -> list[Cell]:
    hours = figure(None if use.seconds is None else use.seconds / HOUR_S, needed=True)
    return [clean(use.load), hours, BASIS.get(use.basis, ""), figure(use.ah), figure(use.wh), _remark(use)]


def _remark(use: Use) -> str:
    missing = "nothing says how long it runs" if use.seconds is None else ""
    if use.seconds is not None and use.wh is None:
        missing = "nothing says what it draws"
    return joined([missing, f"by {joined(use.by)}" if use.by else ""])


def _total(total: LoadTotal) -> list[Cell]:
    marks = (Mark.MEMORY,) if memory(total.cite.status) else ()
    counted = max(total.part * total.group_b, total.largest_b)
    return [
        total.system, figure(total.group_a), figure(total.group_b), figure(counted, *marks),
        figure(total.total_a, *marks), str(total.cite),
    ]  # fmt: skip
