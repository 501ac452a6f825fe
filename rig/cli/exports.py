"""What `gapsweep export` does: chooses runs, names the files, writes them."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from rig.cli.open_rig import open_store
from rig.cli.output import say
from rig.errors import InputError
from rig.inquiry.record_export import export_records
from rig.records import RunFilter
from rig.records.export import ExportFormat
from rig.records.run_names import runs_named
from rig.report.files import file_name, free_path


def write_export(options: Mapping[str, Any]) -> None:
    """Write the files that the command line asks for.

    Raises:
        RigError: Nothing is on record of the choice, or a file cannot be written.
    """
    file_format = ExportFormat(options["file_format"])
    since, _ = _day("since", options["since"])
    until, whole_day = _day("until", options["until"])
    if until is not None and whole_day:
        until += timedelta(days=1)
    with open_store(options["records"], read_only=True) as store:
        wanted = RunFilter(
            run_ids=tuple(runs_named(store, options["run_ids"])) or None,
            sensor=options["sensor"],
            target=options["target"],
            part=options["part"],
            plan_id=options["plan_id"],
            since=since,
            until=until,
        )
        paths = export_records(
            store,
            wanted,
            options["out"] or _usual_path(options, file_format),
            file_format,
            lots=options["lots"],
            product=options["product"],
            decimal=options["decimal"],
        )
    for path in paths:
        say(f"wrote {path}")


def _usual_path(options: Mapping[str, Any], file_format: ExportFormat) -> Path:
    """Return where an export goes that nobody gave a name: it says what is in it."""
    runs = options["run_ids"]
    words = (
        f"{len(runs)}-run{'s' if len(runs) > 1 else ''}" if runs else "",
        options["sensor"] or "",
        options["part"] or "",
        options["target"] or "",
        options["product"],
        options["plan_id"] or "",
        *options["lots"],
    )
    name = file_name("gapsweep-export", *filter(None, words), at=datetime.now(UTC))
    return free_path(Path(), name, ".xlsx" if file_format.is_workbook else "")


def _day(option: str, text: str | None) -> tuple[datetime | None, bool]:
    """Return a day or a time in UTC, and whether it is a whole day.

    Raises:
        InputError: It is neither.
    """
    if text is None:
        return None, False
    try:
        found = datetime.fromisoformat(text)
    except ValueError:
        raise InputError(
            f"--{option} is {text!r}, not a day or a time",
            hint="give it as 2026-11-20 or 2026-11-20T14:00",
        ) from None
    aware = found.replace(tzinfo=UTC) if found.tzinfo is None else found
    return aware.astimezone(UTC), "T" not in text.upper() and " " not in text
