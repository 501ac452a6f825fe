"""`gapsweep touch-off`: the datum and the backlash, on the touch probe."""

from __future__ import annotations

import click

from rig.cli.motions import moves
from rig.cli.open_rig import SETTINGS, declared_bench, open_rig
from rig.cli.options import (
    example,
    json_option,
    quiet_option,
    records_option,
    rig_option,
)
from rig.cli.output import say, say_document
from rig.cli.progress import progress_on_stderr
from rig.cli.text.table import SIMULATED
from rig.procedures.motions_ahead import touch_off_ahead


@click.command(epilog=example("gapsweep touch-off --rig /dev/ttyUSB0"))
@rig_option
@records_option
@quiet_option
@json_option
@moves(touch_off_ahead())
def command(rig_name: str, records: str | None, as_json: bool) -> None:
    """Find where the gap is 0, and the lost motion on reversal."""
    # Deferred: help must answer at once
    from rig.inquiry.touch_off_figures import touch_off_figures
    from rig.procedures.touch_off import touch_off
    from rig.sheets.touch_off_sheet import touch_off_rows

    with (
        open_rig(rig_name) as rig,
        progress_on_stderr(touch_off_ahead(SETTINGS)) as tell,
    ):
        declared = declared_bench(records, rig.mover.traits.rig_id)
        bench = touch_off(rig.mover, SETTINGS, tell, declared=declared)
        simulated = rig.mover.traits.simulated
    found = touch_off_figures(
        bench.axis, bench.datum, bench.backlash, simulated=simulated
    )
    if as_json:
        say_document("touch-off", found)
        return
    if simulated:
        say(SIMULATED)
    rows = touch_off_rows(found)
    width = max(len(name) for name, _ in rows)
    for name, words in rows:
        say(f"{name.ljust(width)}  {words}")
