"""Gauge blocks touched off on a rig, and the calibration that they make."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, date, datetime
from typing import TYPE_CHECKING

from rig.cli.open_rig import SETTINGS, put_by_hand
from rig.model.grounds import NO_GROUNDS, Grounds
from rig.procedures.events import Tell
from rig.wiring import Rig

if TYPE_CHECKING:
    from rig.inquiry.axis_calibration import CalibrationResult
    from rig.procedures.block_touches import BlockTouches
    from rig.records import Store


def touched_blocks(rig: Rig, lengths_mm: Sequence[float], tell: Tell) -> BlockTouches:
    """Ask for each block and touch off on it; a simulated rig puts them on by itself.

    Raises:
        InputError: A length is not above 0 or stands twice, or leaves no room.
        BenchError: A contact is not where the block's length has it, or the face moved.
        Stopped: Somebody stopped it.
        LinkError: The rig failed.
    """
    # Deferred: help must answer at once
    from rig.procedures.block_touches import touch_blocks

    put = put_by_hand if rig.simulation is None else rig.simulation.put_block
    return touch_blocks(
        rig.mover, SETTINGS, lengths_mm, put, tell, now=lambda: datetime.now(UTC)
    )


def calibrated_by(
    found: BlockTouches,
    store: Store,
    *,
    rig_id: str,
    certificate: str,
    due_on: date,
    block_um: float,
    lead_mm: float | None,
    grounds: Grounds = NO_GROUNDS,
) -> CalibrationResult:
    """Put on record what touches on gauge blocks say of the axis.

    Args: found: The touches. store: Open records. rig_id: The rig whose axis it is.
    certificate: Number under which it is recorded. due_on: Last day on which it is
    valid. block_um: Standard uncertainty of a block's length, um. lead_mm: Travel in
    one turn of the screw; None if nobody says. grounds: Who enters it, and why.

    Raises:
        InputError: The blocks are too few, or leave phases of the screw uncovered.
        RecordsError: It cannot be kept.
    """
    # Deferred: help must answer at once
    from rig.inquiry.axis_calibration import CalibrationOrder
    from rig.inquiry.block_calibration import add_block_calibration

    now = datetime.now(UTC)
    order = CalibrationOrder(
        rig_id=rig_id,
        certificate=certificate,
        calibrated_on=now.date(),
        due_on=due_on,
        instrument_uncertainty_mm=block_um / 1000.0,
        screw_lead_mm=lead_mm,
        grounds=grounds,
    )
    return add_block_calibration(
        store,
        order,
        found.bench.axis,
        found.bench.datum,
        found.lengths_mm,
        found.contacts,
        closing_mm=found.closing_mm,
        now=now,
    )
