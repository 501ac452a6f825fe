"""What `gapsweep sweep` does: one run of what is mounted, now."""

from __future__ import annotations

from typing import Any

from rig.catalogue.catalogue import load_catalogue
from rig.cli.measuring import mounted
from rig.cli.open_rig import SETTINGS, open_rig, open_store
from rig.cli.options import check_temperature, parse_speeds
from rig.cli.output import say, say_document
from rig.cli.progress import progress_on_stderr
from rig.cli.text.run_text import run_text, sweeps_text, truth_text
from rig.cli.text.standard_text import verdicts_text
from rig.errors import InputError
from rig.inquiry.recorded_run import RecordedRun, recorded_run
from rig.inquiry.run_document import Truth, run_document
from rig.procedures.run import RunOrder, carry_out_run, planned_speeds
from rig.procedures.touch_off import touch_off
from rig.records import Writer
from rig.sheets.run_sheet import run_sheet, truth_rows

AUTO = "auto"  # speeds that need the least time


def sweep_now(
    options: dict[str, Any], *, sweeps: int, speeds: str, until_mm: float | None
) -> None:
    """Touch off, sweep, and print the figures.

    Args:
        options: The other options of the command, by name.
        sweeps: Good sweeps wanted, or the most there may be.
        speeds: As typed, or `AUTO`.
        until_mm: Expanded uncertainty to be reached; None for a fixed number.

    Raises:
        RigError: It cannot be measured, or was stopped.
    """
    catalogue = load_catalogue(options["catalogue_path"])
    speeds_mm_s = () if speeds == AUTO else parse_speeds(speeds)
    check_temperature(options["temperature"])
    with open_store(options["records"]) as store, open_rig(options["rig_name"]) as rig:
        sensor, target = mounted(
            rig, catalogue, options["sensor"], options["target"], part=options["part"]
        )
        if options["truth"] and rig.simulation is None:
            raise InputError("--truth goes with --rig sim:// only")
        order = RunOrder(
            sensor=sensor,
            target=target,
            sweeps=sweeps,
            speeds_mm_s=speeds_mm_s
            or planned_speeds(rig.mover.traits, SETTINGS, sensor),
            until_mm=until_mm,
            operator=options["operator"],
            note=options["note"],
            temperature_c=options["temperature"],
            part=options["part"],
        )
        with progress_on_stderr() as tell:
            bench = touch_off(rig.mover, SETTINGS, tell)
            result = carry_out_run(bench, order, Writer(store), tell)
        known = rig.simulation.truth() if options["truth"] and rig.simulation else None
        found = recorded_run(store, result.run.header.run_id)
    _print(found, result.remarks, known, as_json=options["as_json"])


def _print(
    found: RecordedRun, remarks: tuple[str, ...], known: Truth | None, *, as_json: bool
) -> None:
    if as_json:
        say_document("run", run_document(found, remarks=remarks, truth=known))
        return
    sheet = run_sheet(found)
    say(run_text(sheet))
    say("")
    say(verdicts_text(sheet.verdicts))
    say("")
    say(sweeps_text(sheet))
    if known is not None:
        say(truth_text(truth_rows(known)))
