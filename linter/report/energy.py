"""A day's energy from each bank, and load totals: JSON, and rows for tables and CSV.

``study --of energy --format json``: format "wireworthy energy", version 1; boat, rulebooks, complete, caution, remarks;
``banks[]``: batteries, volts_v (nominal), charge_ah (null: not given), a_day_wh, a_day_ah, part_of_charge (of 1),
unknown (loads that do not say how long they run), uses[] (load, label, seconds, basis: runs, always on, scenes or
empty; wh and ah at the bank, null where not known; by: converters on the way, whose losses are in), scenes[] (title,
seconds, ah; less than nothing: charged); ``elsewhere[]``: uses that no bank feeds; ``load_totals[]``: system,
group_a_a, group_b_a, largest_b_a, part_of_b, total_a, clause, status, continuous[] and intermittent[] (load,
current_a).
"""

from __future__ import annotations

from typing import Any

from linter.report.loads import head
from linter.report.rows import Rows, figure, rounded
from linter.study.energy import HOUR_S, Bank, Energy, LoadTotal, Use, energy_of
from linter.study.study import Study


def energy_json(study: Study) -> dict[str, Any]:
    made = energy_of(study)
    return head(study, "energy") | {
        "remarks": made.remarks,
        "banks": [_bank(b) for b in made.banks],
        "elsewhere": [_use(u) for u in made.elsewhere],
        "load_totals": [_total(t) for t in made.totals],
    }


def _bank(bank: Bank) -> dict[str, Any]:
    return {
        "batteries": list(bank.batteries),
        "volts_v": rounded(bank.volts),
        "charge_ah": rounded(bank.charge_ah),
        "a_day_wh": rounded(bank.wh),
        "a_day_ah": rounded(bank.ah),
        "part_of_charge": rounded(bank.ah / bank.charge_ah) if bank.charge_ah else None,
        "unknown": bank.unknown,
        "uses": [_use(u) for u in bank.uses],
        "scenes": [{"title": t, "seconds": rounded(s), "ah": rounded(ah)} for t, s, ah in bank.scenes],
    }


def _use(use: Use) -> dict[str, Any]:
    return {
        "load": use.load,
        "label": use.label,
        "seconds": rounded(use.seconds),
        "basis": use.basis,
        "wh": rounded(use.wh),
        "ah": rounded(use.ah),
        "by": list(use.by),
    }


def _total(total: LoadTotal) -> dict[str, Any]:
    return {
        "system": total.system,
        "group_a_a": rounded(total.group_a),
        "group_b_a": rounded(total.group_b),
        "largest_b_a": rounded(total.largest_b),
        "part_of_b": total.part,
        "total_a": rounded(total.total_a),
        "clause": total.cite.clause,
        "status": total.cite.status,
        "continuous": [{"load": n, "current_a": rounded(a)} for n, a in total.continuous],
        "intermittent": [{"load": n, "current_a": rounded(a)} for n, a in total.intermittent],
    }


COLUMNS = ("bank", "load", "time h", "by", "Ah a day", "Wh a day", "remark")
FIGURES = frozenset({"time h", "Ah a day", "Wh a day"})


def energy_rows(study: Study) -> Rows:
    """One row a load, one for the sum of each bank, and one for each system's load total."""
    made = energy_of(study)
    cells: list[list[str]] = []
    for bank in made.banks:
        name = " + ".join(bank.batteries)
        cells += [[name, *_cells(use)] for use in bank.uses]
        remark = f"{100 * bank.ah / bank.charge_ah:.0f} % of {bank.charge_ah:g} Ah" if bank.charge_ah else ""
        if bank.unknown:
            remark += f"{'; ' if remark else ''}without {len(bank.unknown)} of unknown time"
        cells.append([name, "in all", "", "", figure(bank.ah), figure(bank.wh), remark])
    cells += [["", *_cells(use)] for use in made.elsewhere]
    return Rows(COLUMNS, FIGURES, cells)


def _cells(use: Use) -> list[str]:
    hours = None if use.seconds is None else use.seconds / HOUR_S
    remark = "" if use.seconds is not None else "nothing says how long it runs"
    if use.seconds is not None and use.wh is None:
        remark = "nothing says what it draws"
    if use.by:
        remark += f"{'; ' if remark else ''}by {', '.join(use.by)}"
    return [use.load, figure(hours), use.basis, figure(use.ah), figure(use.wh), remark]


def totals_text(made: Energy) -> list[str]:
    """The load totals, for below the table."""
    return [
        f"Load total of {t.system}: {t.group_a:.4g} A always + "
        f"{max(t.part * t.group_b, t.largest_b):.4g} A of {t.group_b:.4g} A now and then = {t.total_a:.4g} A "
        f"[{t.cite}]"
        for t in made.totals
    ]
