"""Reports that a screen asks for: written to a file of their own, in a worker."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from rig.errors import InputError, RigError
from rig.records import Reader
from rig.report.files import write_whole
from rig.tui.host import Host

FOLDER = "reports"


def report_of_runs(host: Host, run_ids: Sequence[str], title: str, name: str) -> None:
    """Write the report of some runs and say where it is; for thread workers only."""
    try:
        path = _written(host, run_ids, title, name)
    except RigError as exc:
        host.call_later(host.show_problem, exc)
        return
    host.call_later(host.notify, str(path), title="The report is written", timeout=12)


def _written(host: Host, run_ids: Sequence[str], title: str, name: str) -> Path:
    # Deferred: it loads what draws plots
    from rig.report.page import run_report

    reader = Reader(host.records())
    runs, checks = [], {}
    for run_id in run_ids:
        figures = reader.latest_figures(run_id)
        if figures is not None:
            runs.append((reader.run(run_id), figures))
            checks[run_id] = reader.verify(run_id)
    if not runs:
        raise InputError("there are no figures to report yet", hint="measure first")
    folder = host.folder / FOLDER
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as exc:
        raise InputError(f"{folder} cannot be made: {exc.strerror}") from exc
    path = folder / f"{name}.html"
    page = run_report(runs, title=title, generated_at=host.now(), checks=checks)
    write_whole(path, page)
    return path
