"""A user's own rulebook: what it replaces, and what is said of one that cannot be used."""

from pathlib import Path

import pytest

from linter.tables.reading import GREATEST_BYTES, RulebookError, locate
from linter.tables.rulebook import Rulebook, load, load_file

from .examples import CITE, OVER, ROW_16, WHOLE


def read(text: str) -> Rulebook:
    return load_file(Path("yard.toml"), text)


def refused(text: str) -> RulebookError:
    with pytest.raises(RulebookError) as caught:
        read(text)
    return caught.value


# What a file may say -------------------------------------------------------------------------------------


def test_a_rulebook_of_its_own() -> None:
    own = read(WHOLE)
    assert (own.name, own.title) == ("yard", "Skerry yard rules")
    assert own.capacity.sizes == ("2.5", "6")  # by area, whatever the order written
    cell = own.capacity.cell(4, 90)
    assert cell is not None
    assert (cell.amps, cell.cite.status) == (20, "common practice")
    assert (own.engine_space, own.bundling, own.clauses, own.self_limiting) == ((), (), (), None)
    row = own.distance("battery", True)
    assert row is not None
    assert row.limit_mm == 150


def test_it_is_read_from_disc(tmp_path: Path) -> None:
    path = tmp_path / "skerry.toml"
    path.write_bytes(b"\xef\xbb\xbf" + WHOLE.replace("\n", "\r\n").encode())
    assert load_file(path) == load_file(path, WHOLE)
    assert load_file(path).name == "skerry"


def test_over_replaces_rows_of_capacity_and_keeps_the_rest() -> None:
    own = read(f'over = "iso-13297"\n[capacity]\n{CITE}[capacity.amps]\n"16" = [50, 80, 95, 120, 140, 160]\n')
    base = load("iso-13297")
    changed = own.capacity.cell(16, 105)
    kept = own.capacity.cell(25, 105)
    assert changed is not None
    assert kept is not None
    assert (changed.amps, changed.cite.clause, changed.cite.status) == (
        120,
        "Yard sheet 4",
        "common practice",
    )
    assert kept == base.capacity.cell(25, 105)  # with its own clause and status
    assert own.capacity.sizes == base.capacity.sizes
    assert own.distances == base.distances
    assert "ISO 13297" in own.title
    assert "yard" in own.title


def test_over_may_add_a_size() -> None:
    own = read(f'over = "iso-13297"\n[capacity]\n{CITE}[capacity.amps]\n"185" = [250, 420, 480, 520, 570, 620]')
    assert own.capacity.sizes[-2:] == ("150", "185")
    assert own.capacity.areas_mm2[-1] == 185


def test_over_replaces_one_engine_space_factor() -> None:
    own = read(f'over = "cfr-183"\n[[engine_space]]\ninsulation_c = 105\nfactor = 0.8\n{CITE}')
    changed, kept = own.engine_space_factor(105), own.engine_space_factor(90)
    assert changed is not None
    assert (changed.factor, changed.cite.status) == (0.8, "common practice")
    assert kept == load("cfr-183").engine_space_factor(90)
    assert len(own.engine_space) == 7


@pytest.mark.parametrize(
    ("section", "kept"),
    [
        (
            f'[[distance]]\ntied = "any"\ncovered = true\nlimit_mm = "none"\nwords = "w"\n{CITE}',
            "device_limits",
        ),
        (f"[[device_limit]]\nfrom_v = 0\nmultiple = 1.25\n{CITE}", "distances"),
    ],
)
def test_over_replaces_any_other_section_whole(section: str, kept: str) -> None:
    own, base = read(f'over = "cfr-183"\n{section}'), load("cfr-183")
    assert getattr(own, kept) == getattr(base, kept)
    replaced = "distances" if kept == "device_limits" else "device_limits"
    assert len(getattr(own, replaced)) == 1
    assert len(getattr(base, replaced)) > 1


def test_over_replaces_a_clause_and_keeps_the_others() -> None:
    own = read(f'over = "abyc-e11"\n[clauses.parallel-banks]\nwords = "w"\nfigures = {{ over_ah = 300 }}\n{CITE}')
    changed = own.clause("parallel-banks")
    assert changed is not None
    assert changed.figure("over_ah") == 300
    assert own.clause("residual-current") == load("abyc-e11").clause("residual-current")
    assert len(own.clauses) == len(load("abyc-e11").clauses)


