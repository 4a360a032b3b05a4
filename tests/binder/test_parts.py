"""What the parts say, against the design's text and against figures reckoned here anew."""

from __future__ import annotations

import re
from collections import Counter

import pytest

from linter.binder.contents import PARTS, document, one_part
from linter.binder.model import Card, Figure, Labels, Mark, Paragraph, Section, Table
from linter.binder.spare_rule import VOYAGES
from linter.binder.subject import Subject
from linter.cli_binder import PARTS as OFFERED
from linter.cli_binder import VOYAGES as OFFERED_VOYAGES
from linter.drawing.revision import Revision
from linter.model.elements import Conductor, Device, Load
from tests.binder.making import SMALL, launch, small, subject_of


def column(table: Table, key: str) -> list[object]:
    place = [c.key for c in table.columns].index(key)
    return [row.cells[place] for row in table.rows]


def row_of(table: Table, name: str) -> dict[str, object]:
    found = next(r for r in table.rows if r.cells[0] == name)
    return {c.key: cell for c, cell in zip(table.columns, found.cells, strict=True)}


def value(cell: object) -> float | None:
    assert isinstance(cell, Figure)
    return cell.value


def test_the_command_offers_what_there_is() -> None:
    assert tuple(PARTS) == OFFERED
    assert VOYAGES == OFFERED_VOYAGES


@pytest.mark.parametrize("subject", [small, launch], ids=["small", "launch"])
def test_each_schedule_has_each_of_its_things_once(subject: object) -> None:
    made: Subject = subject()  # type: ignore[operator]
    elements = made.design.elements
    for part, kind in (("conductors", Conductor), ("devices", Device), ("loads", Load)):
        names = column(
            one_part(made, part).data, {"conductors": "conductor", "devices": "device", "loads": "load"}[part]
        )
        assert sorted(map(str, names)) == sorted(n for n, e in elements.items() if isinstance(e, kind))


def test_a_conductor_as_the_design_says_it() -> None:
    table = one_part(small(), "conductors").data
    row = row_of(table, "W4")
    assert (row["from"], row["to"], row["size"]) == ("F3", "PUMP", "6\u00a0mm²")
    assert value(row["length m"]) == 3.5
    assert row["route"] == "2.00\u00a0m ENGINE-ROOM, return 4\u00a0m"
    assert row["insulation"] == "105\u00a0°C, class\u00a05, tinned"
    assert row["guard"] == "F3" and value(row["lets through A"]) == 25
    assert value(row["load A"]) == 12
    # the capacity is the table's by the factors, as a person checks it
    factors = [float(f) for f in str(row["factors"]).split(" × ")]
    table_a, capacity_a = value(row["table A"]), value(row["capacity A"])
    assert table_a is not None and capacity_a is not None and len(factors) == 1
    assert capacity_a == pytest.approx(table_a * factors[0], rel=2e-3)
    # iso-13297's capacities are known from memory here, and each says so
    assert row["capacity A"].marks == (Mark.MEMORY,)  # type: ignore[attr-defined]
    first = row_of(table, "W1")
    assert first["guard"] == "none" and first["lets through A"].words == "unlimited"  # type: ignore[attr-defined]


def test_a_figure_that_is_missing_is_marked_where_it_stands() -> None:
    made = subject_of(SMALL.replace("cable W6, 1.5 mm2, 1 m", "cable W6").replace("HORN, draws 4 A", "HORN"))
    row = row_of(one_part(made, "conductors").data, "W6")
    assert row["size"] == "?"
    for key in ("length m", "table A", "capacity A", "allowed A"):
        assert row[key] == Figure(None, (Mark.MISSING,)), key
    assert row_of(one_part(made, "loads").data, "HORN")["draws A"] == Figure(None, (Mark.MISSING,))
    cable = row_of(one_part(made, "parts").data, "cable")
    assert (cable["rating"], cable["length m"]) == ("?", Figure(None, (Mark.MISSING,)))


