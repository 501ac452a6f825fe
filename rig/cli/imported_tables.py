"""What `gapsweep import` does: tables to catalogue and plan files, or on record."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, TypeVar

from rig.catalogue.catalogue import (
    SensorEntry,
    TargetEntry,
    load_catalogue,
)
from rig.catalogue.plan_file import parse_plan
from rig.catalogue.row_input import (
    Column,
    Fault,
    check_rows,
    named_twice,
    refuse_faults,
)
from rig.catalogue.table_import import (
    HAND_COLUMNS,
    HAND_NEEDS,
    PLAN_COLUMNS,
    PLAN_NEEDS,
    SENSOR_COLUMNS,
    SENSORS_NEED,
    TARGET_COLUMNS,
    TARGETS_NEED,
    HandRow,
    PlanRow,
    catalogue_toml,
    plan_table_toml,
)
from rig.catalogue.table_input import read_table
from rig.catalogue.toml_input import Strict
from rig.cli.asked_about import asked_about
from rig.cli.open_rig import open_store
from rig.cli.output import say, say_document
from rig.cli.text.hand_text import entry_text
from rig.errors import InputError
from rig.inquiry.hand import enter_readings
from rig.records.hand_readings import HandReading
from rig.report.files import write_new

_Entry = TypeVar("_Entry", bound=Strict)


def import_catalogue(sensors: Path | None, targets: Path | None, out: Path) -> None:
    """Write a catalogue file from a table of sensors, of targets, or both.

    Raises:
        InputError: A cell is not right, or the file exists already.
    """
    files = [path for path in (sensors, targets) if path is not None]
    if not files:
        raise InputError("nothing to import: give --sensors, --targets or both")
    of_sensors = (
        _named(sensors, SENSOR_COLUMNS, SENSORS_NEED, SensorEntry) if sensors else []
    )
    of_targets = (
        _named(targets, TARGET_COLUMNS, TARGETS_NEED, TargetEntry) if targets else []
    )
    origin = f"From {' and '.join(path.name for path in files)}"
    write_new(out, catalogue_toml(of_sensors, of_targets, origin=origin))
    say(f"wrote {out}: {len(of_sensors)} sensors, {len(of_targets)} targets")


def import_plan(
    path: Path, *, title: str | None, catalogue_path: Path | None, out: Path
) -> None:
    """Write a plan file from a table with one row for every run.

    Raises:
        InputError: A cell is not right, or the file exists already.
    """
    catalogue = load_catalogue(catalogue_path)
    rows = _checked(path, PLAN_COLUMNS, PLAN_NEEDS, PlanRow)
    looked_up = {"sensor": catalogue.sensor, "target": catalogue.target}
    refuse_faults(path, _unknown(rows, looked_up))
    text = plan_table_toml(
        [row for _, row in rows],
        title=path.stem if title is None else title,
        origin=f"From {path.name}",
    )
    plan = parse_plan(text, str(out), catalogue)
    write_new(out, text)
    say(f"wrote {out}: {len(plan.runs)} runs")


def import_hand(
    path: Path,
    *,
    catalogue_path: Path | None,
    records: str | None,
    as_json: bool,
    sure: bool,
) -> None:
    """Put readings by hand of several sensors and targets on record.

    Raises:
        RigError: A cell is not right, or they cannot be kept.
    """
    catalogue = load_catalogue(catalogue_path)
    rows = _checked(path, HAND_COLUMNS, HAND_NEEDS, HandRow)
    looked_up = {"sensor": catalogue.sensor, "target": catalogue.target}
    refuse_faults(path, _unknown(rows, looked_up))
    now = datetime.now(UTC)
    readings = [
        HandReading(**row.model_dump(), source=f"{path}, line {line}", entered_at=now)
        for line, row in rows
    ]
    with open_store(records) as store:
        entry = asked_about(
            lambda sure: enter_readings(
                store, readings, None if sure else catalogue.sensor
            ),
            sure=sure,
        )
    if as_json:
        say_document("hand-entry", entry)
    else:
        say(entry_text(entry))


def _named(
    path: Path,
    columns: Mapping[str, Column],
    needed: Sequence[str],
    entry: type[_Entry],
) -> list[_Entry]:
    rows = _checked(path, columns, needed, entry)
    names = [(line, str(row.model_dump()["name"])) for line, row in rows]
    refuse_faults(path, named_twice(names, "name"))
    return [row for _, row in rows]


def _checked(
    path: Path,
    columns: Mapping[str, Column],
    needed: Sequence[str],
    entry: type[_Entry],
) -> list[tuple[int, _Entry]]:
    optional = [name for name in columns if name not in needed]
    table = read_table(path, required=needed, optional=optional)
    rows = [
        (row.line, {name: row.optional_text(name) for name in row.cells})
        for row in table
    ]
    found = check_rows(rows, columns, entry, table[0].mark)
    refuse_faults(path, found.faults)
    return list(found.entries)


def _unknown(
    rows: Iterable[tuple[int, Strict]], look_up: Mapping[str, Callable[[str], Any]]
) -> list[Fault]:
    faults = []
    for line, row in rows:
        for column, find in look_up.items():
            try:
                find(getattr(row, column))
            except InputError as exc:
                sentence = f"is {getattr(row, column)!r}: {exc}; {exc.hint}"
                faults.append(Fault(line=line, column=column, sentence=sentence))
    return faults