def test_new_columns_make_a_new_table() -> None:
    own = read(f'over = "iso-13297"\n[capacity]\ninsulation_c = [105]\n{CITE}[capacity.amps]\n"16" = [120]\n')
    assert (own.capacity.sizes, own.capacity.amps) == (("16",), ((120,),))


def test_from_takes_a_shipped_table_and_the_weaker_status() -> None:
    text = WHOLE.split("[capacity]")[0] + f'[capacity]\nfrom = "iso-13297"\n{CITE}[[device_limit]]' + (
        WHOLE.split("[[device_limit]]")[1]
    )  # fmt: skip
    own = read(text)
    assert own.capacity.amps == load("iso-13297").capacity.amps
    assert {(cite.clause, cite.status) for cite in own.capacity.row_cites} == {("Yard sheet 4", "from memory")}


def test_a_row_may_have_a_status_of_its_own() -> None:
    own = read(WHOLE.replace('"6" = [40, 50]', '"6" = { amps = [40, 50], status = "read", source = "s" }'))
    assert [cite.status for cite in own.capacity.row_cites] == ["common practice", "read"]
    assert [cite.clause for cite in own.capacity.row_cites] == ["Yard sheet 4", "Yard sheet 4"]


def test_an_empty_change_changes_nothing_but_name_and_title() -> None:
    own, base = read('over = "cfr-183"\n'), load("cfr-183")
    for field in ("capacity", "engine_space", "bundling", "device_limits", "distances", "clauses", "edition"):
        assert getattr(own, field) == getattr(base, field)


@pytest.mark.parametrize("name", ["abyc-e11", "cfr-183", "iso-13297"])
def test_the_shipped_files_are_examples_of_the_format(name: str) -> None:
    import linter.tables as tables

    path = Path(tables.__file__).with_name("rulebooks") / f"{name}.toml"
    assert load_file(path) == load(name)


# What is refused -----------------------------------------------------------------------------------------

MISSPELT = "[[distance]]\ntied = 'any'\ncovered = false\nlimmit_mm = 1\nwords = 'w'\n"


def limit(text: str) -> str:
    return f"{OVER}[[device_limit]]\nfrom_v = 0\nmultiple = 1\n{text}\n{CITE}"


def amps(text: str) -> str:
    return f"{OVER}[capacity]\n{CITE}[capacity.amps]\n{text}\n"


def bundles(*rows: str) -> str:
    return OVER + "".join(f"[[bundling]]\n{row}\nfactor = 0.5\nfrom_v = 50\n{CITE}" for row in rows)


