"""A rulebook: what one standard demands, every figure with its clause and status.

`load` reads the rulebooks shipped with the package, `load_file` a user's own. What a rulebook does not state
is absent (None or an empty tuple), never guessed.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Literal

from linter.tables.cite import Cite
from linter.tables.contacts import ContactDrop
from linter.tables.devices import DeviceKind, is_standard, next_standard_above
from linter.tables.reading import RulebookError, nearest, parse, read_text, shipped
from linter.tables.systems import Practice

SizeSystem = Literal["AWG", "mm2"]
Current = Literal["any", "dc", "ac"]
Tied = Literal["any", "battery", "charging"]
Run = Literal["single", "sheathed"]

#: Two areas nearer than this part are one size: unit conversion must not cost a whole row of the table.
_SAME_AREA = 1e-6


@dataclass(frozen=True, slots=True)
class CapacityCell:
    """One figure of a capacity table: amperes for a size and an insulation column."""

    size: str
    area_mm2: float
    insulation_c: float
    amps: float
    cite: Cite


@dataclass(frozen=True, slots=True)
class CapacityTable:
    """Allowable amperes by conductor size (rows, rising area) and insulation temperature (columns, °C)."""

    size_system: SizeSystem
    sizes: tuple[str, ...]
    areas_mm2: tuple[float, ...]
    insulation_c: tuple[float, ...]
    amps: tuple[tuple[float, ...], ...]
    basis_ambient_c: float
    row_cites: tuple[Cite, ...]
    cite: Cite

    def column(self, insulation_c: float) -> float | None:
        """The column for an insulation rated `insulation_c`: the highest not above it, or None."""
        return max((column for column in self.insulation_c if column <= insulation_c), default=None)

    def cell(self, area_mm2: float, insulation_c: float) -> CapacityCell | None:
        """The figure for a conductor of any area and insulation, or None when it is below the table.

        A size between two rows takes the smaller row and an insulation between two columns the cooler
        column, so the figure is never more than the conductor's own.
        """
        column_c = self.column(insulation_c)
        if column_c is None:
            return None
        reach = area_mm2 * (1 + _SAME_AREA)
        row = max((row for row, area in enumerate(self.areas_mm2) if area <= reach), default=None)
        if row is None:
            return None
        amps = self.amps[row][self.insulation_c.index(column_c)]
        return CapacityCell(self.sizes[row], self.areas_mm2[row], column_c, amps, self.row_cites[row])


@dataclass(frozen=True, slots=True)
class EngineSpaceFactor:
    """What the capacity of an insulation column is multiplied by in an engine space."""

    insulation_c: float
    factor: float
    ambient_c: float | None
    cite: Cite


@dataclass(frozen=True, slots=True)
class BundleRow:
    """The factor for `least` to `greatest` (None: and more) conductors together, from `from_v` volts."""

    least: int
    greatest: int | None
    factor: float
    from_v: float
    cite: Cite


@dataclass(frozen=True, slots=True)
class DeviceLimit:
    """The greatest rating of a device as a multiple of the capacity it guards, for a range of voltage."""

    current: Current
    from_v: float
    below_v: float | None
    multiple: float
    next_standard_up_to: float | None
    cite: Cite

    def greatest_a(self, capacity_a: float, kind: DeviceKind | None = None) -> float:
        """The greatest allowed rating in amperes for a conductor of `capacity_a`.

        Where the limit is not itself a standard rating and the rulebook allows the next one above, that
        one, so long as it is within its multiple of the capacity. `kind` picks the fuses' small ratings.
        """
        limit_a = self.multiple * capacity_a
        if self.next_standard_up_to is None:
            return limit_a
        if is_standard(limit_a, kind):
            return limit_a
        above_a = next_standard_above(limit_a, kind)
        reach_a = self.next_standard_up_to * capacity_a
        if above_a is not None and (above_a <= reach_a or math.isclose(above_a, reach_a)):
            return above_a
        return limit_a


@dataclass(frozen=True, slots=True)
class DistanceRow:
    """How far along the conductor its device may stand; `limit_mm` None means any length.

    `tied` is what the conductor is fed from ("any": whatever it is). `covered` rows hold only where the
    whole stretch is in a sheath or enclosure; the others hold with or without.
    """

    tied: Tied
    covered: bool
    limit_mm: float | None
    words: str
    current: Current
    cite: Cite


@dataclass(frozen=True, slots=True)
class SelfLimiting:
    """Whether charging sources that limit their own current are exempt from a device at the source."""

    exempt: bool
    words: str
    cite: Cite


@dataclass(frozen=True, slots=True)
class LeastSize:
    """The least conductor, run singly or inside a sheath.

    It holds only for conductors longer than `longer_than_mm` where that is given; out of its sheath a
    conductor may run `greatest_out_of_sheath_mm`.
    """

    run: Run
    size: str
    area_mm2: float
    longer_than_mm: float | None
    greatest_out_of_sheath_mm: float | None
    words: str
    cite: Cite


@dataclass(frozen=True, slots=True)
class DropClass:
    """The greatest voltage drop, per cent of the system's voltage, for the circuits named.

    `others` marks the class of every circuit that no class names.
    """

    name: str
    percent: float
    circuits: tuple[str, ...]
    others: bool
    cite: Cite


@dataclass(frozen=True, slots=True)
class BreakingClass:
    """The least breaking capacity of main and branch devices by cold cranking amperes of the whole bank."""

    volts: tuple[float, ...]
    over_cca: float
    up_to_cca: float | None
    main_a: float
    branch_a: float
    cite: Cite


@dataclass(frozen=True, slots=True)
class Clause:
    """A demand or an exemption in words, with the figures it holds by name and unit (`limit_mm`)."""

    name: str
    words: str
    figures: tuple[tuple[str, float], ...]
    cite: Cite

    def figure(self, name: str) -> float | None:
        return dict(self.figures).get(name)


@dataclass(frozen=True, slots=True)
class Rulebook:
    """All that one standard demands, as far as it is known here."""

    name: str
    title: str
    edition: str
    applies_to: str
    colours: Practice | None
    capacity: CapacityTable
    engine_space: tuple[EngineSpaceFactor, ...]
    bundling: tuple[BundleRow, ...]
    device_limits: tuple[DeviceLimit, ...]
    distances: tuple[DistanceRow, ...]
    self_limiting: SelfLimiting | None
    least_sizes: tuple[LeastSize, ...]
    drops: tuple[DropClass, ...]
    breaking: tuple[BreakingClass, ...]
    clauses: tuple[Clause, ...]
    # what a device or switch may lose at its rated current where nobody states it; of a kind not named, the table's
    contact_drops: tuple[ContactDrop, ...] = ()

    def engine_space_factor(self, insulation_c: float) -> EngineSpaceFactor | None:
        """The factor of an insulation's capacity column; None when the rulebook states none for it."""
        column_c = self.capacity.column(insulation_c)
        return next((row for row in self.engine_space if row.insulation_c == column_c), None)

    def bundle(self, conductors: int, voltage_v: float) -> BundleRow | None:
        """The row for so many current-carrying conductors together, or None: no correction is stated."""
        for row in self.bundling:
            fits = row.least <= conductors and (row.greatest is None or conductors <= row.greatest)
            if fits and voltage_v >= row.from_v:
                return row
        return None

    def device_limit(self, voltage_v: float, current: Literal["dc", "ac"] = "dc") -> DeviceLimit | None:
        """The limit on a device's rating in a circuit of this voltage, or None when none is stated."""
        for row in self.device_limits:
            within = row.from_v <= voltage_v and (row.below_v is None or voltage_v < row.below_v)
            if within and row.current in ("any", current):
                return row
        return None

    def distance(self, tied: Tied, covered: bool, current: Literal["dc", "ac"] = "dc") -> DistanceRow | None:
        """The most generous row that holds for a stretch so tied and so covered, or None."""
        fitting = [
            row
            for row in self.distances
            if row.tied in ("any", tied) and (covered or not row.covered) and row.current in ("any", current)
        ]
        return max(fitting, key=lambda row: math.inf if row.limit_mm is None else row.limit_mm, default=None)

    def least_size(self, run: Run) -> LeastSize | None:
        return next((row for row in self.least_sizes if row.run == run), None)

    def drop_class(self, circuit: str) -> DropClass | None:
        """The class that names the circuit, else the class of all others, else None."""
        named = next((row for row in self.drops if circuit in row.circuits), None)
        return named or next((row for row in self.drops if row.others), None)

    def breaking_class(self, cca: float, nominal_v: float) -> BreakingClass | None:
        """The least breaking capacities for a bank of `cca` cold cranking amperes, or None."""
        for row in self.breaking:
            within = row.over_cca < cca and (row.up_to_cca is None or cca <= row.up_to_cca)
            if within and nominal_v in row.volts:
                return row
        return None

    def clause(self, name: str) -> Clause | None:
        return next((row for row in self.clauses if row.name == name), None)


