"""Reports that a screen asks for: written to a file of their own, in a worker."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from rig.analysis.limits.verdict import GUARDED
from rig.errors import InputError, RigError
from rig.records import Reader
from rig.report.files import write_whole
from rig.tui.host import Host

FOLDER = "reports"


def report_of_runs(host: Host, run_ids: Sequence[str], title: str, name: str) -> None:
    """Write the report of some runs and say where it is; for thread workers only."""

    def page(reader: Reader) -> str:
        # Deferred: it loads what draws plots
        from rig.report.page import run_report

        runs, checks = [], {}
        for run_id in run_ids:
            figures = reader.latest_figures(run_id)
            if figures is not None:
                runs.append((reader.run(run_id), figures))
                checks[run_id] = reader.verify(run_id)
        if not runs:
            raise InputError("there are no figures to report yet", hint="measure first")
        return run_report(runs, title=title, generated_at=host.now(), checks=checks)

    _write(host, page, name)


def write_plan_report(host: Host, plan_id: str) -> None:
    """Write the report of a plan and say where it is; for thread workers only."""

    def page(reader: Reader) -> str:
        # Deferred: it loads what draws plots
        from rig.evidence.plan import plan_matter
        from rig.report.plan_page import plan_report

        matter = plan_matter(reader, plan_id, GUARDED)
        if not matter.runs:
            raise InputError("nothing of this plan is done yet", hint="measure a pair")
        title = f"Measurement by plan: {matter.entry.title}"
        return plan_report(matter, title=title, generated_at=host.now())

    _write(host, page, f"plan-{plan_id}")


def write_lot_report(host: Host, lot_id: str) -> None:
    """Write the report of a lot and say where it is; for thread workers only."""

    def page(reader: Reader) -> str:
        # Deferred: it loads what draws plots
        from rig.inquiry.lot_evidence import lot_evidence
        from rig.report.lot_page import lot_report

        found = lot_evidence(host.records(), lot_id)
        title = f"Inspection of a lot: {found.standing.lot.product}"
        return lot_report(found, title=title, generated_at=host.now())

    _write(host, page, f"lot-{lot_id}")


def _write(host: Host, page: Callable[[Reader], str], name: str) -> None:
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
