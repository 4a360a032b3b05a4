"""What `study --of` gives, in each of its forms."""

from __future__ import annotations

import json
from collections.abc import Iterable
from typing import TYPE_CHECKING

from linter.study.study import Study

if TYPE_CHECKING:
    from linter.report.rows import Rows
    from linter.rules.finding import Finding

OF = ("conductors", "devices", "loads", "scenes", "energy")


def study_text(study: Study, of: str, form: str, findings: Iterable[Finding] = (), *, wide: bool = False) -> str:
    """``of``: one of OF; ``form``: table, csv or json.  ``findings``: of the same design, for conductors.
    ``wide``: a table with every column, however wide, instead of those that the terminal has room for."""
    if form == "json":
        return _json(study, of, findings)
    from linter.report.rows import as_csv, as_table, terminal_width

    rows = _rows(study, of, findings)
    if form == "csv":
        return as_csv(rows)
    below: list[str] = []
    if of == "energy":
        from linter.report.energy import totals_text
        from linter.study.energy import energy_of

        made = energy_of(study)
        below = [*totals_text(made), *made.remarks]
    elif of in ("loads", "scenes"):
        below = study.scenes().remarks
    table = as_table(rows, None if wide else terminal_width())
    return table + "".join(f"{line}\n" for line in (["", *below] if below else []))


def _rows(study: Study, of: str, findings: Iterable[Finding]) -> Rows:
    if of == "conductors":
        from linter.report.table import conductor_rows

        return conductor_rows(study, findings)
    if of == "devices":
        from linter.report.devices import device_rows

        return device_rows(study)
    if of == "energy":
        from linter.report.energy import energy_rows

        return energy_rows(study)
    from linter.report.loads import load_rows, scene_rows

    return load_rows(study) if of == "loads" else scene_rows(study)


def _json(study: Study, of: str, findings: Iterable[Finding]) -> str:
    from linter.report.devices import devices_json
    from linter.report.energy import energy_json
    from linter.report.loads import loads_json, scenes_json

    if of == "conductors":
        from linter.report.data import study_json

        return json.dumps(study_json(study, findings), indent=1, ensure_ascii=False) + "\n"
    made = {"devices": devices_json, "loads": loads_json, "scenes": scenes_json, "energy": energy_json}[of](study)
    return json.dumps(made, indent=1, ensure_ascii=False) + "\n"
