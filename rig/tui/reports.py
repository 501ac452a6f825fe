"""Reports that a screen asks for: written to a file of their own, in a worker."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from rig.analysis.verdict import GUARDED
from rig.errors import InputError, RigError
from rig.records import Reader, RunFilter
from rig.report.files import write_whole
from rig.tui.host import Host

if TYPE_CHECKING:
    from rig.report.plan_view import PlanMatter

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
        from rig.report.plan_page import plan_report

        matter = _plan_matter(reader, plan_id)
        title = f"Measurement by plan: {matter.entry.title}"
        return plan_report(matter, title=title, generated_at=host.now())

    _write(host, page, f"plan-{plan_id}")


def _plan_matter(reader: Reader, plan_id: str) -> PlanMatter:
    from rig.report.plan_view import PlanMatter
    from rig.report.run_facts import RunBehind

    progress = tuple(reader.plan_progress(plan_id))
    ended = tuple(
        run.run_id
        for one in progress
        for run in one.runs
        if run.ended_at and not run.void
    )
    if not ended:
        raise InputError("nothing of this plan is done yet", hint="measure a pair")
    computed = reader.latest_computations(ended)
    behind = tuple(
        RunBehind(
            run=run,
            computation=computed.get(run.header.run_id),
            check=reader.verify(run.header.run_id),
        )
        for run in reader.iter_runs(RunFilter(run_ids=ended))
    )
    return PlanMatter(
        entry=reader.plan(plan_id), progress=progress, runs=behind, rule=GUARDED
    )


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
