"""The records as files: all of them, or chosen runs with what belongs to them."""

from __future__ import annotations

from collections.abc import Collection
from pathlib import Path

from rig.errors import InputError
from rig.inquiry.judged_rows import WORKED_OUT
from rig.inquiry.names_on_record import nearest_on_record
from rig.model.number_input import DecimalMark
from rig.records import Reader, RunFilter, Store
from rig.records.export import ExportFormat, export_all
from rig.records.export_choice import ExportChoice, choose
from rig.records.workbook_output import export_workbook


def export_records(
    store: Store,
    wanted: RunFilter,
    out: Path,
    file_format: ExportFormat,
    *,
    lots: Collection[str] = (),
    product: str = "",
    decimal: DecimalMark = DecimalMark.POINT,
) -> list[Path]:
    """Write the records, or some runs of them with what belongs there, as files.

    Args:
        store: Open records.
        wanted: Runs to export.
        out: Folder that the files are written to; of a workbook the file.
        file_format: Format of the files.
        lots: Only runs behind results of these lots; none for any.
        product: Only runs made for this product; empty for any.
        decimal: Decimal mark of CSV files.

    Returns:
        The files that were written.

    Raises:
        InputError: A file exists already, or nothing is on record of the choice.
        RecordsError: A run, plan or lot is not on record, or a file cannot be written.
    """
    reader = Reader(store)
    # Complains of a wrong name before a file is written
    chosen = chosen_to_export(reader, wanted, lots=lots, product=product)
    if file_format.is_workbook:
        export_workbook(reader, out, worked_out=WORKED_OUT, chosen=chosen)
        return [out]
    paths = export_all(
        reader,
        out,
        file_format=file_format,
        worked_out=WORKED_OUT,
        chosen=chosen,
        decimal=decimal,
    )
    return list(paths.values())


def chosen_to_export(
    reader: Reader, wanted: RunFilter, *, lots: Collection[str], product: str
) -> ExportChoice:
    """Return some runs with what belongs to them, or everything.

    Args:
        reader: Open records.
        wanted: Runs by their own properties.
        lots: Only runs behind results of these lots; none for any.
        product: Only runs made for this product; empty for any.

    Raises:
        InputError: Nothing is on record of the choice.
        RecordsError: A run, plan or lot is not on record, or they cannot be read.
    """
    for run_id in wanted.run_ids or ():
        reader.run(run_id)
    if wanted.plan_id is not None:
        reader.plan(wanted.plan_id)
    chosen = choose(reader, wanted, lots=lots, product=product)
    with_runs = chosen.belonging
    if with_runs is not None and not with_runs.found:
        raise InputError(
            "nothing on record is of what was chosen",
            hint=nearest_on_record(reader, wanted).strip()
            or "`gapsweep results` lists the runs",
        )
    return chosen
