"""Datum and backlash as figures with their uncertainty, and as a JSON document."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from rig.analysis.numbers.uncertainty import figure
from rig.model.figures import Contribution, Evaluation, Figure
from rig.model.mounted import Axis, Backlash, Datum


@dataclass(frozen=True, slots=True, kw_only=True)
class TouchOffFigures:
    """What a touch-off gave.

    Attributes:
        simulated: Whether the rig is simulated.
        datum_from_home_mm: Where the gap is 0, from home.
        datum_position_steps: Where the gap is 0, as a step count.
        found_at: When the datum was found, UTC.
        backlash_mm: Lost motion on reversal, as it is in places.
        screw_backlash_mm: Lost motion of the screw, which a linear scale leaves out of
            places; None without one.
    """

    simulated: bool
    datum_from_home_mm: Figure
    datum_position_steps: float
    found_at: datetime
    backlash_mm: Figure
    screw_backlash_mm: float | None


def touch_off_figures(
    axis: Axis, datum: Datum, backlash: Backlash, *, simulated: bool
) -> TouchOffFigures:
    """Give datum and backlash their uncertainty."""
    return TouchOffFigures(
        simulated=simulated,
        datum_from_home_mm=_datum(datum, axis.steps_per_mm),
        datum_position_steps=datum.position_steps,
        found_at=datum.found_at,
        backlash_mm=_backlash(backlash),
        screw_backlash_mm=backlash.screw_mm,
    )


def _datum(datum: Datum, steps_per_mm: float) -> Figure:
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
    return figure(datum.place_steps / steps_per_mm, "mm", budget, n=datum.n)


def _backlash(backlash: Backlash) -> Figure:
    line = Contribution(
        name="contacts made and broken",
        evaluation=Evaluation.TYPE_A,
        standard_uncertainty=backlash.standard_uncertainty_mm,
        unit="mm",
        degrees_of_freedom=backlash.degrees_of_freedom,
    )
    return figure(backlash.value_mm, "mm", (line,), n=backlash.n)
