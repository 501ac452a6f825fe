"""`gapsweep demo`: the main job on the simulated rig, from nothing to a report."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from itertools import count
from pathlib import Path
from typing import TYPE_CHECKING

import click

from rig.cli.open_rig import SETTINGS, open_rig, open_store
from rig.cli.options import example, json_option
from rig.cli.output import say, say_document
from rig.cli.progress import progress_on_stderr

if TYPE_CHECKING:
    from rig.inquiry.axis_calibration import CalibrationResult
    from rig.inquiry.plan import PlanResult
    from rig.inquiry.recorded_run import RecordedRun
    from rig.inquiry.run_comparison import RunComparison
    from rig.procedures.run_context import RunContext
    from rig.records import Store
    from rig.wiring import Rig

_STEM = "gapsweep-demo"
# An ordinary bench: the grade of screw, the lead and the probe that most have, and each
# of their errors within a standard deviation of the middle of the population
RIG = "sim://?bench=236"
LEAD_MM = 2.0  # engraved on the screw
_TITLE = "Mill Lane goods-in: level sensor level-18, part ML-0318"
_ON_STEEL = f"""title = "{_TITLE}"
sweeps = 10

[[run]]
sensors = ["level-18"]
parts = ["ML-0318"]
targets = ["steel"]
"""
_ON_ALL = _ON_STEEL.replace('"steel"', '"steel", "pvc", "wheat"')
_BLOCKS = "ML-GB-5"  # what the set of gauge blocks is recorded under
_BLOCK_UM = 0.3
_VALID_FOR = timedelta(days=365)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Demo:
    """What the demo measured: the plan, the blocks, and the first run again."""

    plan: PlanResult
    calibration: CalibrationResult
    beside: RunComparison


@click.command(epilog=example("gapsweep demo"))
@json_option
def command(as_json: bool) -> None:
    """Measure a level sensor on a simulated rig, before and after a few gauge blocks.

    Measures against three targets with nothing known about the bench, then against
    steel again after gauge blocks have shown the error of its screw. Writes its records
    and a report to the current folder.
    """
    # Deferred: help must answer at once
    from rig.inquiry.plan import demo_document
    from rig.report.comparison_page import comparison_report
    from rig.report.files import write_new

    records = _free_name()
    report = records.with_suffix(".html")
    found = _measured(records)
    first = found.beside.earlier.run.header.run_id
    others = [
        one.run
        for one in found.plan.items
        if one.run is not None and one.run.run.header.run_id != first
    ]
    page = comparison_report(
        found.beside, title=_TITLE, generated_at=datetime.now(UTC), others=others
    )
    write_new(report, page)
    if as_json:
        document = demo_document(
            found.plan,
            calibration=found.calibration,
            beside=found.beside,
            report=str(report),
            records=str(records),
        )
        say_document("demo", document)
        return
    _say(found, records, report)


def _free_name() -> Path:
    """Return a name for the records; earlier ones know the bench already."""
    for number in count(1):
        path = Path(f"{_STEM}{'' if number == 1 else f'-{number}'}.sqlite")
        if not path.exists() and not path.with_suffix(".html").exists():
            return path
    raise AssertionError("numbers do not run out")


def _measured(records: Path) -> _Demo:
    """Measure, calibrate with gauge blocks, and measure again."""
    from rig.inquiry.plan import plan_result
    from rig.inquiry.run_comparison import comparison_on_record
    from rig.procedures.run_context import RunContext

    with (
        open_store(str(records)) as store,
        open_rig(RIG) as rig,
        progress_on_stderr() as tell,
    ):
        context = RunContext.on(rig.mover, SETTINGS, store, tell)
        plan = plan_result(store, _carry_out(_ON_ALL, rig, context))
        first = _first_run(plan)
        assert first.figures is not None, "a run of the demo gives figures"
        farthest_mm = first.figures.release.value
        calibration = _touch_blocks(rig, store, context, farthest_mm)
        again = _first_run(plan_result(store, _carry_out(_ON_STEEL, rig, context)))
        ids = (one.run.header.run_id for one in (first, again))
        return _Demo(
            plan=plan,
            calibration=calibration,
            beside=comparison_on_record(store, *ids),
        )


def _first_run(plan: PlanResult) -> RecordedRun:
    return next(one.run for one in plan.items if one.run is not None)


def _carry_out(text: str, rig: Rig, context: RunContext) -> str:
    """Carry out a plan; return its identity."""
    from rig.catalogue.catalogue import load_catalogue
    from rig.catalogue.plan_file import parse_plan
    from rig.procedures.begin_plan import begin_plan
    from rig.procedures.plan_walk import PlanWalk

    assert rig.simulation is not None, "the demo runs on the simulated rig"
    plan = parse_plan(text, "the plan of the demo", load_catalogue())
    entry = begin_plan(plan, context)
    PlanWalk(entry, context, rig.simulation.mount).carry_out_rest()
    return entry.plan_id


def _touch_blocks(
    rig: Rig, store: Store, context: RunContext, farthest_mm: float
) -> CalibrationResult:
    """Touch off on the gauge blocks that are advised for gaps up to the farthest."""
    from rig.cli.block_measurement import calibrated_by, touched_blocks
    from rig.inquiry.block_calibration import blocks_to_reach_mm

    found = touched_blocks(rig, blocks_to_reach_mm(farthest_mm, LEAD_MM), context.tell)
    return calibrated_by(
        found,
        store,
        rig_id=rig.mover.traits.rig_id,
        certificate=_BLOCKS,
        due_on=(datetime.now(UTC) + _VALID_FOR).date(),
        block_um=_BLOCK_UM,
        lead_mm=LEAD_MM,
    )


def _say(found: _Demo, records: Path, report: Path) -> None:
    from rig.cli.text.calibration_text import calibration_figures_text
    from rig.cli.text.comparison_text import compared_figures_text
    from rig.cli.text.plan_text import plan_text
    from rig.sheets.calibration_sheet import calibration_sheet
    from rig.sheets.comparison_sheet import comparison_sheet
    from rig.sheets.plan_sheet import plan_sheet

    earlier = found.beside.earlier.run.header.run_id
    later = found.beside.later.run.header.run_id
    say(plan_text(plan_sheet(found.plan)))
    say("")
    say(calibration_figures_text(calibration_sheet(found.calibration)))
    say("")
    say(compared_figures_text(comparison_sheet(found.beside)))
    say("")
    say(f"report:  {report} (open it in a browser)")
    say(f"records: {records} (gapsweep results --records {records})")
    say(f"budgets: gapsweep show {later} --beside {earlier} --records {records}")
