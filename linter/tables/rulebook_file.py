"""From a TOML table to a `Rulebook`: every section checked, every figure cited."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace
from itertools import pairwise
from typing import Final, TypeVar, get_args

from linter.tables import conductors
from linter.tables.cite import Cite, weaker
from linter.tables.contacts import contact_drop
from linter.tables.reading import CITE_KEYS, Node, shown
from linter.tables.rulebook import (
    BreakingClass,
    BundleRow,
    CapacityTable,
    Clause,
    Current,
    DeviceLimit,
    DistanceRow,
    DropClass,
    EngineSpaceFactor,
    LeastSize,
    Rulebook,
    Run,
    SelfLimiting,
    SizeSystem,
    Tied,
)
from linter.tables.systems import Practice

SECTIONS: Final = (
    *("over", "title", "edition", "applies_to", "colours", "capacity", "engine_space", "bundling"),
    *("device_limit", "distance", "self_limiting", "least_size", "drop", "breaking", "clauses", "contact_drop"),
)

#: What a clause may be called, and the figures it may hold.
CLAUSES: Final[dict[str, tuple[str, ...]]] = {
    "device-required": (),
    "device-voltage": (),
    "device-breaking": (),
    "cranking-exempt": (),
    "conductor-exempt": ("electronics_below_a", "pigtail_below_mm"),
    "ignition-protection": (),
    "stranded-copper": (),
    "listed-insulation": ("from_v",),
    "charging-source": (),
    "main-and-branch": (),
    "lithium-breaking": (),
    "parallel-banks": ("over_ah",),
    "dc-load-total": ("intermittent_percent",),
    "drop-cross-check": ("constant",),
    "ac-poles": (),
    "ac-supply-poles": (),
    "residual-current": ("greatest_ma", "greatest_ms", "transformer_within_mm"),
    "shore-inlet": ("limit_mm",),
}

Load = Callable[[str], Rulebook]
_Row = TypeVar("_Row", EngineSpaceFactor, BundleRow)


def rulebook(node: Node, name: str, load: Load) -> Rulebook:
    """The rulebook that a table describes; `load` fetches the shipped ones it builds on."""
    node.only(*SECTIONS)
    base = _named(node, "over", load) if "over" in node else None
    title = f"{base.title}, as changed by {name}" if base and "title" not in node else node.text("title")
    colours: Practice | None = base.colours if base else None
    if "colours" in node:
        colours = node.choice("colours", get_args(Practice))
    capacity = base.capacity if base else None
    if capacity is None or "capacity" in node:
        capacity = _capacity(node.table("capacity"), capacity, load)
    return Rulebook(
        name=name,
        title=title,
        edition=node.text("edition", base.edition if base else ""),
        applies_to=node.text("applies_to", base.applies_to if base else ""),
        colours=colours,
        capacity=capacity,
        engine_space=_engine_space(node, base, capacity, load),
        bundling=_bundling(node, base, load),
        device_limits=_demanded(node, "device_limit", _device_limit, base.device_limits if base else None),
        distances=_demanded(node, "distance", _distance, base.distances if base else None),
        self_limiting=_self_limiting(node, base),
        least_sizes=_section(node, "least_size", _least_size, base.least_sizes if base else ()),
        drops=_section(node, "drop", _drop, base.drops if base else ()),
        breaking=_section(node, "breaking", _breaking, base.breaking if base else ()),
        clauses=_clauses(node, base),
        contact_drops=_section(node, "contact_drop", contact_drop, base.contact_drops if base else ()),
    )


_Made = TypeVar("_Made")


def _section(node: Node, key: str, make: Callable[[Node], _Made], base: tuple[_Made, ...]) -> tuple[_Made, ...]:
    return tuple(make(row) for row in node.rows(key)) if key in node else base


def _demanded(node: Node, key: str, make: Callable[[Node], _Made], base: tuple[_Made, ...] | None) -> tuple[_Made, ...]:
    rows = _section(node, key, make, base or ())
    if not rows:
        raise node.fail(f"[[{key}]] is missing: without it nothing can be proved", key)
    return rows


def _named(node: Node, key: str, load: Load) -> Rulebook:
    from linter.tables.rulebook import names

    return load(node.choice(key, names()))


def _leaning(own: Cite, on: Cite) -> Cite:
    """The cite of a figure taken over from another rulebook: no better known than either."""
    return replace(own, status=weaker(own.status, on.status))


def _from(node: Node, load: Load) -> tuple[Rulebook, Cite]:
    node.only("from", *CITE_KEYS)
    return _named(node, "from", load), node.cite()


# Capacity ------------------------------------------------------------------------------------------------


def _capacity(node: Node, base: CapacityTable | None, load: Load) -> CapacityTable:
    if "from" in node:
        other, own = _from(node, load)
        table = other.capacity
        return replace(table, cite=_leaning(own, table.cite), row_cites=_all_leaning(own, table.row_cites))
    node.only("size_system", "basis_ambient_c", "insulation_c", "amps", *CITE_KEYS)
    cite = node.cite()
    system = base.size_system if base else "mm2"
    if base is None or "size_system" in node:
        system = node.choice("size_system", get_args(SizeSystem))
    ambient_c = base.basis_ambient_c if base else 0.0
    if base is None or "basis_ambient_c" in node:
        ambient_c = node.number("basis_ambient_c")
    columns = base.insulation_c if base else ()
    if base is None or "insulation_c" in node:
        columns = node.rising("insulation_c")
    rows: dict[str, tuple[float, tuple[float, ...], Cite]] = {}
    if base and (system, ambient_c, columns) == (base.size_system, base.basis_ambient_c, base.insulation_c):
        for size, area, amps, row_cite in zip(base.sizes, base.areas_mm2, base.amps, base.row_cites, strict=True):
            rows[size] = (area, amps, row_cite)
    given = node.table("amps")
    for size in given.values:
        rows[size] = _capacity_row(given, size, system, columns, cite)
    if not rows:
        raise node.fail("'amps' holds no sizes", "amps")
    ordered = sorted(rows.items(), key=lambda item: item[1][0])
    for (smaller, before), (size, after) in pairwise(ordered):
        if before[0] == after[0]:
            raise given.fail(f"the sizes {shown(smaller)} and {shown(size)} are the same", size)
        if any(more < less for less, more in zip(before[1], after[1], strict=True)):
            blamed = size if size in given else smaller
            raise given.fail(f"size {shown(size)} is given less than the smaller {shown(smaller)}", blamed)
    return CapacityTable(
        system,
        tuple(size for size, _ in ordered),
        tuple(area for _, (area, _, _) in ordered),
        columns,
        tuple(amps for _, (_, amps, _) in ordered),
        ambient_c,
        tuple(row_cite for _, (_, _, row_cite) in ordered),
        cite,
    )


def _capacity_row(
    given: Node, size: str, system: SizeSystem, columns: tuple[float, ...], cite: Cite
) -> tuple[float, tuple[float, ...], Cite]:
    try:
        area_mm2 = conductors.area_mm2(f"{size} {system}")
    except conductors.SizeError as error:
        raise given.fail(str(error), size) from None
    holder, key, row_cite = given, size, cite
    if isinstance(given.values[size], dict):
        holder, key = given.table(size), "amps"
        holder.only("amps", *CITE_KEYS)
        row_cite = holder.cite(cite)
    amps = holder.numbers(key)
    if len(amps) != len(columns):
        raise holder.fail(
            f"the row for size {shown(size)} has {len(amps)} figures for {len(columns)} insulation columns",
            key,
        )
    if any(hotter < cooler for cooler, hotter in pairwise(amps)):
        raise holder.fail(f"the amperes of size {shown(size)} must not fall as the insulation's rating rises", key)
    return area_mm2, amps, row_cite


def _all_leaning(own: Cite, cites: Iterable[Cite]) -> tuple[Cite, ...]:
    return tuple(_leaning(own, cite) for cite in cites)


# Corrections of capacity ---------------------------------------------------------------------------------


def _taken(rows: tuple[_Row, ...], own: Cite) -> tuple[_Row, ...]:
    return tuple(replace(row, cite=_leaning(own, row.cite)) for row in rows)


def _engine_space(
    node: Node, base: Rulebook | None, capacity: CapacityTable, load: Load
) -> tuple[EngineSpaceFactor, ...]:
    key = "engine_space"
    before = base.engine_space if base else ()
    if isinstance(node.values.get(key), dict):
        other, own = _from(node.table(key), load)
        return _taken(other.engine_space, own)
    factors = {row.insulation_c: row for row in before}
    seen: set[float] = set()
    for row in node.rows(key):
        row.only("insulation_c", "factor", "ambient_c", *CITE_KEYS)
        column_c = row.number("insulation_c")
        if column_c not in capacity.insulation_c:
            columns = ", ".join(f"{column:g}" for column in capacity.insulation_c)
            raise row.fail(f"{column_c:g} is no insulation column; the columns are {columns}", "insulation_c")
        if column_c in seen:
            raise row.fail(f"the factor for {column_c:g} °C is given twice", "insulation_c")
        seen.add(column_c)
        factors[column_c] = EngineSpaceFactor(column_c, _factor(row), row.number_or_none("ambient_c"), row.cite())
    return tuple(factors[column_c] for column_c in sorted(factors))


def _factor(row: Node) -> float:
    factor = row.number("factor")
    if factor > 1:
        raise row.fail(f"'factor' must be at most 1, not {factor:g}: it never adds capacity", "factor")
    return factor


def _bundling(node: Node, base: Rulebook | None, load: Load) -> tuple[BundleRow, ...]:
    key = "bundling"
    if isinstance(node.values.get(key), dict):
        other, own = _from(node.table(key), load)
        return _taken(other.bundling, own)
    rows = _section(node, key, _bundle_row, base.bundling if base else ())
    for before, after in pairwise(rows):
        if before.from_v == after.from_v and (before.greatest is None or after.least <= before.greatest):
            raise node.fail(f"two rows of bundling hold for {after.least} conductors", key, rows.index(after))
    return rows


def _bundle_row(row: Node) -> BundleRow:
    row.only("least", "greatest", "factor", "from_v", *CITE_KEYS)
    least = row.whole("least")
    row.get("greatest")
    greatest = None if row.values["greatest"] == "none" else row.whole("greatest")
    if greatest is not None and greatest < least:
        raise row.fail(f"'greatest' is {greatest}, less than 'least', {least}", "greatest")
    return BundleRow(least, greatest, _factor(row), row.number("from_v", zero=True), row.cite())


# Devices and conductors ----------------------------------------------------------------------------------


def _device_limit(row: Node) -> DeviceLimit:
    row.only("current", "from_v", "below_v", "multiple", "next_standard_up_to", *CITE_KEYS)
    from_v, below_v = row.number("from_v", zero=True), row.number_or_none("below_v")
    if below_v is not None and below_v <= from_v:
        raise row.fail(f"'below_v' is {below_v:g}, not above 'from_v', {from_v:g}", "below_v")
    multiple, up_to = row.number("multiple"), row.number_or_none("next_standard_up_to")
    if up_to is not None and up_to < multiple:
        raise row.fail(f"'next_standard_up_to' is {up_to:g}, less than 'multiple', {multiple:g}", "next_standard_up_to")
    current = row.choice("current", get_args(Current), "any")
    return DeviceLimit(current, from_v, below_v, multiple, up_to, row.cite())


def _distance(row: Node) -> DistanceRow:
    row.only("current", "tied", "covered", "limit_mm", "words", *CITE_KEYS)
    row.get("limit_mm")
    return DistanceRow(
        row.choice("tied", get_args(Tied)),
        row.flag("covered"),
        row.number_or_none("limit_mm"),
        row.text("words"),
        row.choice("current", get_args(Current), "any"),
        row.cite(),
    )


def _self_limiting(node: Node, base: Rulebook | None) -> SelfLimiting | None:
    if "self_limiting" not in node:
        return base.self_limiting if base else None
    row = node.table("self_limiting")
    row.only("exempt", "words", *CITE_KEYS)
    return SelfLimiting(row.flag("exempt"), row.text("words"), row.cite())


def _least_size(row: Node) -> LeastSize:
    row.only("run", "size", "longer_than_mm", "greatest_out_of_sheath_mm", "words", *CITE_KEYS)
    size = row.text("size")
    try:
        area_mm2 = conductors.area_mm2(size)
    except conductors.SizeError as error:
        raise row.fail(str(error), "size") from None
    return LeastSize(
        row.choice("run", get_args(Run)),
        size,
        area_mm2,
        row.number_or_none("longer_than_mm"),
        row.number_or_none("greatest_out_of_sheath_mm"),
        row.text("words", ""),
        row.cite(),
    )


def _drop(row: Node) -> DropClass:
    row.only("name", "percent", "circuits", "others", *CITE_KEYS)
    others = row.flag("others") if "others" in row else False
    circuits = row.words("circuits")
    if not circuits and not others:
        raise row.fail("a voltage-drop class names its 'circuits' or says 'others = true'", "circuits")
    percent = row.number("percent")
    if percent >= 100:
        raise row.fail(f"'percent' must be below 100, not {percent:g}", "percent")
    return DropClass(row.text("name"), percent, circuits, others, row.cite())


def _breaking(row: Node) -> BreakingClass:
    row.only("volts", "over_cca", "up_to_cca", "main_a", "branch_a", *CITE_KEYS)
    over, up_to = row.number("over_cca", zero=True), row.number_or_none("up_to_cca")
    if up_to is not None and up_to <= over:
        raise row.fail(f"'up_to_cca' is {up_to:g}, not above 'over_cca', {over:g}", "up_to_cca")
    return BreakingClass(row.numbers("volts"), over, up_to, row.number("main_a"), row.number("branch_a"), row.cite())


def _clauses(node: Node, base: Rulebook | None) -> tuple[Clause, ...]:
    found = {clause.name: clause for clause in base.clauses} if base else {}
    if "clauses" in node:
        given = node.table("clauses")
        given.only(*CLAUSES)
        for name, row in given.children():
            row.only("words", "figures", *CITE_KEYS)
            figures: tuple[tuple[str, float], ...] = ()
            if "figures" in row:
                held = row.table("figures")
                held.only(*CLAUSES[name])
                figures = tuple((key, held.number(key)) for key in held.values)
            found[name] = Clause(name, row.text("words"), figures, row.cite())
    return tuple(found.values())
