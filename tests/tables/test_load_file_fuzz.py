"""Whatever the text of a user's rulebook: a rulebook, or a `RulebookError`, and nothing else."""

from pathlib import Path

from hypothesis import example, given, settings
from hypothesis import strategies as st

from linter.tables.reading import RulebookError
from linter.tables.rulebook import load_file
from linter.tables.rulebook_file import CLAUSES, SECTIONS

from .examples import OVER, ROW_16, WHOLE

_KEYS = st.sampled_from(
    [*SECTIONS, *CLAUSES, "amps", "clause", "status", "source", "factor", "least", "greatest", "from_v",
     "insulation_c", "size_system", "basis_ambient_c", "multiple", "tied", "covered", "limit_mm", "words",
     "from", "run", "size", "name", "percent", "circuits", "others", "figures", '"16"', "volts", "main_a"]
)  # fmt: skip
_SCALARS = st.one_of(
    st.integers(-(10**30), 10**30).map(str),
    st.floats().map(lambda x: repr(x).replace("e+", "e")),
    st.sampled_from(["true", "false", '""', "nan", "-inf", "1e999", '"none"', '"read"', '"any"', '"mm2"',
                     '"cfr-183"', '"iso-13297"', "2026-01-01", "07:30:00", "[]", "{}", ROW_16, "'16 AWG'"]),
    st.text(max_size=8).map(lambda text: "'" + text.replace("'", "") + "'"),
)  # fmt: skip
_VALUES = st.recursive(
    _SCALARS,
    lambda inner: st.one_of(
        st.lists(inner, max_size=4).map(lambda items: f"[{', '.join(items)}]"),
        st.dictionaries(_KEYS, inner, max_size=3).map(
            lambda items: "{" + ", ".join(f"{key} = {value}" for key, value in items.items()) + "}"
        ),
    ),
    max_leaves=6,
)
_LINES = st.one_of(
    st.tuples(_KEYS, _VALUES).map(lambda pair: f"{pair[0]} = {pair[1]}"),
    _KEYS.map(lambda key: f"[{key}]"),
    _KEYS.map(lambda key: f"[[{key}]]"),
    st.tuples(_KEYS, _KEYS).map(lambda pair: f"[{pair[0]}.{pair[1]}]"),
    st.text(max_size=12),
)


def only_rulebook_errors(text: str) -> None:
    try:
        made = load_file(Path("yard.toml"), text)
    except RulebookError as caught:
        error = caught
    else:
        assert made.device_limits
        assert made.distances
        return
    assert error.message
    assert error.line is None or 1 <= error.line <= text.count("\n") + 1


@given(st.lists(_LINES, max_size=10).map("\n".join), st.sampled_from(["", OVER]))
@example("\ud800 = 1", "")
@example('title = "\ud800"', "")
@settings(max_examples=300, deadline=None)
def test_any_lines(text: str, head: str) -> None:
    only_rulebook_errors(head + text)


@given(st.data())
@settings(max_examples=200, deadline=None)
def test_a_good_file_with_one_value_spoilt(data: st.DataObject) -> None:
    lines = WHOLE.split("\n")
    places = [place for place, line in enumerate(lines) if " = " in line]
    place = data.draw(st.sampled_from(places))
    lines[place] = f"{lines[place].split(' = ')[0]} = {data.draw(_VALUES)}"
    only_rulebook_errors("\n".join(lines))


@given(st.integers(0, len(WHOLE)), st.integers(0, 40), st.text(max_size=5))
@settings(max_examples=200, deadline=None)
def test_a_good_file_with_a_piece_cut_out(start: int, length: int, put: str) -> None:
    only_rulebook_errors(WHOLE[:start] + put + WHOLE[start + length :])