@cache
def names() -> tuple[str, ...]:
    """The names of the rulebooks shipped with the package, sorted."""
    folder = Path(__file__).with_name("rulebooks")
    try:
        found = [item.name for item in folder.iterdir()]
    except OSError:
        # inside an archive
        from importlib.resources import files

        found = [item.name for item in files("linter.tables").joinpath("rulebooks").iterdir()]
    return tuple(sorted(name[:-5] for name in found if name.endswith(".toml")))


@cache
def load(name: str) -> Rulebook:
    """A shipped rulebook by name. Raises `RulebookError` when there is none of that name."""
    from linter.tables.rulebook_file import rulebook

    if name not in names():
        hint = nearest(name, names()) or f"; there are {', '.join(names())}"
        raise RulebookError(f"no rulebook is called {name[:60]!r}{hint}", key=name[:60])
    return rulebook(shipped("rulebooks", f"{name}.toml"), name, load)


def load_file(path: Path, text: str | None = None) -> Rulebook:
    """A user's own rulebook, in the format of the shipped ones; `text` stands in for the file's content.

    `over = "iso-13297"` starts from that rulebook: rows of `capacity`, `engine_space` and `clauses` that
    the file gives replace those of the same size, insulation or name; of any other section, the whole.
    New columns, ambient or size system make a new capacity table. Amperes may not fall as area or
    insulation rating rises.
    Raises `RulebookError` for whatever is wrong, and nothing else.
    """
    from linter.tables.rulebook_file import rulebook

    content = read_text(path) if text is None else text
    return rulebook(parse(content, str(path)), path.stem, load)
