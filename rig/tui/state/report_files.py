"""Reports that a screen asks for: written to a file of their own, in a worker."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from rig.errors import InputError, RigError
from rig.records import Reader
from rig.report.files import write_whole
from rig.tui.state.app_services import AppServices

FOLDER = "reports"


def report_of_runs(
    host: AppServices, run_ids: Sequence[str], title: str, name: str
) -> None:
    """Write the report of some runs and say where it is; for thread workers only."""

    def page(_reader: Reader) -> str:
        # Deferred: it loads what draws plots
        from rig.inquiry.recorded_run import recorded_runs
        from rig.report.runs_page import run_report

        runs = recorded_runs(host.records(), run_ids)
        if not any(one.figures for one in runs):
            raise InputError("there are no figures to report yet", hint="measure first")
        return run_report(runs, title=title, generated_at=host.now())

    _write(host, page, name)


def write_plan_report(host: AppServices, plan_id: str) -> None:
    """Write the report of a plan and say where it is; for thread workers only."""

    def page(reader: Reader) -> str:
        # Deferred: it loads what draws plots
        from rig.inquiry.plan import plan_result
        from rig.report.plan_page import plan_report

        result = plan_result(host.records(), plan_id)
        if not result.runs:
            raise InputError("nothing of this plan is done yet", hint="measure a pair")
        title = f"Measurement by plan: {result.entry.title}"
        return plan_report(result, title=title, generated_at=host.now())

    _write(host, page, f"plan-{plan_id}")


def write_lot_report(host: AppServices, lot_id: str) -> None:
    """Write the report of a lot and say where it is; for thread workers only."""

    def page(reader: Reader) -> str:
        # Deferred: it loads what draws plots
        from rig.inquiry.lot_evidence import lot_evidence
        from rig.report.lot_page import lot_report

        found = lot_evidence(host.records(), lot_id)
        title = f"Inspection of a lot: {found.standing.lot.product}"
        return lot_report(found, title=title, generated_at=host.now())

    _write(host, page, f"lot-{lot_id}")


def _write(host: AppServices, page: Callable[[Reader], str], name: str) -> None:
    folder = host.folder / FOLDER
    path = folder / f"{name}.html"
    try:
        text = page(Reader(host.records()))
        try:
            folder.mkdir(parents=True, exist_ok=True)
        except OSError as exc:
            raise InputError(f"{folder} cannot be made: {exc.strerror}") from exc
        write_whole(path, text)
    except RigError as exc:
        host.call_later(host.show_problem, exc)
        return
    host.call_later(host.notify, str(path), title="The report is written", timeout=12)