def test_a_device_with_what_it_meets() -> None:
    table = one_part(small(), "devices").data
    row = row_of(table, "F1")
    assert (row["guards"], row["class"], row["place"]) == ("W2", "class T fuse", "Port locker")
    assert value(row["rated A"]) == 150 and value(row["breaks A"]) == 20_000 and value(row["at V"]) == 125
    # IEC 61660-1 (from memory): 1.05 x 12 V behind 0.9 x 2.5 mOhm at the battery; the conductors only make it less
    largest = value(row["largest fault A"])
    assert largest is not None and 4_500 < largest < 1.05 * 12 / (0.9 * 0.0025)
    assert row_of(table, "F2")["part"] == "Brack blade fuse in block"
    assert row_of(table, "Q4")["part"] == "no part named"


def test_a_panel_names_each_way_out_in_order() -> None:
    section = one_part(small(), "panels")
    (card,) = [b for b in section.blocks if isinstance(b, Card)]
    assert card.title == "Positive bus"
    rows = [list(row.cells) for row in card.table.rows]
    assert [(value(r[0]), r[1], r[5], r[6]) for r in rows] == [
        (1, "F2", "Chart plotter", "W3"), (2, "F3", "Bilge pump", "W4"), (3, "Q4", "Cabin lights", "W5"),
        (4, "F5", "HORN", "W6"),
    ]  # fmt: skip
    assert "F1" in card.lines[1] and "W2" in card.lines[1]
    assert "0123abcd" in card.foot


def test_totals_of_cable_by_what_the_text_says() -> None:
    """From the text alone: what is laid, and as much back unless the line says otherwise."""
    there, back = Counter[str](), Counter[str]()
    for line in SMALL.splitlines():
        found = re.match(r"cable (W\d)[^,]*, ([\d.]+) mm2, ([\d.]+) m", line)
        if found is None:
            continue
        size, length = found[2], float(found[3])
        there[size] += length
        size_back = re.search(r"return ([\d.]+) mm2", line)
        length_back = re.search(r"return ([\d.]+) m(?!m)", line)
        back[size_back[1] if size_back else size] += float(length_back[1]) if length_back else length
    made = Counter[str](), Counter[str]()
    for row in one_part(small(), "parts").data.rows:
        if row.cells[1] == "cable":
            size = str(row.cells[2]).removesuffix("\u00a0mm²")
            length = value(row.cells[6])
            assert length is not None
            made[row.cells[3] == "return"][size] += length
    assert {k: pytest.approx(v) for k, v in made[0].items()} == there
    assert {k: pytest.approx(v) for k, v in made[1].items()} == back


def test_parts_alike_stand_in_one_line() -> None:
    rows = [r.cells for r in one_part(small(), "parts").data.rows]
    blades = {(str(r[2]), value(r[5]), r[8]) for r in rows if r[0] == "Brack blade fuse in block"}
    assert blades == {
        ("3\u00a0A, 32\u00a0V", 1, "F2"),
        ("25\u00a0A, 32\u00a0V", 1, "F3"),
        ("5\u00a0A, 32\u00a0V", 1, "F5"),
    }
    things = sum(value(r[5]) or 0 for r in rows if r[1] != "cable")
    elements = small().design.elements.values()
    assert things == sum(not isinstance(e, Conductor) for e in elements)


def test_energy_of_a_day_reckoned_anew() -> None:
    rows = [r.cells for r in one_part(small(), "energy").data.rows]
    by_load = {str(r[2]): value(r[6]) for r in rows if r[1] == "load"}
    # power by time: 24 W for its own 4 h, 1.2 A at 12 V in the scene of 3 h, 12 A for half an hour
    assert by_load["LIGHTS"] == pytest.approx(24 * 4)
    assert by_load["PLOTTER"] == pytest.approx(1.2 * 12 * 3)
    assert by_load["PUMP"] == pytest.approx(12 * 12 * 0.5)
    assert by_load["HORN"] is None
    total = next(value(r[6]) for r in rows if r[1] == "in all")
    assert total == pytest.approx(sum(v for v in by_load.values() if v is not None))
    assert [r[2] for r in rows if r[1] == "scene"] == ["Evening", "Pumping"]


