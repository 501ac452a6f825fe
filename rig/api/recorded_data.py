"""Records for a script or a notebook: runs, tables as data frames, points as arrays."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, Self

import numpy as np
import numpy.typing as npt

from rig.errors import InputError, RunChanged
from rig.inquiry.batch import BatchOptions, BatchResult, batch_on_record
from rig.inquiry.judged_rows import WORKED_OUT
from rig.inquiry.parts import RunSelection
from rig.inquiry.record_export import chosen_to_export
from rig.inquiry.recorded_run import RecordedRun, recorded_run
from rig.inquiry.sweep_readings import SweepReading
from rig.model.figure_kinds import KIND_OF_OPTION
from rig.records import Reader, RunFilter, default_location, open_records
from rig.records.export_columns import COLUMNS, ExportTable, Kind
from rig.records.export_rows import export_rows
from rig.records.run_names import run_named, runs_named

if TYPE_CHECKING:
    import pandas as pd

_TYPES: Final = {
    Kind.TEXT: "string",
    Kind.INTEGER: "Int64",
    Kind.NUMBER: "float64",
    Kind.TRUTH: "boolean",
    Kind.TIME: "datetime64[us, UTC]",
}


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RunPoints:
    """The two points of each of the n sweeps of a run, void ones too, as arrays.

    Points "with delay" are the gaps at the edges, datum, backlash and calibration
    applied. "At rest" the travel during the switching delay is removed too; their mean
    is the figure of the run.

    Attributes:
        run_id: Identity of the run.
        simulated: Whether the rig said that it is simulated.
        number: Number of the sweep in its run from 1, shape (n,), integers.
        used: Whether the figures rest on the sweep, shape (n,), booleans.
        speed_mm_s: Speed on both ways, mm/s, shape (n,).
        operate_with_delay_mm: Operate points with delay, mm, shape (n,); NaN without
            that edge.
        release_with_delay_mm: Release points with delay, mm, shape (n,); NaN without
            that edge.
        operate_at_rest_mm: Operate points at rest, mm, shape (n,); NaN where not used
            or without figures.
        release_at_rest_mm: Release points at rest, mm, shape (n,); NaN where not used
            or without figures.
    """

    run_id: str
    simulated: bool
    number: npt.NDArray[np.int64]
    used: npt.NDArray[np.bool_]
    speed_mm_s: npt.NDArray[np.float64]
    operate_with_delay_mm: npt.NDArray[np.float64]
    release_with_delay_mm: npt.NDArray[np.float64]
    operate_at_rest_mm: npt.NDArray[np.float64]
    release_at_rest_mm: npt.NDArray[np.float64]


class Records:
    """Open records; close them, or use them as a context.

    Args:
        location: File or database URL; None for what the environment variable
            GAPSWEEP_RECORDS names, else the user's own.
        read_only: Whether writing is refused, and records that are not there are an
            error; otherwise they are begun.

    Attributes:
        store: What the rest of Gapsweep takes as records; no part of what is promised.

    Raises:
        NoRecords: `read_only`, and nothing was recorded there yet.
        RecordsError: They cannot be opened.
    """

    def __init__(
        self, location: str | Path | None = None, *, read_only: bool = False
    ) -> None:
        where = default_location() if location is None else str(location)
        self.store = open_records(where, read_only=read_only)

    def frame(
        self,
        table: ExportTable | str,
        wanted: RunFilter | None = None,
        *,
        lots: Collection[str] = (),
        product: str = "",
    ) -> pd.DataFrame:
        """Return an exported table, such as "runs", "parts", "figures" or "sweeps".

        It is the table that ``gapsweep export`` writes, a row each. Names of columns
        hold the unit (``operate_gap_mm``), or a column ``unit`` stands beside them.
        Text is of type "string", whole numbers "Int64", numbers "float64", yes and no
        "boolean", times "datetime64[us, UTC]"; a missing value is NA, NaN or NaT.
        ``simulated`` says which rows come from a simulated rig, ``changed`` in "runs"
        what was altered after it was recorded.

        Args:
            table: Name of the table; `ExportTable` has them all.
            wanted: Runs to take, with what belongs to them; None for all that is on
                record.
            lots: These lots and the runs behind their results only; none for any.
            product: Runs made for this product only; empty for any.

        Raises:
            InputError: There is no such table, nothing is on record of the choice, or
                pandas is not installed (the extra `frames`).
            RecordsError: A run, plan or lot is not on record, or they cannot be read.
        """
        try:
            import pandas as pd
        except ImportError as exc:
            raise InputError(
                "data frames need the extra `frames`: pandas is not installed",
                hint="in the folder of Gapsweep: pip install '.[frames]'",
            ) from exc
        named = _table(table)
        columns = COLUMNS[named]
        values: dict[str, list[Any]] = {name: [] for name in columns}
        with self.store.snapshot() as moment:
            reader = Reader(moment)
            chosen = chosen_to_export(
                reader, wanted or RunFilter(), lots=lots, product=product
            )
            for row in export_rows(reader, named, chosen, WORKED_OUT):
                for name, column in values.items():
                    column.append(row[name])
        return pd.DataFrame(
            {
                name: pd.Series(values[name], dtype=_TYPES[kind])
                for name, kind in columns.items()
            }
        )

    def run(self, name: str) -> RecordedRun:
        """Return one run: figures, points, verdicts, budget, notes.

        Args:
            name: Identity of the run, how it begins, or "last".

        Raises:
            InputError: Several runs begin so.
            RunChanged: It was changed so that it cannot be read.
            RecordsError: It is not on record, or the records cannot be read.
        """
        return recorded_run(self.store, run_named(self.store, name))

    def batch(
        self,
        *runs: str,
        plans: Collection[str] = (),
        lots: Collection[str] = (),
        sensor: str | None = None,
        target: str | None = None,
        against: str | None = None,
        product: str | None = None,
        figure: str = "operate",
        lower: float | None = None,
        upper: float | None = None,
        content: float = 0.95,
        confidence: float = 0.95,
    ) -> BatchResult:
        """Summarise one figure of the parts of a batch, and decide about each part.

        It is what ``gapsweep batch`` does: outliers are flagged and never dropped, and
        each plan or lot named is a batch of its own.

        Args:
            runs: Identities of runs, or how they begin; none for all that fit.
            plans: Plans whose runs are taken.
            lots: Lots whose parts are taken.
            sensor: Name of the sensor; None for any.
            target: Name of the target; None for any.
            against: Name of the standard target, for reduction factors; None for the
                figure itself.
            product: Name of the product to hold the parts against; None for the one
                that their runs were made for.
            figure: Name of the figure, such as "operate".
            lower: Lower limit in the unit of the figure; None for the data sheet's.
            upper: Upper limit likewise.
            content: Proportion of parts that the tolerance interval covers, 0 to 1.
            confidence: Confidence level of every interval and bound, 0 to 1.

        Returns:
            ``batches``, each with its ``parts``, their ``verdicts``, and in ``summary``
            the table, the outliers and the tolerance interval; numbers in ``unit``.

        Raises:
            InputError: There is no such figure, the parts make no batch, or an argument
                does not go with them.
            RecordsError: A run, plan or lot is not on record, or they cannot be read.
        """
        if figure not in KIND_OF_OPTION:
            raise InputError(
                f"there is no figure {figure!r}",
                hint=f"known: {', '.join(KIND_OF_OPTION)}",
            )
        for name, share in (("content", content), ("confidence", confidence)):
            if not 0.0 < share < 1.0:
                raise InputError(f"{name} is {share:g}: give a share between 0 and 1")
        selection = RunSelection(
            run_ids=runs_named(self.store, runs),
            plan_ids=tuple(plans),
            lot_ids=tuple(lots),
            sensor=sensor,
            target=target,
            against=against,
            product=product,
        )
        options = BatchOptions(
            figure=figure,
            lower=lower,
            upper=upper,
            content=content,
            confidence=confidence,
        )
        return batch_on_record(self.store, selection, options)

    def points(self, name: str) -> RunPoints:
        """Return operate and release points of every sweep of a run as arrays.

        Args:
            name: Identity of the run, how it begins, or "last".

        Raises:
            InputError: Several runs begin so.
            RunChanged: The run was changed after it was recorded.
            RecordsError: It is not on record, or the records cannot be read.
        """
        found = self.run(name)
        if found.check is not None and found.check.changes:
            raise RunChanged(found.check.sentence)
        return _points(found)

    def close(self) -> None:
        """Close them."""
        self.store.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()


def _table(name: ExportTable | str) -> ExportTable:
    try:
        return ExportTable(name)
    except ValueError:
        raise InputError(
            f"there is no table {str(name)!r}", hint=f"known: {', '.join(ExportTable)}"
        ) from None


def _points(found: RecordedRun) -> RunPoints:
    readings: tuple[SweepReading, ...] = found.readings

    def column(name: str) -> npt.NDArray[np.float64]:
        # As floats, None becomes NaN
        return np.array([getattr(one, name) for one in readings], dtype=np.float64)

    return RunPoints(
        run_id=found.run.header.run_id,
        simulated=found.run.header.conditions.simulated,
        number=np.array([one.number for one in readings], dtype=np.int64),
        used=np.array([not one.void for one in readings], dtype=np.bool_),
        speed_mm_s=column("speed_mm_s"),
        operate_with_delay_mm=column("operate_delayed_mm"),
        release_with_delay_mm=column("release_delayed_mm"),
        operate_at_rest_mm=column("operate_corrected_mm"),
        release_at_rest_mm=column("release_corrected_mm"),
    )