# (text, words of the message, line, key)
REFUSED = {
    "not TOML": ("title = \n", "not TOML", 1, ""),
    "not TOML, end": ('title = "a', "not TOML", 1, ""),
    "twice": ('title = "a"\ntitle = "b"\n', "not TOML", 2, ""),
    "unknown section": (f"{OVER}[capasity]\n", "did you mean 'capacity'", 2, "capasity"),
    "unknown section, nothing near": (f"{OVER}zzz = 1\n", "expected over, title", 2, "zzz"),
    "unknown key": (f"{OVER}{MISSPELT}{CITE}", "did you mean 'limit_mm'", 5, "distance.0.limmit_mm"),
    "unknown over": ('over = "iso-13298"\n', "did you mean 'iso-13297'", 1, "over"),
    "unknown over, short": ('over = "cfr"\n', "did you mean 'cfr-183'", 1, "over"),
    "over a number": ("over = 7\n", "must be one of 'abyc-e11'", 1, "over"),
    "over itself a path": ('over = "../cfr-183"\n', "must be one of", 1, "over"),
    "unknown from": (f'{OVER}[capacity]\nfrom = "nec"\n{CITE}', "'from' must be one of", 3, "capacity.from"),
    "from and more": (
        f'{OVER}[bundling]\nfrom = "cfr-183"\nleast = 2\n{CITE}', "unknown key 'least'", 4, "bundling.least",
    ),
    "nothing": ("", "'title' is missing", None, "title"),
    "no capacity": ('title = "a"\n', "'capacity' is missing", None, "capacity"),
    "no device limit": (WHOLE.replace("[[device_limit]]", "[[drop]]"), "[[device_limit]] is missing", None,
                        "device_limit"),
    "no distances": (WHOLE.split("[[distance]]")[0], "[[distance]] is missing", None, "distance"),
    "empty title": (WHOLE.replace("Skerry yard rules", "  "), "'title' must be words", 2, "title"),
    "title a number": (WHOLE.replace('"Skerry yard rules"', "7"), "'title' must be words", 2, "title"),
    "capacity a number": (f"{OVER}capacity = 3\n", "'capacity' must be a table", 2, "capacity"),
    "distance a table": (f"{OVER}[distance]\n", "must be rows headed [[distance]]", 2, "distance"),
    "distance a list of numbers": (f"{OVER}distance = [1]\n", "'distance.0' must be a table", 2, "distance.0"),
    "missing status": (limit("").replace('status = "common practice"\n', ""), "'status' is missing", 2,
                       "device_limit.0.status"),
    "missing clause": (limit("").replace('clause = "Yard sheet 4"\n', ""), "'clause' is missing", 2,
                       "device_limit.0.clause"),
    "unknown status": (limit("").replace("common practice", "form memory"), "did you mean 'from memory'", 7,
                       "device_limit.0.status"),
    "row with a clause and no status": (
        amps(f'"16" = {{ amps = {ROW_16}, clause = "c" }}'), "'status' is missing", 6, "capacity.amps.16.status"),
    "row too short": (amps('"16" = [1, 2]'), "has 2 figures for 6 insulation columns", 6, "capacity.amps.16"),
    "row too long": (WHOLE.replace("[40, 50]", "[40, 50, 60]"), "has 3 figures for 2", 12, "capacity.amps.6"),
    "row of words": (amps('"16" = ["a"]'), "number 1 of '16' must be a number, not 'a'", 6, "capacity.amps.16.1"),
    "row of truths": (amps('"16" = [true]'), "must be a number, not true", 6, "capacity.amps.16.1"),
    "row of lists": (amps('"16" = [[1]]'), "must be a number, not a list", 6, "capacity.amps.16.1"),
    "row empty": (amps('"16" = []'), "must be a list of numbers", 6, "capacity.amps.16"),
    "row a number": (amps('"16" = 5'), "must be a list of numbers", 6, "capacity.amps.16"),
    "negative amperes": (amps(f'"16" = {ROW_16.replace("12", "-12")}'), "above zero, not -12", 6,
                         "capacity.amps.16.3"),
    "no amperes": (amps(f'"16" = {ROW_16.replace("12", "0")}'), "above zero, not 0", 6, "capacity.amps.16.3"),
    "nan": (amps(f'"16" = {ROW_16.replace("12", "nan")}'), "finite number", 6, "capacity.amps.16.3"),
    "inf": (amps(f'"16" = {ROW_16.replace("12", "inf")}'), "finite number", 6, "capacity.amps.16.3"),
    "minus inf": (limit("below_v = -inf"), "finite number", 5, "device_limit.0.below_v"),
    "float overflow": (limit("below_v = 1e999"), "finite number", 5, "device_limit.0.below_v"),
    "whole number overflow": (limit(f"below_v = 1{'0' * 400}"), "a number too large", 5, "device_limit.0.below_v"),
    "hexadecimal overflow": (limit(f"below_v = 0x{'f' * 9000}"), "a number too large", 5,
                             "device_limit.0.below_v"),
    "digits without end": (limit(f"below_v = {'9' * 6000}"), "cannot be read", None, ""),
    "amperes that fall with insulation": (
        amps('"16" = [50, 80, 95, 20, 140, 160]'), "must not fall as the insulation's", 6, "capacity.amps.16"),
    "amperes that fall with size": (
        amps('"16" = [1, 2, 3, 4, 5, 6]'), "size '16' is given less than the smaller '10'", 6, "capacity.amps.16"),
    "amperes beyond the next size": (
        amps('"16" = [54, 90, 100, 130, 150, 1700]'), "'25' is given less than the smaller '16'", 6,
        "capacity.amps.16"),
    "size of another system": (amps(f'"2/0" = {ROW_16}'), "is no size in mm2", 6, "capacity.amps.2/0"),
    "size not AWG": (
        f'over = "cfr-183"\n[capacity]\n{CITE}[capacity.amps]\n"5/0" = [1]\n', "is no AWG size", 6,
        "capacity.amps.5/0"),
    "size twice": (amps('"16.0" = [54, 90, 100, 130, 150, 170]'), "'16' and '16.0' are the same", 6,
                   "capacity.amps.16.0"),
    "no sizes": (WHOLE.replace('"6" = [40, 50]\n"2.5" = [20, 30]\n', ""), "'amps' holds no sizes", 11,
                 "capacity.amps"),
    "columns that fall": (WHOLE.replace("[70, 105]", "[105, 70]"), "must rise: 70 follows 105", 7,
                          "capacity.insulation_c"),
    "unknown system": (WHOLE.replace('"mm2"', '"mm"'), "did you mean 'mm2'", 5, "capacity.size_system"),
    "factor above one": (f"{OVER}[[engine_space]]\ninsulation_c = 70\nfactor = 1.2\n{CITE}", "at most 1", 4,
                         "engine_space.0.factor"),
    "factor of no column": (f"{OVER}[[engine_space]]\ninsulation_c = 90\nfactor = 0.8\n{CITE}",
                            "the columns are 60, 70, 85", 3, "engine_space.0.insulation_c"),
    "factor twice": (OVER + f"[[engine_space]]\ninsulation_c = 70\nfactor = 0.7\n{CITE}" * 2, "given twice", 8,
                     "engine_space.1.insulation_c"),
    "bundle upside down": (bundles("least = 6\ngreatest = 4"), "less than 'least', 6", 4, "bundling.0.greatest"),
    "bundle without an end": (bundles("least = 6"), "'greatest' is missing in 'bundling.0'", 2,
                              "bundling.0.greatest"),
    "bundles that meet": (bundles("least = 3\ngreatest = 6", "least = 6\ngreatest = 9"), "hold for 6 conductors", 9,
                          "bundling.1"),
    "half a conductor": (bundles("least = 2.5\ngreatest = 6"), "whole number, not 2.5", 3, "bundling.0.least"),
    "voltages upside down": (f"{OVER}[[device_limit]]\nfrom_v = 50\nbelow_v = 50\nmultiple = 1\n{CITE}",
                             "not above 'from_v', 50", 4, "device_limit.0.below_v"),
    "standard below the multiple": (limit("next_standard_up_to = 0.9"), "less than 'multiple', 1", 5,
                                    "device_limit.0.next_standard_up_to"),
    "covered in words": (f"{OVER}[[distance]]\ntied = 'any'\ncovered = 'yes'\nlimit_mm = 1\nwords = 'w'\n{CITE}",
                         "must be true or false, not 'yes'", 4, "distance.0.covered"),
    "distance without a limit": (f"{OVER}[[distance]]\ntied = 'any'\ncovered = true\nwords = 'w'\n{CITE}",
                                 "'limit_mm' is missing", 2, "distance.0.limit_mm"),
    "distance in words": (f"{OVER}[[distance]]\ntied = 'any'\ncovered = true\nlimit_mm = 'all'\nwords = 'w'\n{CITE}",
                          "must be a number, not 'all'", 5, "distance.0.limit_mm"),
    "tied to nothing": (f"{OVER}[[distance]]\ntied = 'batery'\ncovered = true\nlimit_mm = 1\nwords = 'w'\n{CITE}",
                        "did you mean 'battery'", 3, "distance.0.tied"),
    "least size without a system": (f"{OVER}[[least_size]]\nrun = 'single'\nsize = '16'\n{CITE}",
                                    "write it as '35 mm2'", 4, "least_size.0.size"),
    "drop of no circuits": (f"{OVER}[[drop]]\nname = 'vital'\npercent = 3\n{CITE}", "or says 'others = true'", 2,
                            "drop.0.circuits"),
    "drop of a number": (f"{OVER}[[drop]]\nname = 'vital'\npercent = 3\ncircuits = [3]\n{CITE}",
                         "must hold words in quotation marks, not 3", 5, "drop.0.circuits"),
    "drop of everything": (f"{OVER}[[drop]]\nname = 'vital'\npercent = 100\nothers = true\n{CITE}", "below 100", 4,
                           "drop.0.percent"),
    "circuits in words": (f"{OVER}[[drop]]\nname = 'vital'\npercent = 3\ncircuits = 'all'\n{CITE}",
                          "must be a list of words", 5, "drop.0.circuits"),
    "cranking amperes upside down": (
        f"{OVER}[[breaking]]\nvolts = [12]\nover_cca = 9\nup_to_cca = 9\nmain_a = 1\nbranch_a = 1\n{CITE}",
        "not above 'over_cca', 9", 5, "breaking.0.up_to_cca"),
    "unknown clause": (f"{OVER}[clauses.cranking-exmpt]\nwords = 'w'\n{CITE}", "did you mean 'cranking-exempt'", 2,
                       "clauses.cranking-exmpt"),
    "unknown figure": (f"{OVER}[clauses.shore-inlet]\nwords = 'w'\nfigures = {{ limit_m = 3 }}\n{CITE}",
                       "did you mean 'limit_mm'", 4, "clauses.shore-inlet.figures.limit_m"),
    "colours of nowhere": (f'{OVER}colours = "iso-"\n', "did you mean 'iso'", 2, "colours"),
    "a date": (limit("below_v = 2026-01-01"), "must be a number", 5, "device_limit.0.below_v"),
    "nested without end": (f"a = {'[' * 20_000}", "nested too deeply", None, ""),
    "too many characters": ("#" * (GREATEST_BYTES + 1), "longer than 100000 characters", None, ""),
    "keys without end": (f"{'a.' * 40_000}a = 1", "full stops", None, ""),
}  # fmt: skip


