"""The records as files: runs with their parts, attempts, readings by hand."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from rig.analysis.edges.sweep_points import points_of_run
from rig.records import Reader, RunFilter, Store
from rig.records.export import ExportFormat, export_all
from rig.records.tables import ExportTable


def export_records(
    store: Store, run_ids: Sequence[str], out: Path, file_format: ExportFormat
) -> dict[ExportTable, Path]:
    """Write the records, or some runs of them, as files of one format.

    Args:
        store: Open records.
        run_ids: Runs to export; empty for all.
        out: Folder that the files are written to.
        file_format: Format of the files.

    Raises:
        RecordsError: A run is not on record, or a file cannot be written.
    """
    reader = Reader(store)
    for run_id in run_ids:
        reader.run(run_id)  # complain of a wrong name before a file is written
    return export_all(
        reader,
        out,
        file_format=file_format,
        points=points_of_run,
        wanted=RunFilter(run_ids=tuple(run_ids) or None),
    )
