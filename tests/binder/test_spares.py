"""The spares box: the rule, the numbers, and fuses that could be confused."""

from __future__ import annotations

import json
import math
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from linter.binder.spare_list import spare_list, spares_json
from linter.binder.spare_rule import VOYAGES, Amount, RulebookError, rule_of, shipped_rule
from tests.binder.making import SMALL, small, subject_of

RULE = """
title = "Yard rule"
clause = "yard practice 7"
status = "common practice"
[voyage.harbour]
share = 0
least = 0
most = 0
[voyage.coastal]
share = 2
least = 3
most = 40
[voyage.coastal.class.blade]
share = 0.25
least = 5
most = 6
[voyage.ocean]
share = 1
least = 1
most = 9
"""


def test_each_fuse_once_by_class_rating_and_part() -> None:
    made = spare_list(small().study, shipped_rule(), "coastal")
    assert [(s.device_class, s.rated_a, s.used) for s in made.fuses] == [
        ("blade", 3, ("F2",)), ("blade", 5, ("F5",)), ("blade", 25, ("F3",)), ("class-t", 150, ("F1",)),
    ]  # fmt: skip
    assert [(r.device_class, r.rated_a, r.used, r.by_itself) for r in made.breakers] == [
        ("thermal", 10, ("Q4",), ("Q4",))
    ]
    # the shipped rule, read in its own file: coastal, half of those fitted, at least 2; of class T at least 1
    assert [s.carry for s in made.fuses] == [2, 2, 2, 1]


@given(st.floats(0, 5), st.integers(0, 10), st.integers(0, 30), st.integers(0, 300))
def test_an_amount_lies_between_its_bounds(share: float, least: int, more: int, fitted: int) -> None:
    carry = Amount(share, least, least + more).of(fitted)
    if not fitted:
        assert carry == 0
        return
    assert least <= carry <= least + more
    wanted = share * fitted
    assert carry == least + more or carry >= wanted - 1e-6
    assert carry == least or carry < wanted + 1 + 1e-6
    assert math.isfinite(carry)


def test_a_yard_changes_the_rule_by_class_and_voyage(tmp_path: Path) -> None:
    path = tmp_path / "spares.toml"
    path.write_text(RULE, encoding="utf-8")
    rule = rule_of(str(path))
    assert [s.carry for s in spare_list(small().study, rule, "coastal").fuses] == [5, 5, 5, 3]
    assert [s.carry for s in spare_list(small().study, rule, "harbour").fuses] == [0, 0, 0, 0]
    assert [s.carry for s in spare_list(small().study, rule, "ocean").fuses] == [1, 1, 1, 1]


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [("class.blade", "class.blaed", "no device class"), ("least = 3", "least = 300", "least is 300"),
     ("share = 2", "share = -2", "share"), ("share = 2", 'share = "all"', "share"), ("least = 3", "least = 2.5", "number of fuses"),
     ("[voyage.ocean]", "[voyage.lake]", "harbour, coastal, ocean"), ('title = "Yard rule"', "", "title"),
     ("status = \"common practice\"", 'status = "sure"', "status"), ("most = 40", "most = 40\nmore = 1", "unknown key"),
     ("[voyage.harbour]", "[voyage", "TOML")],
)  # fmt: skip
def test_a_rule_that_is_not_in_order_is_told_with_its_line(tmp_path: Path, old: str, new: str, said: str) -> None:
    path = tmp_path / "spares.toml"
    path.write_text(RULE.replace(old, new), encoding="utf-8")
    with pytest.raises(RulebookError) as told:
        rule_of(str(path))
    assert said in str(told.value) and str(told.value).startswith(str(path))


def test_the_shipped_rule_grows_with_the_voyage() -> None:
    rule = shipped_rule()
    assert rule.status == "common practice"
    for fitted in (1, 2, 5, 20):
        for device_class in ("", "blade", "class-t", "anl", "gg", "bolt-down-strip"):
            carried = [rule.amount(v, device_class).of(fitted) for v in VOYAGES]
            assert carried == sorted(carried), device_class


def test_fuses_that_could_be_confused() -> None:
    made = {c.name: c for c in spare_list(small().study, shipped_rule(), "coastal").confusable}
    # 3 A has 5 A and 25 A beside it in like holders; 25 A would no longer guard 1.5 mm2 and is against the maker
    plotter = made["F2"]
    assert plotter.larger == (("F5", 5), ("F3", 25)) and set(plotter.beside) == {"F5", "F3"}
    assert plotter.against == ("PLOTTER",) and plotter.feeds == ("Chart plotter",)
    allowed = small().study.conductors["W3"].allowed_a
    assert allowed is not None
    assert plotter.harmed == ((("W3", allowed),) if allowed < 25 else ())
    assert "F3" not in made and "F1" not in made and "Q4" not in made


def test_a_conductor_that_a_larger_fuse_would_leave_unguarded_is_named() -> None:
    made = subject_of(SMALL.replace("cable W3, 1.5 mm2, 4 m, in conduit", "cable W3, 0.75 mm2, 4 m"))
    allowed = made.study.conductors["W3"].allowed_a
    assert allowed is not None and allowed < 25
    found = next(c for c in spare_list(made.study, shipped_rule(), "coastal").confusable if c.name == "F2")
    assert found.harmed == (("W3", allowed),)


def test_a_holder_that_takes_no_larger_one_is_not_confused() -> None:
    made = subject_of(SMALL.replace("holder 30 A", "holder 5 A"))
    found = {c.name: c.larger for c in spare_list(made.study, shipped_rule(), "coastal").confusable}
    assert found == {"F2": (("F5", 5),)}


def test_fuses_of_unknown_rating_have_no_number() -> None:
    made = subject_of(SMALL.replace('fuse F1 "House main", class T, 150 A,', 'fuse F1 "House main", class T,'))
    (main,) = [s for s in spare_list(made.study, shipped_rule(), "ocean").fuses if s.device_class == "class-t"]
    assert main.rated_a is None and main.carry is None


def test_json_says_all_of_it() -> None:
    study = small().study
    made = json.loads(json.dumps(spares_json(study, spare_list(study, shipped_rule(), "coastal"))))
    assert made["format"] == "wireworthy spares" and made["version"] == 1 and made["complete"] is True
    assert made["caution"] and made["rule"]["status"] == "common practice"
    assert [f["carry"] for f in made["fuses"]] == [2, 2, 2, 1]
    assert made["breakers"][0]["closes_by_itself"] == ["Q4"]
    assert {c["fuse"] for c in made["confusable"]} == {"F2", "F5"}
