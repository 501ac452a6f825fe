"""`gapsweep check`: what on the bench is fit for measuring."""

from __future__ import annotations

from pathlib import Path

import click

from rig.cli.motions import moves
from rig.cli.open_rig import SETTINGS, declared_bench, open_rig
from rig.cli.options import (
    catalogue_option,
    example,
    json_option,
    quiet_option,
    records_option,
    rig_option,
)
from rig.cli.output import say, say_document
from rig.cli.progress import progress_on_stderr
from rig.cli.text.table import SIMULATED, table
from rig.procedures.motions_ahead import check_ahead

UNFIT_STATUS = 3


@click.command(epilog=example("gapsweep check --rig sim:// --sensor level-18"))
@rig_option
@click.option("--sensor", help="Mounted sensor, to judge the idle level of its output.")
@records_option
@catalogue_option
@quiet_option
@json_option
@moves(check_ahead())
def command(
    rig_name: str,
    sensor: str | None,
    records: str | None,
    catalogue_path: Path | None,
    as_json: bool,
) -> int:
    """Check link, home, datum, backlash, scale, output and cable.

    Exits with status 3 if something is unfit for measuring.
    """
    # Deferred: help must answer at once
    from rig.catalogue.catalogue import load_catalogue
    from rig.procedures.check import CheckDocument, check_bench

    catalogue = load_catalogue(catalogue_path)
    known = catalogue.sensor(sensor) if sensor else None
    with open_rig(rig_name) as rig, progress_on_stderr(check_ahead(SETTINGS)) as tell:
        declared = declared_bench(records, rig.mover.traits.rig_id)
        check = check_bench(rig.mover, SETTINGS, tell, sensor=known, declared=declared)
        simulated = rig.mover.traits.simulated
    if as_json:
        found = CheckDocument(
            simulated=simulated, fit=check.fit, findings=check.findings
        )
        say_document("check", found)
    else:
        if simulated:
            say(SIMULATED)
        rows = [[f.subject, f.fitness.value, f.sentence] for f in check.findings]
        say(table(["subject", "fitness", "finding"], rows))
        say("Fit for measuring." if check.fit else "Not fit for measuring.")
    return 0 if check.fit else UNFIT_STATUS