def test_findings_with_reason_name_and_date() -> None:
    made = small()
    rows = [r.cells for r in one_part(made, "findings").data.rows]
    assert len(rows) == len(made.result.findings)
    assert sum(r[0] == "accepted" for r in rows) == sum(bool(f.accepted) for f in made.result.findings)
    for row in rows:
        if row[0] == "accepted":
            assert row[8] and row[9] == "J. Holm" and row[10] == "2026-12-31"


def test_what_to_measure_lies_about_what_standards_say() -> None:
    """IEC 60228, class 5, tinned: 35 mm2 0.565, 6 mm2 3.39, 2.5 mm2 8.21 ohm/km at 20 degrees (greatest)."""
    rows = [r.cells for r in one_part(small(), "commissioning").data.rows]
    continuity = {str(r[1]): (value(r[3]), value(r[4])) for r in rows if r[2] == "continuity"}
    for name, ohm_per_km, metres in (("W2", 0.565, 1.25), ("W4", 3.39, 3.5), ("W5", 8.21, 5.0)):
        low, high = continuity[name]
        assert high == pytest.approx(ohm_per_km * metres, rel=0.005)
        # copper of 0.017241 ohm mm2/m over the nominal size is about the least
        assert low is not None and high is not None and 0.8 * high < low <= high
    drops = {str(r[1]): (value(r[3]), value(r[4])) for r in rows if r[2] == "drop"}
    low, high = drops["PUMP"]
    # by hand, conductors alone and cold: 12 A through 35 mm2 there and back (0.15 + 1.25 m) and 6 mm2 (3.5 m, back 4 m)
    by_hand = 12 * (2 * 1.4 * 0.565 + 7.5 * 3.39) / 1000
    assert low is not None and high is not None
    assert low <= by_hand * 1.01 and high >= by_hand * 0.99
    loads = {e for e, x in small().design.elements.items() if isinstance(x, Load)}
    assert {str(r[1]) for r in rows if r[2] == "polarity"} == loads
    assert {str(r[1]) for r in rows if r[2] == "rating fitted"} == {"F1", "F2", "F3", "Q4", "F5"}


def test_a_label_for_both_ends_of_every_cable() -> None:
    section = one_part(small(), "labels")
    cables, things = [b for b in section.blocks if isinstance(b, Labels)]
    assert Counter(x.title for x in cables.labels) == Counter({f"W{n}": 2 for n in range(1, 7)})
    assert [x.lines[0] for x in cables.labels if x.title == "W4"] == ["to PUMP", "to F3"]
    assert {x.title for x in things.labels} == {"HOUSE", "F1", "POS", "F2", "F3", "Q4", "F5"}


def test_the_index_names_each_sheet_on_which_a_thing_is() -> None:
    made = launch()
    section: Section = one_part(made, "diagram")
    places = {str(r.cells[0]): (value(r.cells[3]), str(r.cells[4])) for r in section.data.rows}
    assert set(places) == {n for n, e in made.design.elements.items() if e.kind != "part"}
    assert all(n and 1 <= n <= len(made.pictures) and re.fullmatch("[A-F][1-8]", f) for n, f in places.values())


def test_changed_and_incomplete_are_said_on_the_cover() -> None:
    clean = document(small(), ["cover"])
    assert clean.warnings == () and clean.revision == "revision 0123abcd of 2026-05-17"
    changed = document(subject_of(SMALL, Revision("0123abcd", "2026-05-17", True)), ["cover"])
    assert changed.revision.endswith("with uncommitted changes")
    assert any("uncommitted" in w for w in changed.warnings)
    broken = document(subject_of(SMALL + "\nnonsense here\n", None), ["cover"])
    assert broken.warnings[0].startswith("INCOMPLETE")
    assert any("no revision control" in w for w in broken.warnings)
    danger = document(subject_of(SMALL.replace('fuse F3 "Pump", part blade-30, 25 A, in LOCKER\n', "")), ["cover"])
    assert any("DANGERS ARE OPEN" in w for w in danger.warnings)


def test_the_day_of_the_file_is_never_today(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("SOURCE_DATE_EPOCH", raising=False)
    assert document(small(), ["cover"]).day == (2026, 5, 17)
    loose = subject_of(SMALL, None)
    assert document(loose, ["cover"]).day == (2000, 1, 1)
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "86400")
    assert document(loose, ["cover"]).day == (1970, 1, 2)


