"""Characters to tokens."""

from __future__ import annotations

import pytest

from linter.source.scanner import Token, scan
from linter.source.units import AWG_SIZES, BASE_UNIT, UNITS, BadQuantity, Quantity, quantity


def tokens(text: str) -> list[tuple[str, object]]:
    return [(t.type, t.value) for t in scan(text)]


def types(text: str) -> list[str]:
    return [t.type for t in scan(text)]


def only(text: str) -> Token:
    """The one token of a text, its end of line aside."""
    first, end = scan(text)
    assert end.type == "_NL"
    return first


# ---- quantities: what a unit is worth.  The SI prefixes and units are those of the SI brochure (BIPM, 9th edition);
# the inch and the foot are exact by the international agreement of 1959 (25.4 mm, 304.8 mm).

WORTH = {
    "1 mm2": 1.0, "1 mm²": 1.0, "1 m": 1.0, "1 mm": 0.001, "1 cm": 0.01, "1 in": 0.0254, "1 ft": 0.3048, "1 V": 1.0,
    "1 mV": 0.001, "1 A": 1.0, "1 kA": 1000.0, "1 mA": 0.001, "1 W": 1.0, "1 kW": 1000.0, "1 mW": 0.001, "1 Ah": 1.0,
    "1 °C": 1.0, "1 C": 1.0, "212 °F": 100.0, "1 Hz": 1.0, "1 \u03a9": 1.0, "1 \u2126": 1.0, "1 ohm": 1.0,
    "1 m\u03a9": 0.001, "1 m\u2126": 0.001, "1 mohm": 0.001, "1 %": 0.01, "1 ms": 0.001, "1 s": 1.0, "1 min": 60.0,
    "1 h": 3600.0, "1 A2s": 1.0, "1 A²s": 1.0, "1 kA2s": 1000.0, "1 kA²s": 1000.0,
}  # fmt: skip


@pytest.mark.parametrize(("text", "value"), WORTH.items())
def test_each_unit_is_worth_what_it_is(text: str, value: float) -> None:
    token = only(text)
    assert token.type == UNITS[text.split()[1]][0]
    assert token.value.value == pytest.approx(value, rel=1e-15)


def test_every_unit_is_in_the_list_above() -> None:
    assert {t.split()[1] for t in WORTH} == set(UNITS) - {"AWG"}
    assert {UNITS[u][0] for u in UNITS} == set(BASE_UNIT)


def test_the_letter_and_the_sign_are_one_unit_and_shown_alike() -> None:
    assert str(only("1.6 m\u2126").value) == str(only("1.6 m\u03a9").value) == str(only("1.6 mohm").value)


# ASTM B258: the diameter of gauge n is 0.005 in times 92 to the power (36 - n) / 39.
@pytest.mark.parametrize("size", AWG_SIZES)
def test_every_gauge_has_the_area_of_astm_b258(size: str) -> None:
    number = 1 - int(size.removesuffix("/0")) if size.endswith("/0") else int(size)
    diameter_mm = 0.127 * 92 ** ((36 - number) / 39)
    token = only(f"{size} AWG")
    assert token.type == "AREA"
    assert token.value.awg == size
    assert token.value.value == pytest.approx(3.141592653589793 / 4 * diameter_mm**2, rel=2e-3)


@pytest.mark.parametrize("text", ["9.5m", "9.5 m", "9.5\tm", "9.5    m"])
def test_a_blank_before_the_unit_may_be_or_not(text: str) -> None:
    assert only(text).value == Quantity("LENGTH", 9.5, "9.5 m")


def test_tenths_are_exact() -> None:
    # 100 mA and 0.1 A are one figure, to the last bit
    assert only("100 mA").value.value == only("0.1 A").value.value
    assert only("29 mm").value.value == only("0.029 m").value.value
    assert only("86 °F").value.value == 30.0


@pytest.mark.parametrize(
    ("number", "unit", "said"),
    [
        ("5", "AWG", "there is no 5 AWG"),
        ("5/0", "AWG", "there is no 5/0 AWG"),
        ("2/0", "mm2", "only AWG sizes are written with a stroke"),
        ("10000000000", "A", "no figure from a boat"),
        ("1" * 25, "A", "more than 24 characters"),
        ("0", "mm2", "nothing at all"),
        ("0.0", "V", "nothing at all"),
    ],
)
def test_what_can_be_no_quantity_says_why(number: str, unit: str, said: str) -> None:
    with pytest.raises(BadQuantity, match=said.replace("/", "/")):
        quantity(number, unit)
    token = only(f"{number} {unit}")
    assert token.type == "BAD" and said in token.value


def test_no_length_is_a_length() -> None:
    assert only("0 m").value.value == 0.0


@pytest.mark.parametrize("text", ["12 VX", "12 V2", "12 V-", "3 mm3", "35 mm²2", "3 minutes"])
def test_a_unit_ends_where_it_ends(text: str) -> None:
    assert not any(isinstance(t.value, Quantity) for t in scan(text))


@pytest.mark.parametrize("text", ["٣ A", "1e3 A", "1. A", ".5 A", "-5 A", "1_0 A"])
def test_figures_are_plain_digits(text: str) -> None:
    assert not any(isinstance(t.value, Quantity) for t in scan(text)) or text[0] in "-."
    assert "BAD" in types(text)


