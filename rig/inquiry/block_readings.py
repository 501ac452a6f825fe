"""Contacts on gauge blocks as the readings that a calibration keeps, and back."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from rig.analysis.axis.block_fit import BlockFit, BlockReadings, block_fit
from rig.analysis.axis.correction_table import ASSUMED_LEAD_MM
from rig.model.mounted import Datum
from rig.records.calibrations import AxisReading, CalibrationEntry


def readings_of_blocks(
    datum: Datum,
    lengths_mm: Sequence[float],
    contacts: Sequence[Datum],
    *,
    steps_per_mm: float,
) -> tuple[AxisReading, ...]:
    """Return contacts as deviations from the commanded place, 0 at the face.

    Args:
        datum: Contact without a block.
        lengths_mm: Lengths of the blocks.
        contacts: Contact on each.
        steps_per_mm: Scale of the axis.
    """
    face_mm = datum.position_steps / steps_per_mm
    found = [AxisReading(target_mm=face_mm, direction="up", deviation_mm=0.0)]
    for length_mm, contact in zip(lengths_mm, contacts, strict=True):
        place_mm = contact.position_steps / steps_per_mm
        # Away from the face by the block's length, and not by what is counted
        deviation_mm = (face_mm - length_mm) - place_mm
        found.append(
            AxisReading(target_mm=place_mm, direction="up", deviation_mm=deviation_mm)
        )
    return tuple(found)


def fit_of_readings(
    readings: Sequence[AxisReading],
    *,
    uncertainty_mm: float,
    screw_lead_mm: float | None,
) -> BlockFit:
    """Fit scale and periodic error to readings on blocks.

    Args:
        readings: Deviations from the commanded place, the first at the face.
        uncertainty_mm: Standard uncertainty of a contact and its block together.
        screw_lead_mm: Lead of the screw; None for the assumed one.

    Raises:
        InputError: The blocks are too few or leave phases of the screw uncovered.
    """
    places = np.array([one.target_mm for one in readings])
    deviations = np.array([one.deviation_mm for one in readings])
    lengths = (places[0] - places) - deviations
    lengths[0] = 0.0
    return block_fit(
        BlockReadings(
            lengths_mm=lengths,
            places_mm=places,
            uncertainties_mm=np.full(places.size, uncertainty_mm),
            lead_mm=ASSUMED_LEAD_MM if screw_lead_mm is None else screw_lead_mm,
        )
    )


def fit_of_blocks(entry: CalibrationEntry) -> BlockFit:
    """Fit a calibration on record that gauge blocks made.

    Raises:
        InputError: Its readings make no fit.
    """
    return fit_of_readings(
        entry.readings,
        uncertainty_mm=entry.instrument_uncertainty_mm,
        screw_lead_mm=entry.calibration.screw_lead_mm,
    )


def reading_uncertainty_mm(
    block_mm: float, contacts: Sequence[Datum], closing_mm: float
) -> float:
    """Standard uncertainty of a contact and its block together.

    Args:
        block_mm: Standard uncertainty of a block's length.
        contacts: Contacts, that without a block among them.
        closing_mm: What the face moved by over all of them.
    """
    squares = [contact.standard_uncertainty_mm**2 for contact in contacts]
    touch_mm = math.sqrt(sum(squares) / len(squares))
    # The face may have moved by any part of it: rectangular
    return math.hypot(block_mm, touch_mm, closing_mm / math.sqrt(3.0))
