"""Reports that a screen asks for: written to a file of their own, in a worker."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from rig.errors import InputError, RigError
from rig.records import Reader
from rig.report.files import free_path, write_new
from rig.tui.state.app_services import AppServices
from rig.tui.state.keys import OPEN_SHOWN

if TYPE_CHECKING:
    from rig.inquiry.batch import BatchResult
    from rig.inquiry.gauge_study import GaugeResult
    from rig.inquiry.supplier_history import ProductHistory
    from rig.report.report_kinds import Report


def write_run_report(
    host: AppServices, run_ids: Sequence[str], *, title: str = ""
) -> None:
    """Write the report of runs and say where it is; for thread workers only.

    Runs without figures are left out.
    """

    def made() -> Report:
        # Deferred: it loads what draws plots
        from rig.report.report_kinds import ReportKind, report_on_record

        store = host.records()
        known = Reader(store).latest_computations(list(run_ids))
        chosen = [run_id for run_id in run_ids if run_id in known]
        if not chosen:
            raise InputError("there are no figures to report yet", hint="measure first")
        return report_on_record(
            store, ReportKind.RUNS, chosen, now=host.now(), title=title
        )

    _write(host, made)


def write_plan_report(host: AppServices, plan_id: str) -> None:
    """Write the report of a plan and say where it is; for thread workers only."""
    _write_one(host, "plan", plan_id)


def write_study_report(host: AppServices, study_id: str) -> None:
    """Write the report of a study and say where it is; for thread workers only."""
    _write_one(host, "study", study_id)


def write_lot_report(host: AppServices, lot_id: str) -> None:
    """Write the report of a lot and say where it is; for thread workers only."""
    _write_one(host, "lot", lot_id)


def write_batch_report(host: AppServices, result: BatchResult) -> None:
    """Write the report of a batch and say where it is; for thread workers only."""

    def made() -> Report:
        from rig.inquiry.chain_anchor import head_of
        from rig.report.report_kinds import ReportKind, report_of

        head = head_of(host.records())
        return report_of(ReportKind.BATCH, result, now=host.now(), head=head)

    _write(host, made)


def write_gauge_report(host: AppServices, result: GaugeResult) -> None:
    """Write the report of a study of a gauge and say where; for thread workers only."""

    def made() -> Report:
        from rig.inquiry.chain_anchor import head_of
        from rig.report.report_kinds import ReportKind, report_of

        head = head_of(host.records())
        return report_of(ReportKind.GAUGE, result, now=host.now(), head=head)

    _write(host, made)


def write_label(host: AppServices, part: str) -> None:
    """Write the label of a part and say where it is; for thread workers only."""

    def made() -> Report:
        # Deferred: it loads what encodes the code
        from rig.inquiry.part_history import part_history
        from rig.report.files import file_name
        from rig.report.label_page import label_page
        from rig.report.report_kinds import Report
        from rig.sheets.label_sheet import label_sheets

        labels = label_sheets([part_history(host.records(), part)])
        return Report(
            name=file_name("label", part, at=host.now()),
            html=label_page(labels, generated_at=host.now()),
        )

    _write(host, made)


def write_history_report(host: AppServices, found: ProductHistory) -> None:
    """Write the report of lots and say where it is; for thread workers only."""

    def made() -> Report:
        from rig.inquiry.chain_anchor import head_of
        from rig.report.report_kinds import ReportKind, report_of

        head = head_of(host.records())
        return report_of(ReportKind.HISTORY, found, now=host.now(), head=head)

    _write(host, made)


def write_export(
    host: AppServices, run_ids: Sequence[str], *, lot_id: str = ""
) -> None:
    """Write runs as tables for a spreadsheet, for thread workers only.

    Args:
        host: The app.
        run_ids: Identities of the runs.
        lot_id: A lot to write instead, with the runs behind it; empty for none.
    """
    if not run_ids and not lot_id:
        none = InputError("there is no run to export", hint="measure first")
        host.call_later(host.show_problem, none)
        return
    # Deferred: it loads what reads whole runs
    from rig.inquiry.record_export import export_records
    from rig.model.own_decimal import own_decimal
    from rig.records import RunFilter
    from rig.records.export import ExportFormat
    from rig.report.files import file_name

    what = f"{len(run_ids)}-run{'s' if len(run_ids) != 1 else ''}"
    if lot_id:
        what = f"lot-{lot_id}"
    host.call_later(host.notify, "The tables are being written.")
    try:
        name = file_name("export", what, at=host.now())
        folder = free_path(made_folder(host), name, "")
        export_records(
            host.records(),
            RunFilter(run_ids=None if lot_id else tuple(run_ids)),
            folder,
            ExportFormat.CSV,
            lots=(lot_id,) if lot_id else (),
            decimal=own_decimal(),
        )
    except RigError as exc:
        host.call_later(host.show_problem, exc)
        return
    host.call_later(tell_written, host, folder, "The export")


def _write_one(host: AppServices, kind: str, identity: str) -> None:
    def made() -> Report:
        from rig.report.report_kinds import ReportKind, report_on_record

        return report_on_record(
            host.records(), ReportKind(kind), [identity], now=host.now()
        )

    _write(host, made)


def _write(host: AppServices, make: Callable[[], Report]) -> None:
    try:
        report = make()
        path = path_of(host, report)
        write_new(path, report.html)
    except RigError as exc:
        host.call_later(host.show_problem, exc)
        return
    host.call_later(tell_written, host, path, "The report")


def path_of(host: AppServices, report: Report) -> Path:
    """Return where a report goes, beside earlier ones; its folder is made if missing.

    Raises:
        InputError: The folder cannot be made.
    """
    return free_path(made_folder(host), report.name, ".html")


def made_folder(host: AppServices) -> Path:
    """Return the folder for what people open; it is made if it is missing.

    Raises:
        InputError: The folder cannot be made.
    """
    folder = host.papers
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as exc:
        raise InputError(f"{folder} cannot be made: {exc.strerror}") from exc
    return folder


def tell_written(host: AppServices, path: Path, what: str) -> None:
    """Say where something was written, and remember it; in the app's own thread."""
    host.written = path
    words = f"{path}\n{OPEN_SHOWN} opens it."
    host.notify(words, title=f"{what} is written", timeout=12)