# ---- words, names, texts, files, dates, counts


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("bolt-down strip", [("BOLT_DOWN_STRIP", "bolt-down strip")]),
        ("bolt-down \t strip", [("BOLT_DOWN_STRIP", "bolt-down strip")]),
        ("lithium iron phosphate", [("LITHIUM_IRON_PHOSPHATE", "lithium iron phosphate")]),
        ("lithium iron", [("LITHIUM", "lithium"), ("NAME", "iron")]),
        ("class T", [("CLASS_T", "class T")]),
        ("class Tx", [("CLASS", "class"), ("NAME", "Tx")]),
        ("class 5", [("CLASS", "class"), ("INT", "5")]),
        ("gG", [("GG", "gG")]),
        ("GG", [("NAME", "GG")]),
        ("engine-space", [("NAME", "engine-space")]),
        ("Ärger_1-b", [("NAME", "Ärger_1-b")]),
        ("_x", [("NAME", "_x")]),
        ("parts/protection.boat", [("PATH", "parts/protection.boat")]),
        ("./a.boat", [("PATH", "./a.boat")]),
        ("../a.boat", [("PATH", "../a.boat")]),
        ("2027-04-01", [("DATE", "2027-04-01")]),
        ('"a # b"', [("STRING", "a # b")]),
        ('""', [("STRING", "")]),
        ("off 1 2 both", [("OFF", "off"), ("INT", "1"), ("INT", "2"), ("BOTH", "both")]),
    ],
)
def test_words(text: str, expected: list[tuple[str, str]]) -> None:
    assert tokens(text) == [*expected, ("_NL", "\n")]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ('"not closed', "not closed"),
        ("5", None),
        ("1234567890", "more than nine digits"),
        ("5sqmm", "there is no unit sqmm; did you mean mm2?"),
        ("1.5", "every figure carries its unit"),
        ("§$%", "means nothing here"),
        ("\u200b", "hidden character U+200B"),
        ("\u00a0", "hidden character U+00A0"),
        ("\r", "hidden character U+000D"),
        ("\x00", "hidden character U+0000"),
        ('"a\u202eb"', "hidden character U+202E"),
        ('"a\ufeffb"', "hidden character U+FEFF"),
        ('"a\u2066b"', "hidden character U+2066"),
        ('"a\tb"', None),
        ('"a\x07b"', "hidden character U+0007"),
        ('"a\ud800b"', "hidden character U+D800"),
        (", x", "a comma with nothing before it"),
    ],
)
def test_what_fits_nowhere_is_bad_and_says_why(text: str, said: str | None) -> None:
    bad = [t for t in scan(text) if t.type == "BAD"]
    if said is None:
        assert bad == []
    else:
        assert said in bad[0].value


# ---- lines


@pytest.mark.parametrize(
    "text",
    [
        "bus A, 5 A\nbus B\n",
        "bus A, 5 A\nbus B",
        "bus A,\n  5 A\nbus B\n",
        "bus A\n  5 A\nbus B\n",
        "bus A\n\t5 A\nbus B\n",
        'bus A # c\n\n   # c, "\n\n  5 A   # c\n\n\nbus B\n  # c\n',
        "\n\n# c\nbus A , 5 A\n# c\nbus B\n\n",
        "bus A,   # c\n  5 A\nbus B\n",
        "  bus A, 5 A\nbus B",
    ],
)
def test_blank_lines_comments_and_indented_lines(text: str) -> None:
    assert types(text) == ["BUS", "NAME", "_SEP", "CURRENT", "_NL", "BUS", "NAME", "_NL"]


def test_a_comma_at_the_end_does_not_swallow_an_unindented_line() -> None:
    assert types("bus A,\nbus B\n") == ["BUS", "NAME", "_SEP", "_NL", "BUS", "NAME", "_NL"]


@pytest.mark.parametrize("text", ["", "\n", "   \n\t\n", "# only a comment", "   "])
def test_nothing_is_nothing(text: str) -> None:
    assert types(text) == []


@pytest.mark.parametrize("text", ["bus A, 100 A # c\n  2 parallel", 'boat "ä 🛥", 9.5 m\ncable W, 2/0 AWG, 1 m in P\n'])
def test_spans_are_the_text_of_the_tokens(text: str) -> None:
    for token in scan(text):
        if token.type == "_SEP":
            assert text[token.start : token.end].strip()[:1] in {",", "#", ""}
        elif token.type == "STRING":
            assert text[token.start : token.end] == f'"{token.value}"'
        elif token.type != "_NL":
            assert text[token.start : token.end] == str(token.value)


def test_work_is_linear_in_the_length() -> None:
    # Tokens are the work: each is made once, and none is made of what another already covers.
    for text in ("cable W, 35 mm2, 3 m\n", "(" * 50, '"', "# " * 50, "  \n" * 20, " " * 200, "1" * 30 + " ", ",\n  "):
        end = 0
        for token in scan(text * 400):
            assert token.start >= end or token.type in {"_NL", "BAD"}
            end = max(end, token.start)
        assert len(types(text * 400)) <= 400 * max(1, len(types(text))) + 1