@pytest.mark.parametrize("case", REFUSED)
def test_refused(case: str) -> None:
    text, said, line, key = REFUSED[case]
    error = refused(text)
    assert said in error.message
    assert (error.line, error.key) == (line, key)
    place = "yard.toml" if line is None else f"yard.toml:{line}:"
    assert str(error).startswith(place)
    assert len(str(error)) < 400
    assert str(error).isprintable()


def test_the_column_is_that_of_the_key() -> None:
    error = refused(f"{OVER}[[distance]]\nlimit_mm = 1\n  tied = 'no'\n")
    assert (error.line, error.column) == (4, 3)


def test_control_characters_are_not_passed_on() -> None:
    error = refused(f'{OVER}"\\u001b[31mred" = 1\n')
    assert "\x1b" not in error.message
    assert "unknown key" in error.message


@pytest.mark.parametrize("name", ["absent.toml", "folder", "a\0b"])
def test_a_file_that_is_not_there(tmp_path: Path, name: str) -> None:
    (tmp_path / "folder").mkdir()
    with pytest.raises(RulebookError, match=r"no such file|cannot be used"):
        load_file(tmp_path / name)


def test_a_file_that_is_not_text(tmp_path: Path) -> None:
    path = tmp_path / "yard.toml"
    path.write_bytes(b'title = "a"\n\xff\xfe')
    with pytest.raises(RulebookError, match="not UTF-8") as caught:
        load_file(path)
    assert caught.value.line == 2


def test_a_huge_file_is_not_read_whole(tmp_path: Path) -> None:
    path = tmp_path / "yard.toml"
    with path.open("wb") as stream:
        stream.truncate(1 << 40)  # a hole: a terabyte that takes no room
    with pytest.raises(RulebookError, match="larger than 100000 bytes"):
        load_file(path)


def test_locate_finds_the_deepest_key_written() -> None:
    text = '[a]\nb = 1\n[[c]]\nd = 1\n[[c]]\n  "d e".f = 2\n' + "x" + " " * 90_000
    assert locate(text, ("a", "b")) == (2, 1)
    assert locate(text, ("c", 0, "d")) == (4, 1)
    assert locate(text, ("c", 1, "d e", "f", "g")) == (6, 3)
    assert locate(text, ("c", 1, "absent")) == (5, 1)
    assert locate(text, ("z",)) is None