def test_figures_from_memory_and_rough_ones_are_marked() -> None:
    """No sheet says what the fuse breaks, and no line what the battery's resistance is."""
    text = SMALL.replace("breaks 6 kA at 32 V, ", "").replace(", resistance 2.5 mΩ", "")
    table = one_part(subject_of(text), "devices").data
    row = row_of(table, "F2")
    assert row["breaks A"].marks == (Mark.MEMORY,)  # type: ignore[attr-defined]
    assert row["largest fault A"].marks == (Mark.ROUGH,)  # type: ignore[attr-defined]
    assert any("rough resistance for AGM" in n for s in [one_part(subject_of(text), "devices")] for b in s.blocks
               if isinstance(b, Table) for n in b.notes)  # fmt: skip
    battery = one_part(subject_of(text), "batteries").data.rows[0].cells
    assert [c for c in battery if isinstance(c, Figure) and Mark.MISSING in c.marks]
    unmarked = row_of(one_part(small(), "devices").data, "F2")
    assert unmarked["breaks A"].marks == () and unmarked["largest fault A"].marks == ()  # type: ignore[attr-defined]


# A cable without a size, a motor on too thin a one, a bank that a day empties.
WRONG = SMALL.replace("cable W4, 6 mm2,", "cable W4, 1.5 mm2,").replace("cable W6, 1.5 mm2, 1 m", "cable W6")
WRONG = WRONG.replace('"Evening", LIGHTS, PLOTTER, for 3 h', '"Evening", PUMP, PLOTTER, for 20 h')


def test_what_is_not_protected_stands_out_and_is_no_sum() -> None:
    made = subject_of(WRONG)
    (table,) = (b for b in one_part(made, "conductors").blocks if isinstance(b, Table))
    out = [r.cells[0] for r in table.rows if r.warns]
    assert "W6" in out and "W2" not in out
    assert out == [
        n for n, c in made.study.conductors.items() if c.verdict.value in ("too far", "unprotected", "unknown")
    ]
    assert any(n.startswith("Bold:") for n in table.notes)
    assert not any(r.strong for r in table.rows)
    (open_, _) = (b for b in one_part(made, "findings").blocks if isinstance(b, Table))
    assert [r.cells[0] == "danger" for r in open_.rows] == [r.warns for r in open_.rows]
    assert open_.rows[0].warns
    (sound,) = (b for b in one_part(launch(), "conductors").blocks if isinstance(b, Table))
    assert not any(r.warns for r in sound.rows)


def test_a_length_that_nobody_states_marks_the_sum() -> None:
    def total(made: Subject) -> Figure:
        cable = [b for b in one_part(made, "parts").blocks if isinstance(b, Table)][1]
        assert cable.rows[-1].strong
        found = cable.rows[-1].cells[4]
        assert isinstance(found, Figure)
        return found

    assert total(small()).marks == ()
    assert total(subject_of(WRONG)).marks == (Mark.ROUGH,)
    # W6 of 1 m and its return are all that is missing
    assert (total(small()).value or 0) - (total(subject_of(WRONG)).value or 0) == pytest.approx(2)


def test_a_scene_that_takes_more_than_the_bank_holds_says_how_long_it_lasts() -> None:
    (scenes,) = (
        b for b in one_part(subject_of(WRONG), "energy").blocks if isinstance(b, Table) and "by scene" in b.title
    )
    evening = row_of(scenes, "Evening")
    # 13.2 A for 20 h from 200 Ah
    assert value(evening["charge Ah"]) == pytest.approx(13.2 * 20)
    assert value(evening["share %"]) == pytest.approx(132)
    assert evening["remark"] == f"more than it holds: empty after {200 / 13.2:.1f}\u00a0h from full"
    assert row_of(scenes, "Pumping")["remark"] == ""
    said = " ".join(b.text for b in one_part(subject_of(WRONG), "batteries").blocks if isinstance(b, Paragraph))
    assert "more than it holds, so that it lasts a day only while something charges it" in said
    said = " ".join(b.text for b in one_part(small(), "batteries").blocks if isinstance(b, Paragraph))
    assert "more than it holds" not in said
