"""An acceptance was given for a finding as it was: `check --since` fails where the finding has outgrown it."""

from __future__ import annotations

import json
import re

import pytest

from .conftest import DESIGN, Git, run
from .test_revisions import commit, write

# 20 m of 50 mm² at 40 A: more than the 3 % that ISO 13297 (second-hand) allows a vital circuit
DROP = DESIGN.replace("50 mm2, 1 m", "50 mm2, {metres} m").replace("draws 40 A", "draws {amps} A, vital")
WHY = "mast is unstepped in spring; larger cable then"


def accepted(rule: str, at: str, why: str = WHY, until: str = "2027-06-30", by: str = "A. Tern") -> str:
    return f'accept {rule} at {at}, "{why}", by "{by}", until {until}\n'


def drop(metres: float = 20, amps: float = 40, **acceptance: str) -> str:
    return DROP.format(metres=metres, amps=amps) + accepted("voltage-drop", "HEATER", **acceptance)


def since(only: str = "voltage-drop") -> tuple[int, list[str]]:
    """Exit status, and the rules of what got worse, of one rule only."""
    done = run("check", "x.boat", "--since", "main", "--format", "json", "--only", only)
    return done.exit_code, [f["rule"] for f in json.loads(done.stdout)["since"]["designs"][0]["worse"]]


def test_the_drop_is_accepted_to_begin_with(git: Git) -> None:
    write(drop())
    commit(git)
    found = json.loads(run("check", "x.boat", "--format", "json").stdout)["designs"][0]["findings"]
    assert [f["accepted"] is not None for f in found if f["rule"] == "voltage-drop"] == [True]
    assert since() == (0, [])


@pytest.mark.parametrize(
    ("change", "fails"),
    [
        ({"amps": 44}, True), ({"amps": 40.4}, True), ({"amps": 36}, False), ({"metres": 24}, True), ({"metres": 19}, False),
        # renewed: another day, or another reason; a new signature, or blanks, are neither
        ({"amps": 44, "until": "2027-07-31"}, False), ({"amps": 44, "why": WHY + "; fridge is off meanwhile"}, False),
        ({"amps": 44, "by": "B. Tern"}, True), ({"amps": 44, "why": WHY.replace(" is ", "  is ")}, True),
    ],
)  # fmt: skip
def test_a_drop_that_grows(git: Git, change: dict[str, str], fails: bool) -> None:
    write(drop())
    commit(git)
    write(drop(**change))  # type: ignore[arg-type]
    assert since()[0] == fails


def test_it_is_told_what_was_accepted_in_every_form(git: Git) -> None:
    write(drop())
    commit(git)
    write(drop(amps=44))
    said = " ".join(run("check", "x.boat", "--since", "main", "--only", "voltage-drop").stdout.split())
    assert "voltage-drop at HEATER was accepted as it was: HEATER (Cabin heater) loses 0.66" in said
    assert (
        "Have it accepted anew, with another date or reason; or " in said
        and "0 new, 1 graver (1 fault), 0 gone" in said
    )
    for form in ("sarif", "junit", "annotations", "code-quality", "json"):
        done = run("check", "x.boat", "--since", "main", "--format", form, "--only", "voltage-drop")
        assert done.exit_code == 1, form
        assert "Have it accepted anew" in done.stdout, form
    compared = json.loads(run("compare", "x.boat", "--since", "main", "--format", "json").stdout)
    (one,) = (g for g in compared["findings"]["graver"] if g["now"]["rule"] == "voltage-drop")
    assert one["was"]["accepted"] and not one["now"]["accepted"]
    # without --since it is accepted, as the file says
    plain = json.loads(run("check", "x.boat", "--format", "json").stdout)["designs"][0]["findings"]
    assert [bool(f["accepted"]) for f in plain if f["rule"] == "voltage-drop"] == [True]


def test_a_guard_that_lets_more_through(git: Git) -> None:
    """W2's guard grows from 1.5 to 2 times what is allowed, in the same words."""
    text = re.sub(r"cable W2, 50 mm2, 1 m", "cable W2, 10 mm2, 1 m", DESIGN) + accepted("conductor-unprotected", "W2")
    assert "class T, 150 A" in text
    write(text)
    commit(git)
    only = "conductor-unprotected"
    assert since(only) == (0, [])
    write(text.replace("class T, 150 A", "class T, 200 A"))
    assert since(only) == (1, [only])
    write(text.replace("class T, 150 A", "class T, 125 A"))
    assert since(only) == (0, [])


def test_another_finding_that_an_old_acceptance_would_cover(git: Git) -> None:
    """What was accepted before there was such a finding, or for another one at the same element, covers it no more; what
    is accepted with it does."""
    early = DROP.format(metres=1, amps=1) + accepted("voltage-drop", "HEATER")
    write(early)
    commit(git)
    write(drop())
    assert since() == (1, ["voltage-drop"])
    assert "was accepted before there was this finding" in " ".join(
        run("check", "x.boat", "--since", "main", "--only", "voltage-drop").stdout.split()
    )
    write(DROP.format(metres=1, amps=1))
    commit(git)
    write(drop())
    # new, and named as such, but accepted with it
    assert since() == (0, ["voltage-drop"])


def test_a_renamed_element_keeps_its_acceptance(git: Git) -> None:
    write(drop())
    commit(git)
    write(drop().replace("HEATER", "STOVE").replace("Cabin heater", "Saloon stove"))
    assert since() == (0, [])
    write(drop(metres=24).replace("HEATER", "STOVE"))
    assert since() == (1, ["voltage-drop"])
