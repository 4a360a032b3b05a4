"""Designs that once were judged wrongly where faults are concerned, each as small as it can be."""

from __future__ import annotations

import pytest

from linter.model.build import build
from linter.rules.engine import Examination, examine
from linter.source.files import Reader

HEAD = """boat "C", 9 m, rulebook iso-13297
system MAIN, 12 V
cables, insulation 105 °C, plain
place E, ambient 50 °C
battery B, 12 V, resistance 2 mΩ
from B
"""
POINTS = "opens at 135 % in 200 s to 3600 s, opens at 500 % in 30 ms to 250 ms, opens at 1000 % in 4 ms to 20 ms"


def examined(text: str) -> Examination:
    return examine(build(Reader().design_text(HEAD + text)))


def found(text: str) -> dict[str, str]:
    result = examined(text)
    assert result.complete, [m.message for m in result.mistakes] + result.broken
    return {f"{f.rule} {f.subject}": f.severity.value for f in result.findings}


def fuse(rating_a: float, *facts: str) -> str:
    return ", ".join([f"fuse F1, class T, {rating_a:g} A, 32 V, breaks 20 kA at 32 V", *facts]) + "\n"


@pytest.mark.parametrize(
    ("fact", "said"),
    [
        ("opens at 20000 % in 0 s", "nothing opens in no time"),
        ("opens at 90 % in 10 s", "up to its rating"),
        ("lets through 0 A2s", "lets something through"),
        ("carries 0 % at 50 °C", "makers state"),
        ("carries 200 % at 50 °C", "makers state"),
        (f"{POINTS}, opens at 2000 % in 0 s to 0 s", "nothing opens in no time"),
    ],
)
def test_figures_that_would_prove_anything_are_refused(fact: str, said: str) -> None:
    result = examined(fuse(40, fact) + "cable W1, 10 mm2, 3 m\nload L, draws 3 A\n")
    assert any(said in m.message for m in result.mistakes)
    assert not result.complete


def test_of_a_rising_curve_the_longer_time_holds() -> None:
    rising = fuse(40, "opens at 135 % in 1 s to 1 s", "opens at 500 % in 100 s to 200 s", "opens at 20000 % in 1 ms")
    late = found(rising + "cable W1, 4 mm2, 3 m\nload L, draws 3 A\n")
    # 288 A at the end: between 500 % and 20 000 %, where it may take up to 200 s
    assert late["not-opened-in-time W1"] == "fault"


def test_a_thin_return_is_guarded_and_does_not_burn() -> None:
    text = fuse(150, POINTS) + "cable W1, 50 mm2, 1 m, return 2.5 mm2\nload L, draws 3 A\n"
    thin = found(text)
    assert thin["return-unprotected W1"] == "danger"
    # (k·S)² of 2.5 mm² at 105 °C is 48 kA²s; the fuse alone lets through (1500 A)² × 20 ms = 45 kA²s and more
    assert thin["harmed-before-opening W1"] in {"danger", "doubt"}
    thick = found(text.replace(", return 2.5 mm2", ""))
    assert not [key for key in thick if key.startswith(("return", "harmed"))]


def test_the_mend_of_a_thin_return_is_the_return() -> None:
    text = fuse(150, POINTS) + "cable W1, 50 mm2, 3 m, return 1.5 mm2\nload L, draws 3 A\n"
    mends = [f.mend for f in examined(text).findings if f.rule == "not-opened-in-time"]
    assert mends and "a return of at least" in mends[0]


def test_what_backs_a_device_up_must_break_the_current_itself() -> None:
    text = """fuse F1, class T, 200 A, 32 V, breaks {own} at 32 V, opens at 135 % in 200 s to 3600 s
breaker Q1, thermal, 50 A, 32 V, breaks 3 kA at 32 V, breaks 20 kA at 32 V behind class T fuse 200 A
cable W1, 10 mm2, 1 m
load L, draws 3 A
"""
    assert "breaking-capacity Q1" not in found(text.format(own="20 kA"))
    weak = found(text.format(own="1 kA"))
    assert weak["breaking-capacity F1"] == weak["breaking-capacity Q1"] == "danger"


def test_a_device_that_carries_next_to_nothing_where_it_stands_breaks_no_rule() -> None:
    text = fuse(40, POINTS, "carries 100 % at 20 °C", "carries 6 % at 30 °C", "in E")
    assert found(text + "cable W1, 10 mm2, 3 m\nload L, draws 3 A\n")["device-overloaded F1"] == "fault"


