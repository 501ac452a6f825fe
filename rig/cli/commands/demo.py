"""`gapsweep demo`: the main job on the simulated rig, from nothing to a report."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from rig.cli.open_rig import SETTINGS, open_rig, open_store
from rig.cli.options import example, json_option
from rig.cli.output import say, say_document
from rig.cli.progress import progress_on_stderr

if TYPE_CHECKING:
    from rig.inquiry.plan import PlanResult

RECORDS = Path("gapsweep-demo.sqlite")
REPORT = Path("gapsweep-demo.html")
_RIG = "sim://?seed=7"
_TITLE = "Incoming inspection: level sensor level-18"
_PLAN = f"""title = "{_TITLE}"
sweeps = 10

[[run]]
sensors = ["level-18"]
targets = ["steel", "pvc", "wheat"]
"""


@click.command(epilog=example("gapsweep demo"))
@json_option
def command(as_json: bool) -> None:
    """Measure a level sensor against three targets on the simulated rig.

    Leaves its records and a report in the current folder.
    """
    # Deferred: help must answer at once
    from rig.cli.text.plan_text import plan_text
    from rig.cli.text.run_text import run_text
    from rig.inquiry.plan import demo_document
    from rig.report.files import write_whole
    from rig.report.runs_page import run_report
    from rig.sheets.plan_sheet import plan_sheet
    from rig.sheets.run_sheet import run_sheet

    result = _measured()
    runs = [one.run for one in result.items if one.run is not None]
    page = run_report(runs, title=_TITLE, generated_at=datetime.now(UTC))
    write_whole(REPORT, page)
    if as_json:
        found = demo_document(result, report=str(REPORT), records=str(RECORDS))
        say_document("demo", found)
        return
    say(plan_text(plan_sheet(result)))
    say("")
    say(run_text(run_sheet(runs[0])))
    say("")
    say(f"report:  {REPORT} (open it in a browser)")
    say(f"records: {RECORDS} (gapsweep results --records {RECORDS})")


def _measured() -> PlanResult:
    """Carry out the plan of the demo; return what came of it."""
    from rig.catalogue.catalogue import load_catalogue
    from rig.catalogue.plan_file import parse_plan
    from rig.inquiry.plan import plan_result
    from rig.procedures.begin_plan import begin_plan
    from rig.procedures.plan_walk import PlanWalk
    from rig.procedures.run_context import RunContext

    plan = parse_plan(_PLAN, "the plan of the demo", load_catalogue())
    with open_store(str(RECORDS)) as store:
        with open_rig(_RIG) as rig, progress_on_stderr() as tell:
            assert rig.simulation is not None, "the demo runs on the simulated rig"
            context = RunContext.on(rig.mover, SETTINGS, store, tell)
            entry = begin_plan(plan, context)
            PlanWalk(entry, context, rig.simulation.mount).carry_out_rest()
        return plan_result(store, entry.plan_id)
