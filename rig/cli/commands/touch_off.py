"""`gapsweep touch-off`: the datum and the backlash, on the touch probe."""

from __future__ import annotations

import click

from rig.cli.documents import emit, figure_document
from rig.cli.open_rig import SETTINGS, open_rig
from rig.cli.options import example, json_option, rig_option
from rig.cli.output import say
from rig.cli.progress import progress_on_stderr
from rig.cli.text.table import SIMULATED
from rig.model.figures import Contribution, Evaluation, Figure
from rig.model.mounted import Backlash, Datum
from rig.model.rounding import format_figure


@click.command(epilog=example("gapsweep touch-off --rig /dev/ttyUSB0"))
@rig_option
@json_option
def command(rig_name: str, as_json: bool) -> None:
    """Find where the gap is 0, and the lost motion on reversal.

    The axis homes and touches the face slowly: keep hands clear.
    """
    # Deferred: help must answer at once
    from rig.procedures.touch_off import touch_off

    with open_rig(rig_name) as rig, progress_on_stderr() as tell:
        bench = touch_off(rig.mover, SETTINGS, tell)
        simulated = rig.mover.traits.simulated
    datum = _datum_figure(bench.datum, bench.axis.steps_per_mm)
    backlash = _backlash_figure(bench.backlash)
    if as_json:
        emit(
            {
                "simulated": simulated,
                "datum_from_home_mm": figure_document(datum),
                "datum_position_steps": bench.datum.position_steps,
                "found_at": bench.datum.found_at.isoformat(),
                "backlash_mm": figure_document(backlash),
            }
        )
        return
    if simulated:
        say(SIMULATED)
    say(f"datum, from home  {format_figure(datum)}")
    say(f"backlash          {format_figure(backlash)}")


def _datum_figure(datum: Datum, steps_per_mm: float) -> Figure:
    from rig.analysis.numbers.uncertainty import figure

    budget = (
        Contribution(
            name="touch-off scatter",
            evaluation=Evaluation.TYPE_A,
            standard_uncertainty=datum.standard_uncertainty_mm,
            unit="mm",
            degrees_of_freedom=datum.degrees_of_freedom,
        ),
        Contribution(
            name="touch probe",
            evaluation=Evaluation.TYPE_B,
            standard_uncertainty=datum.probe_uncertainty_mm,
            unit="mm",
        ),
    )
    return figure(datum.position_steps / steps_per_mm, "mm", budget, n=datum.n)


def _backlash_figure(backlash: Backlash) -> Figure:
    from rig.analysis.numbers.uncertainty import figure

    line = Contribution(
        name="contacts made and broken",
        evaluation=Evaluation.TYPE_A,
        standard_uncertainty=backlash.standard_uncertainty_mm,
        unit="mm",
        degrees_of_freedom=backlash.degrees_of_freedom,
    )
    return figure(backlash.value_mm, "mm", (line,), n=backlash.n)