# ---- what is not known is not claimed: a device may open sooner than anybody says

SLOW = "opens at 135 % in 100 s to 3600 s, opens at 20000 % in 10 s to 20 s"


def messages(text: str, name: str) -> tuple[str, str, str]:
    """(severity, message, mend) of what is not opened in time."""
    made = examined(text)
    assert made.complete, [m.message for m in made.mistakes] + made.broken
    one = next(f for f in made.findings if f.rule == "not-opened-in-time" and f.subject == name)
    return one.severity.value, one.message, one.mend


@pytest.mark.parametrize(
    ("main", "severity", "says", "mend"),
    [
        # 12 V into some 60 mΩ: 0.2 kA; the branch takes 10 s and more by its own points
        ("fuse F0, class T, 400 A, 32 V", "fault", "F0 and F1 may take", "opens within 5 s"),
        ("fuse F0, 400 A, 32 V", "fault", "F0 and F1 may take", "opens within 5 s"),
        ("fuse F0, 150 A, 32 V", "doubt", "F0 names neither class nor curve", "the maker of F0"),
        ("fuse F0, ANL, 150 A, 32 V", "doubt", "F0 has no curve that reaches so far", "the maker of F0"),
        ("fuse F0, class T, 32 V", "doubt", "F0 has no rating", "write down the rating of F0"),
        ("fuse F0, class T, 60 A, 32 V", "doubt", "F0 has no curve that reaches so far", "the maker of F0"),
    ],
)
def test_late_only_whatever_the_missing_figures_are(main: str, severity: str, says: str, mend: str) -> None:
    branch = f"fuse F1, class T, 40 A, 32 V, breaks 20 kA at 32 V, {SLOW}"
    text = f"{main}\ncable W0, 95 mm2, 1 m\nbus P\nfrom P\n{branch}\ncable W1, 10 mm2, 12 m\nload L, draws 3 A\n"
    said = messages(text, "W1")
    assert said[0] == severity and says in said[1] and mend in said[2], said


def test_a_device_side_by_side_may_open_sooner_too() -> None:
    points = "opens at 150 % in 40 s to 60 s, opens at 5000 % in 10 s to 12 s"
    text = f"""fuse F0, class T, 300 A, 32 V, {points}
bus P
bus Q
from P
fuse F1{{rating}}
cable W1, 16 mm2, 3 m
to Q
from P
fuse F2, 300 A, 32 V, {points}
cable W2, 120 mm2, 3 m
to Q
from Q
cable W3, 95 mm2, 1 m
load L, draws 3 A
"""
    severity, message, mend = messages(text.format(rating=""), "W3")
    assert (severity, mend) == ("doubt", "write down the rating of F1") and "F1 has no rating" in message
    told = messages(text.format(rating=f", 300 A, 32 V, {points}"), "W3")
    assert told[0] == "fault"


def test_what_is_harmed_before_anything_untold_matters_is_harmed() -> None:
    head = "cable W0, 95 mm2, 1 m\nbus P\nfrom P\nfuse F1, class T, 40 A, 32 V, breaks 20 kA at 32 V, "
    late = "opens at 135 % in 1 s to 3600 s, opens at 500 % in 2 s to 4 s, opens at 20000 % in 1 s to 4 s"
    quick = "opens at 135 % in 1 s to 60 s, opens at 500 % in 1 ms to 2 ms, opens at 20000 % in 1 ms to 2 ms"
    for main, branch, size, severity in (
        ("fuse F0, 400 A, 32 V", late, "10 mm2", "doubt"),
        (f"fuse F0, 400 A, 32 V, {late}", late, "10 mm2", "danger"),
        ("fuse F0, 400 A, 32 V", quick, "10 mm2", None),
        # up to its rating F0 does not open: (400 A)² × 4 s are 640 kA²s; 4 mm² stands less than (115 · 4)² A²s
        ("fuse F0, 400 A, 32 V", late, "4 mm2", "danger"),
    ):
        said = found(f"{main}\n{head}{branch}\ncable W1, {size}, 4 m\nload L, draws 3 A\n")
        assert said.get("harmed-before-opening W1") == severity, (main, branch)
