"""Every rulebook shipped: whole, cited, and readable from an archive as from a folder."""

import dataclasses
import subprocess
import sys
import zipfile
from collections.abc import Iterator
from pathlib import Path

import pytest

from linter import tables
from linter.tables import conductors, devices, systems
from linter.tables.cite import STATUSES, Cite, weaker
from linter.tables.reading import RulebookError
from linter.tables.rulebook import Rulebook, load, names

PACKAGE = Path(tables.__file__).parent


def cites(value: object) -> Iterator[Cite]:
    if isinstance(value, Cite):
        yield value
    elif isinstance(value, tuple):
        for item in value:
            yield from cites(item)
    elif dataclasses.is_dataclass(value):
        for field in dataclasses.fields(value):
            yield from cites(getattr(value, field.name))


def test_names() -> None:
    assert names() == ("abyc-e11", "cfr-183", "iso-13297")
    assert {path.stem for path in (PACKAGE / "rulebooks").iterdir()} == set(names())


@pytest.mark.parametrize("name", names())
def test_every_figure_is_cited(name: str) -> None:
    rulebook = load(name)
    found = list(cites(rulebook))
    rows = sum(len(getattr(rulebook, field.name)) for field in dataclasses.fields(Rulebook)
               if isinstance(getattr(rulebook, field.name), tuple))  # fmt: skip
    assert len(found) >= rows + len(rulebook.capacity.sizes)
    assert all(cite.clause.strip() and cite.status in STATUSES for cite in found)


def test_every_other_figure_is_cited() -> None:
    held: tuple[object, ...] = (
        *devices.classes().values(), devices.standard_ratings(), devices.overload_condition(),
        *systems.nominal_systems(), *systems.colour_rows(), conductors.copper(), conductors.short_circuit(),
        *conductors.insulation_limits(),
    )  # fmt: skip
    for item in held:
        found = list(cites(item))
        assert found, item
        assert all(cite.clause.strip() and cite.status in STATUSES for cite in found)


@pytest.mark.parametrize("name", names())
def test_a_rulebook_is_loaded_once_and_cannot_be_changed(name: str) -> None:
    rulebook = load(name)
    assert load(name) is rulebook
    assert hash(rulebook) == hash(load(name))
    with pytest.raises(dataclasses.FrozenInstanceError):
        rulebook.title = "another"  # type: ignore[misc]


def test_shared_tables_cannot_be_changed() -> None:
    with pytest.raises(TypeError):
        devices.classes()["blade"] = devices.classes()["gg"]  # type: ignore[index]
    with pytest.raises(TypeError):
        conductors.awg_areas_mm2()["16"] = 1.0  # type: ignore[index]


@pytest.mark.parametrize(
    ("name", "said"),
    [("iso", "did you mean 'iso-13297'"), ("abyc-e12", "did you mean 'abyc-e11'"), ("", "there are abyc-e11"),
     ("../../pyproject", "no rulebook is called")],
)  # fmt: skip
def test_an_unknown_rulebook(name: str, said: str) -> None:
    with pytest.raises(RulebookError, match=said):
        load(name)


def test_the_weaker_status() -> None:
    assert weaker("read", "second-hand") == weaker("second-hand", "read") == "second-hand"
    assert weaker("from memory", "common practice") == "from memory"
    assert weaker("read", "read") == "read"
    assert str(Cite("33 CFR 183.455", "read", "note")) == "33 CFR 183.455 (read)"


def test_tables_are_read_from_an_archive_and_need_nothing_heavy(tmp_path: Path) -> None:
    """As from an installed wheel: no table is opened by a path beside the code."""
    archive = tmp_path / "packed.zip"
    with zipfile.ZipFile(archive, "w") as packed:
        packed.writestr("linter/__init__.py", "")
        for path in PACKAGE.rglob("*"):
            if path.suffix in (".py", ".toml"):
                packed.write(path, Path("linter", "tables", path.relative_to(PACKAGE)))
    program = (
        "import sys; from linter.tables import conductors, devices, rulebook, systems\n"
        "print(*rulebook.names(), len(devices.classes()), len(systems.colour_rows()))\n"
        "print(rulebook.load('abyc-e11').capacity.cell(conductors.area_mm2('6 AWG'), 105).amps)\n"
        "print([name for name in ('networkx', 'numpy', 'lark', 'click') if name in sys.modules])\n"
        "print('packed.zip' in rulebook.__file__)\n"
    )
    run = subprocess.run(
        [sys.executable, "-I", "-c", f"import sys; sys.path.insert(0, {str(archive)!r})\n{program}"],
        capture_output=True, text=True, check=False, cwd=tmp_path,
    )  # fmt: skip
    assert run.stderr == ""
    assert run.stdout.splitlines() == ["abyc-e11 cfr-183 iso-13297 11 13", "120.0", "[]", "True"]
