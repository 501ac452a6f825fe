"""A calibration from gauge blocks, put on record."""

from __future__ import annotations

import math
import random
from collections.abc import Sequence
from datetime import datetime

import numpy as np

from rig.analysis.axis.block_advice import advised_lengths_mm
from rig.analysis.axis.block_fit import (
    LARGEST_RATIO,
    LEAST_BLOCKS,
    ratio_of_lengths,
)
from rig.analysis.axis.correction_table import ASSUMED_LEAD_MM
from rig.errors import InputError
from rig.inquiry.axis_calibration import (
    CalibrationOrder,
    CalibrationResult,
    calibration_result,
)
from rig.inquiry.block_readings import (
    fit_of_readings,
    reading_uncertainty_mm,
    readings_of_blocks,
)
from rig.inquiry.operators import answered
from rig.model.calibration import AxisCalibration
from rig.model.mounted import Axis, Datum
from rig.records import Store, make_run_id
from rig.records.calibrations import CalibrationBook, CalibrationEntry

_DIGITS = 7  # a tenth of a nanometre: a run keeps the whole table


def add_block_calibration(
    store: Store,
    order: CalibrationOrder,
    axis: Axis,
    datum: Datum,
    lengths_mm: Sequence[float],
    contacts: Sequence[Datum],
    *,
    closing_mm: float,
    now: datetime,
) -> CalibrationResult:
    """Fit scale and periodic error and put the correction on record.

    Args:
        store: Open records.
        order: What goes with the readings; its uncertainty is that of a block.
        axis: The axis.
        datum: Contact without a block.
        lengths_mm: Lengths of the blocks.
        contacts: Contact on each.
        closing_mm: What the face moved by meanwhile.
        now: Time of entry, UTC.

    Raises:
        InputError: The blocks are too few, or leave phases of the screw uncovered.
        RecordsError: It cannot be kept.
    """
    readings = readings_of_blocks(
        datum, lengths_mm, contacts, steps_per_mm=axis.steps_per_mm
    )
    uncertainty_mm = reading_uncertainty_mm(
        order.instrument_uncertainty_mm, [datum, *contacts], closing_mm
    )
    fit = fit_of_readings(
        readings, uncertainty_mm=uncertainty_mm, screw_lead_mm=order.screw_lead_mm
    )
    entry = CalibrationEntry(
        calibration=AxisCalibration(
            calibration_id=make_run_id(now, random.SystemRandom()),
            rig_id=order.rig_id,
            certificate=order.certificate,
            calibrated_on=order.calibrated_on,
            due_on=order.due_on,
            positions_mm=_rounded(fit.positions_mm.tolist()),
            corrections_mm=_rounded(fit.corrections_mm.tolist()),
            standard_uncertainty_mm=_rounded(fit.standard_uncertainty_mm.tolist()),
            screw_lead_mm=order.screw_lead_mm,
            by_blocks=True,
        ),
        readings=readings,
        instrument_uncertainty_mm=uncertainty_mm,
        entered_at=now,
    )
    book = CalibrationBook(store)
    replaces = bool(book.every(order.rig_id))
    book.add(entry, answered(store, order.grounds, replaces=replaces))
    return calibration_result(entry, now.date())


def blocks_to_reach_mm(gap_mm: float, screw_lead_mm: float | None) -> tuple[float, ...]:
    """Return lengths of blocks that cover the turns of a screw up to a gap.

    Args:
        gap_mm: Largest gap; the longest block has the next whole number of mm.
        screw_lead_mm: Lead of the screw; None for the assumed one.
    """
    lead_mm = ASSUMED_LEAD_MM if screw_lead_mm is None else screw_lead_mm
    longest_mm = float(math.ceil(gap_mm))
    added = advised_lengths_mm([longest_mm], lead_mm=lead_mm, longest_mm=longest_mm)
    return tuple(sorted([*added, longest_mm]))


def block_advice(
    lengths_mm: Sequence[float], screw_lead_mm: float | None
) -> tuple[str, ...]:
    """Say which blocks to add, so that the phases of the screw are covered.

    Args:
        lengths_mm: Lengths of the blocks that there are, at least one.
        screw_lead_mm: Lead of the screw; None for the assumed one.

    Raises:
        InputError: The blocks are too few, or leave phases of the screw uncovered.
    """
    lead_mm = ASSUMED_LEAD_MM if screw_lead_mm is None else screw_lead_mm
    added = advised_lengths_mm(lengths_mm, lead_mm=lead_mm, longest_mm=max(lengths_mm))
    wanted = ", ".join(f"{length:g}" for length in added)
    few = len(lengths_mm) < LEAST_BLOCKS
    if few or ratio_of_lengths(np.array([0.0, *lengths_mm]), lead_mm) > LARGEST_RATIO:
        raise InputError(
            f"{len(lengths_mm)} blocks of these lengths cannot tell the scale from the"
            f" turns of a {lead_mm:g} mm screw",
            hint=f"add {wanted} mm" if wanted else f"give {LEAST_BLOCKS} or more",
        )
    if not added:
        return ()
    return (
        f"Blocks of {wanted} mm besides would cover the turns of a {lead_mm:g} mm screw"
        " better and leave readings to spare, so that the corrections are less"
        " uncertain.",
    )


def _rounded(values: Sequence[float]) -> tuple[float, ...]:
    return tuple(round(value, _DIGITS) for value in values)
