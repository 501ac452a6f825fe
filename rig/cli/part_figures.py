"""One figure of every part, from runs on record or from a table; decides nothing."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from rig.analysis.numbers.ratio import ratio, shared_contributions
from rig.analysis.standard.iec_60947_5_2 import not_the_standard_target
from rig.catalogue.csv_input import CsvRow, read_csv
from rig.errors import InputError
from rig.model.figure_kinds import KIND_OF_OPTION, figure_of
from rig.model.figures import Figure, RunFigures
from rig.model.mounted import Sensor, Target
from rig.model.sweeps import Run
from rig.records import Reader, RunFilter

RATIO_UNIT = "1"


@dataclass(frozen=True, slots=True, kw_only=True)
class PartFigure:
    """The figure of one part.

    Attributes:
        part: Serial or sample number.
        value: In `unit`.
        expanded_uncertainty: In `unit`; None if there is none.
        unit: Of both.
        batch: Which batch it belongs to.
        run_id: The run behind it; empty from a table of somebody else's.
        simulated: Whether that run was.
    """

    part: str
    value: float
    expanded_uncertainty: float | None
    unit: str
    batch: str
    run_id: str
    simulated: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Collection:
    """All parts that were asked for.

    Attributes:
        parts: In order of time, or of the table.
        figure: Name of the figure.
        sensor: Of all of them; None where nobody said.
        standard_target: Whether all of them were measured on the standard target.
        run_warnings: Sentences of the runs behind them, with how many runs say so.
        statements: What was chosen or left out.
    """

    parts: tuple[PartFigure, ...]
    figure: str
    sensor: Sensor | None
    standard_target: bool
    run_warnings: dict[str, int]
    statements: tuple[str, ...]


def parts_from_runs(
    reader: Reader,
    batches: dict[str, RunFilter],
    *,
    figure: str,
    against: str | None,
) -> Collection:
    """Collect a figure of every part from the runs on record.

    Args:
        reader: The records.
        batches: Which runs make up which batch.
        figure: Name of the figure.
        against: Name of the standard target, for reduction factors; None for the
            figure itself.

    Raises:
        InputError: A run has no part or no figures, or they do not go together.
        RecordsError: The records cannot be read.
    """
    if against is not None and figure != "operate":
        raise InputError(
            f"--against goes with the operate point, not with {figure}",
            hint="a reduction factor is a ratio of operate points",
        )
    parts: list[PartFigure] = []
    runs: list[Run] = []
    warnings: Counter[str] = Counter()
    said: list[str] = []
    for batch, wanted in batches.items():
        chosen = _newest_of_each_part(reader, wanted, batch, said)
        known = reader.latest_computations([run.header.run_id for run in chosen])
        for run in chosen:
            figures = _figures_of(run, known.get(run.header.run_id))
            found = figure_of(figures, figure)
            if against is not None:
                found = _factor(reader, run, figures, against)
            parts.append(_part(run, found, batch))
            warnings.update(figures.warnings)
        runs += chosen
    sensor = _one_sensor(runs)
    odd = any(not_the_standard_target(r.header.target, r.header.sensor) for r in runs)
    return Collection(
        parts=tuple(parts),
        figure="reduction factor" if against else figure,
        sensor=sensor,
        standard_target=not odd and against is None,
        run_warnings=dict(warnings),
        statements=tuple(said),
    )


def _one_sensor(runs: Sequence[Run]) -> Sensor:
    """Return the sensor of all runs, which are against one target."""
    sensors = {run.header.sensor for run in runs}
    if len(sensors) > 1:
        names = ", ".join(sorted({sensor.name for sensor in sensors}))
        raise InputError(
            f"the runs are of {len(sensors)} kinds of sensor ({names})",
            hint="a batch is of one: choose it with --sensor",
        )
    targets = sorted({run.header.target.name for run in runs})
    if len(targets) > 1:
        raise InputError(
            f"the runs are against {len(targets)} targets ({', '.join(targets)})",
            hint="choose one with --target",
        )
    (sensor,) = sensors
    return sensor


def _newest_of_each_part(
    reader: Reader, wanted: RunFilter, batch: str, said: list[str]
) -> list[Run]:
    summaries = [run for run in reader.runs(wanted) if run.ended_at and not run.void]
    nameless = [run.run_id for run in summaries if not run.part]
    if nameless:
        raise InputError(
            f"run {nameless[0]} does not say which part it is of",
            hint="a batch is made of parts: measure with --part, or leave the run out",
        )
    newest = {run.part: run.run_id for run in summaries}
    dropped = len(summaries) - len(newest)
    if dropped:
        said.append(
            f"{batch}: {dropped} earlier runs of parts that were measured again are"
            " not used; the newest of each part counts."
        )
    if not newest:
        raise InputError(
            f"no ended run that is not void fits ({batch})",
            hint="`gapsweep results` lists what is there",
        )
    chosen = set(newest.values())
    # In order of time: charts need it
    in_order = tuple(run.run_id for run in summaries if run.run_id in chosen)
    return list(reader.iter_runs(replace(wanted, run_ids=in_order)))


def _figures_of(run: Run, computation: object) -> RunFigures:
    figures = getattr(computation, "figures", None)
    if not isinstance(figures, RunFigures):
        run_id = run.header.run_id
        raise InputError(
            f"run {run_id} has no figures",
            hint=f"`gapsweep recompute {run_id}` works them out",
        )
    return figures


def _factor(reader: Reader, run: Run, figures: RunFigures, against: str) -> Figure:
    header = run.header
    wanted = RunFilter(sensor=header.sensor.name, target=against, part=header.part)
    fitting = [one for one in reader.runs(wanted) if one.ended_at and not one.void]
    if not fitting:
        raise InputError(
            f"part {header.part} has no run against {against!r}",
            hint="measure it on the standard target too",
        )
    reference = reader.run(fitting[-1].run_id)
    known = reader.latest_computations([fitting[-1].run_id]).get(fitting[-1].run_id)
    return ratio(
        figures.operate,
        _figures_of(reference, known).operate,
        shared=shared_contributions(header.conditions, reference.header.conditions),
        labels=(header.target.name, against),
    )


def _part(run: Run, found: Figure, batch: str) -> PartFigure:
    return PartFigure(
        part=run.header.part,
        value=found.value,
        expanded_uncertainty=found.expanded_uncertainty,
        unit=found.unit,
        batch=batch,
        run_id=run.header.run_id,
        simulated=run.header.conditions.simulated,
    )


def parts_from_tables(
    paths: Sequence[Path],
    *,
    figure: str,
    sensor: Sensor | None,
    target: Target | None,
) -> Collection:
    """Collect a figure of every part from tables.

    A table has the columns part and value, and may have expanded_uncertainty, unit and
    batch; or it is the exported table of figures.

    Args:
        paths: Of the tables.
        figure: Name of the figure.
        sensor: Of all of them; None if nobody says.
        target: That all of them were measured on; None if nobody says.

    Raises:
        InputError: A table or a cell is not right.
    """
    rows = [
        row for path in paths for row in _rows_of_table(path, figure, sensor, target)
    ]
    warnings = Counter(
        sentence
        for row in rows
        for sentence in row.optional_text("warnings").split("\n")
        if sentence
    )
    said = () if target else ("No --target: taken as measured on the standard one.",)
    return Collection(
        parts=tuple(_part_of_row(row, KIND_OF_OPTION[figure].unit) for row in rows),
        figure=figure,
        sensor=sensor,
        standard_target=sensor is not None
        and (target is None or not not_the_standard_target(target, sensor)),
        run_warnings=dict(warnings),
        statements=said,
    )


def _rows_of_table(
    path: Path, figure: str, sensor: Sensor | None, target: Target | None
) -> list[CsvRow]:
    rows = read_csv(
        path,
        required=("part", "value"),
        optional=("expanded_uncertainty", "unit", "batch"),
        others=_is_export(path),
    )
    field = KIND_OF_OPTION[figure].field
    if _is_export(path):
        rows = [
            row
            for row in rows
            if row.cells["figure"] == field
            and not row.cells["run_void"]
            and (sensor is None or row.cells["sensor"] == sensor.name)
            and (target is None or row.cells["target"] == target.name)
        ]
        if not rows:
            raise InputError(
                f"{path} has no row of the figure {field!r} that fits",
                hint="check --figure, --sensor and --target",
            )
    return rows


def _is_export(path: Path) -> bool:
    try:
        with path.open(encoding="utf-8-sig") as file:
            head = file.readline().strip().split(",")
    except (OSError, UnicodeDecodeError):
        return False  # whoever reads it next complains
    return {"run_id", "figure", "run_void"} <= set(head)


def _part_of_row(row: CsvRow, unit: str) -> PartFigure:
    return PartFigure(
        part=row.text("part"),
        value=row.number("value"),
        expanded_uncertainty=row.optional_number("expanded_uncertainty"),
        unit=row.optional_text("unit") or unit,
        batch=row.optional_text("batch") or row.path.stem,
        run_id=row.optional_text("run_id"),
        simulated=row.optional_text("simulated") == "SIMULATED",
    )
