"""`gapsweep demo`: the main job on the simulated rig, from nothing to a report."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from rig.cli.documents import emit, run_document
from rig.cli.open_rig import SETTINGS, open_rig, open_store
from rig.cli.options import example, json_option
from rig.cli.output import say
from rig.cli.progress import progress_on_stderr
from rig.cli.text.run_list_text import plan_text
from rig.cli.text.run_text import run_text
from rig.cli.text.table import SIMULATED
from rig.report.files import write_whole

if TYPE_CHECKING:
    from rig.model.figures import RunFigures
    from rig.model.sweeps import Run
    from rig.procedures.events import Tell
    from rig.records import Store
    from rig.wiring import Rig

RECORDS = Path("gapsweep-demo.sqlite")
REPORT = Path("gapsweep-demo.html")
_RIG = "sim://?seed=7"
_SENSOR = "level-18"
_TARGETS = ("steel", "pvc", "wheat")
_TITLE = "Incoming inspection: level sensor level-18"


@click.command(epilog=example("gapsweep demo"))
@json_option
def command(as_json: bool) -> None:
    """Measure a level sensor against three targets on the simulated rig.

    Leaves its records and a report in the current folder.
    """
    # Deferred: help must answer at once
    from rig.inquiry.recorded_run import evaluated_run
    from rig.report.runs_page import run_report
    from rig.sheets.run_sheet import run_sheet

    with (
        open_store(str(RECORDS)) as store,
        open_rig(_RIG) as rig,
        progress_on_stderr() as tell,
    ):
        runs = [_measured(rig, store, target, tell) for target in _TARGETS]
    found = [evaluated_run(run, figures) for run, figures in runs]
    page = run_report(found, title=_TITLE, generated_at=datetime.now(UTC))
    write_whole(REPORT, page)
    if as_json:
        emit(_document(runs))
        return
    say(SIMULATED)
    say(run_text(run_sheet(found[0])).split("\n", 1)[1])
    say("")
    say(plan_text("Against all targets", runs))
    say("")
    say(f"report:  {REPORT} (open it in a browser)")
    say(f"records: {RECORDS} (gapsweep results --records {RECORDS})")


def _measured(
    rig: Rig, store: Store, target_name: str, tell: Tell
) -> tuple[Run, RunFigures]:
    from rig.catalogue.catalogue import load_catalogue
    from rig.procedures.carry_out_run import carry_out_run
    from rig.procedures.run_context import RunContext
    from rig.procedures.run_order import RunOrder

    catalogue = load_catalogue()
    sensor, target = catalogue.sensor(_SENSOR), catalogue.target(target_name)
    assert rig.simulation is not None, "the demo runs on the simulated rig"
    rig.simulation.mount(sensor, target)
    order = RunOrder(sensor=sensor, target=target, sweeps=10, speeds_mm_s=(1.0, 4.0))
    context = RunContext.on(rig.mover, SETTINGS, store, tell)
    result = carry_out_run(context.touch_off(), order, context)
    return result.run, result.figures


def _document(runs: list[tuple[Run, RunFigures]]) -> dict[str, Any]:
    return {
        "simulated": True,
        "report": str(REPORT),
        "records": str(RECORDS),
        "runs": [run_document(run, figures) for run, figures in runs],
    }
