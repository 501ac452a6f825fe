"""An axis calibrated with gauge blocks on the touch probe, on another day.

The contacts come from arrays, in the order in which the procedure takes them; the table
is worked out by the product's own functions.
"""

from __future__ import annotations

from datetime import UTC, datetime
from functools import cache
from typing import Final

import numpy as np

from rig.analysis.axis.block_advice import advised_lengths_mm
from rig.analysis.edges.datum_closing import datum_closing
from rig.analysis.edges.touch import datum_from_touches
from rig.inquiry.block_readings import (
    fit_of_readings,
    reading_uncertainty_mm,
    readings_of_blocks,
)
from rig.model.calibration import AxisCalibration
from rig.model.mounted import Datum
from rig.model.settings import BenchSettings
from rig.model.sweeps import DatumCheck
from rig.procedures.datum_check import TOUCHES as CLOSING_TOUCHES
from sim.population import World
from tests.campaigns.benches import Array, draw_benches
from tests.campaigns.edges import TOUCH_S, touch, touch_again

# Beyond what the largest sensor of the pairs sees; a person takes half more than s_n
LONGEST_MM: Final = 12.0
# Standard uncertainty of a block with its seat as a person states it: 0.1 um of the
# certificate, and a trace of dirt (common practice, no source)
BLOCK_MM: Final = 0.2e-3
_FIRST_BLOCK_S: Final = 50.0
_TOUCHES: Final = BenchSettings().touches
_CHANGE_S: Final = 15.0  # to handle a block in and to find it
_THEN: Final = datetime(2026, 1, 1, tzinfo=UTC)


@cache
def lengths_for(lead_mm: float) -> tuple[float, ...]:
    """Return the lengths that the product advises beside the longest block."""
    lengths: tuple[float, ...] = (LONGEST_MM,)
    while added := advised_lengths_mm(lengths, lead_mm=lead_mm, longest_mm=LONGEST_MM):
        lengths = tuple(sorted((*lengths, *added)))
    return lengths


@cache
def calibrated_by_blocks(world: World) -> AxisCalibration:
    """Touch the face, every block and the face again; return what is kept of it."""
    bench = draw_benches([world.number]).another_day()
    rng = np.random.default_rng([world.number, 78])
    lead_mm, scale = world.machine.screw_lead_mm, float(world.machine.steps_per_mm)
    lengths_mm = lengths_for(lead_mm)
    face = touch(bench, rng)
    at_s, contacts = _FIRST_BLOCK_S, []
    for length_mm in lengths_mm:
        block_mm = length_mm + _block_error_mm(world, length_mm, rng)
        times = at_s + TOUCH_S * np.arange(_TOUCHES)
        touched = touch_again(bench, face.home_steps, times, rng, block_mm=block_mm)
        contacts.append(_datum(touched.closings, scale))
        at_s = float(times[-1]) + _CHANGE_S
    times = at_s + TOUCH_S * np.arange(CLOSING_TOUCHES)
    again = _datum(touch_again(bench, face.home_steps, times, rng).closings, scale)
    datum = _datum(face.closings, scale)
    readings = readings_of_blocks(datum, lengths_mm, contacts, steps_per_mm=scale)
    uncertainty_mm = reading_uncertainty_mm(
        BLOCK_MM, [datum, *contacts], _closing_mm(datum, again, scale)
    )
    fit = fit_of_readings(
        readings, uncertainty_mm=uncertainty_mm, screw_lead_mm=lead_mm
    )
    return AxisCalibration(
        calibration_id="campaign",
        rig_id="campaign",
        certificate="campaign",
        calibrated_on=_THEN.date(),
        due_on=_THEN.date(),
        positions_mm=tuple(fit.positions_mm.tolist()),
        corrections_mm=tuple(fit.corrections_mm.tolist()),
        standard_uncertainty_mm=tuple(fit.standard_uncertainty_mm.tolist()),
        screw_lead_mm=lead_mm,
        by_blocks=True,
    )


def _block_error_mm(world: World, length_mm: float, rng: np.random.Generator) -> float:
    blocks = world.machine.blocks
    of_set = np.random.default_rng([world.number, 79, round(length_mm * 1e6)])
    length = blocks.length_sd_mm * of_set.standard_normal()
    return float(length + blocks.seat_mm * rng.standard_exponential())


def _datum(closings: Array, scale: float) -> Datum:
    return datum_from_touches(
        closings[0], steps_per_mm=scale, probe_uncertainty_mm=0.0, found_at=_THEN
    )


def _closing_mm(datum: Datum, again: Datum, scale: float) -> float:
    check = DatumCheck(
        sweeps_before=0,
        position_steps=again.position_steps,
        standard_uncertainty_mm=again.standard_uncertainty_mm,
        degrees_of_freedom=again.degrees_of_freedom,
        n=again.n,
        touched_at=_THEN,
        conditions_index=0,
    )
    closing = datum_closing(
        [check],
        datum.position_steps,
        datum.standard_uncertainty_mm,
        steps_per_mm=scale,
        last_sweep=-1,
    )
    assert closing is not None
    # The procedure gives up if the face moved; minutes do not move one that far
    assert not closing.moved
    return closing.difference_mm
