"""The load schedule: what each load draws, what its maker demands and on which page, and what it gets."""

from __future__ import annotations

from typing import Any

from linter.binder.model import Cell, Column, Figure, Kind, Mark, Paragraph, Section, Table, figure
from linter.binder.subject import Subject, place_of, says
from linter.binder.words import asks_words, joined, memory, quantity
from linter.drawing.text import clean
from linter.model.elements import Converter, Load
from linter.study.scene_limit import drop_limit

COLUMNS = (
    Column("load", "Id", kind=Kind.NAME),
    Column("called", "Called"),
    Column("system", "System", kind=Kind.NAME),
    Column("place", "Where"),
    Column("draws A", "Draws", "A", Kind.FIGURE, most=2),
    Column("draws W", "Draws", "W", Kind.FIGURE, most=1),
    Column("starts", "Starts with"),
    Column("maker asks", "Its maker asks for"),
    Column("guard", "Has", kind=Kind.NAME),
    Column("works from V", "Works from", "V", Kind.FIGURE),
    Column("least V", "Gets at least", "V", Kind.FIGURE, 2),
    Column("drop %", "Drop at most", "%", Kind.FIGURE, 2),
    Column("drop allowed %", "Drop allowed", "%", Kind.FIGURE),
    Column("remarks", "Remarks"),
    Column("manual", "The maker says it in"),
)


def section(subject: Subject) -> Section:
    table = Table(COLUMNS, empty="The design has no loads.")
    for row in subject.loads:
        table.add(*_cells(subject, row))
    table.notes.append(
        "Gets at least: the lowest voltage in any scene. Drop at most: in the worst scene or by itself, whichever is "
        "more, reckoned from the source's terminals, in per cent of the nominal voltage."
    )
    table.notes += subject.study.scenes().remarks
    text = Paragraph("Every appliance, with the figures of its maker and where the maker gives them.")
    return Section("loads", "Load schedule", [text, table], table, landscape=True)


def limit_marks(subject: Subject, load: Load) -> tuple[Mark, ...]:
    """Whether the rulebook's word on the drop is known from memory only."""
    limit = drop_limit(load, subject.study.rulebooks)
    return (Mark.MEMORY,) if limit is not None and memory(limit.row.cite.status) else ()


def _rough(*states: dict[str, Any] | None) -> tuple[Mark, ...]:
    """Whether a conductor on the way is of unknown size or length, and counts as nil."""
    return (Mark.ROUGH,) if any(s and s["untold"] for s in states) else ()


def _cells(subject: Subject, row: dict[str, Any]) -> list[Cell]:
    load = subject.element(row["id"])
    assert isinstance(load, Load)
    drops = [s["drop_percent"] for s in (row["worst"], row["alone"]) if s and s["drop_percent"] is not None]
    starts = joined([quantity(load.starts_a, "A"), quantity(load.starts_s, "s")]).replace(", ", " for ")
    by_output = isinstance(load, Converter)
    nothing = row["draws_a"] is None and row["draws_w"] is None
    return [
        row["id"],
        clean(row["label"]),
        row["system"] or "",
        place_of(load),
        figure(row["draws_a"], needed=nothing, words="by its output" if by_output and nothing else ""),
        figure(row["draws_w"]),
        starts,
        asks_words(load),
        joined(row["guard"]) or "no device",
        figure(row["works_from_v"]),
        figure(row["lowest"]["volts_v"], *_rough(row["lowest"])) if row["lowest"] else Figure(),
        figure(max(drops), *_rough(row["worst"], row["alone"])) if drops else Figure(),
        figure(row["limit_percent"], *limit_marks(subject, load)),
        joined([
            "vital" if load.vital else "", "always on" if load.always_on else "",
            "cranking" if load.cranking else "", "in no scene" if row["worst"] is None and not load.cranking else "",
        ]),
        says(load),
    ]  # fmt: skip
