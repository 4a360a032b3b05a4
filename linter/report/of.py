"""What `study --of` gives, in each of its forms."""

from __future__ import annotations

import json

from linter.study.study import Study

OF = ("conductors", "devices", "loads", "scenes", "energy")


def study_text(study: Study, of: str, form: str) -> str:
    """``of``: one of OF; ``form``: table, csv or json."""
    if of == "conductors":
        return _conductors(study, form)
    if form == "json":
        return _json(study, of)
    from linter.report.rows import as_csv, as_table

    if of == "energy":
        from linter.report.energy import energy_rows, totals_text
        from linter.study.energy import energy_of

        rows = energy_rows(study)
        if form == "csv":
            return as_csv(rows)
        made = energy_of(study)
        return as_table(rows) + "".join(f"{line}\n" for line in ["", *totals_text(made), *made.remarks])
    if of == "devices":
        from linter.report.devices import device_rows

        rows = device_rows(study)
        return as_csv(rows) if form == "csv" else as_table(rows)
    from linter.report.loads import load_rows, scene_rows

    rows = load_rows(study) if of == "loads" else scene_rows(study)
    if form == "csv":
        return as_csv(rows)
    remarks = study.scenes().remarks
    return as_table(rows) + "".join(f"{line}\n" for line in (["", *remarks] if remarks else []))


def _conductors(study: Study, form: str) -> str:
    from linter.report.data import study_csv, study_json

    if form == "json":
        return json.dumps(study_json(study), indent=1, ensure_ascii=False) + "\n"
    if form == "csv":
        return study_csv(study)
    from linter.report.table import study_table

    return study_table(study)


def _json(study: Study, of: str) -> str:
    from linter.report.devices import devices_json
    from linter.report.energy import energy_json
    from linter.report.loads import loads_json, scenes_json

    made = {"devices": devices_json, "loads": loads_json, "scenes": scenes_json, "energy": energy_json}[of](study)
    return json.dumps(made, indent=1, ensure_ascii=False) + "\n"
