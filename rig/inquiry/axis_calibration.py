"""The calibration of an axis: worked out from readings, kept, and whether it holds."""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import dataclass, fields
from datetime import date, datetime
from pathlib import Path
from typing import Any

from rig.analysis.axis.axis_correction import correction_table
from rig.analysis.axis.axis_test import AxisTest, axis_test, readings_from_rows
from rig.analysis.axis.block_fit import BlockFit
from rig.analysis.axis.calibration_state import CalibrationState, calibration_state
from rig.analysis.axis.correction_table import period_sentence, table_from_axis_test
from rig.catalogue.table_input import TableRow, read_table
from rig.errors import InputError
from rig.inquiry.block_readings import fit_of_blocks
from rig.inquiry.operators import answered
from rig.inquiry.place_check import PlaceCheckResult, newest_place_checks
from rig.model.calibration import AxisCalibration
from rig.model.grounds import NO_GROUNDS, Grounds
from rig.records import Store, make_run_id
from rig.records.calibrations import (
    AxisReading,
    CalibrationBook,
    CalibrationEntry,
    readings_as_rows,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class CalibrationOrder:
    """What goes with the readings.

    Attributes:
        rig_id: Identity of the rig whose axis was read.
        certificate: What the calibration is recorded under.
        calibrated_on: Day of the readings.
        due_on: Last day on which it may be relied on.
        instrument_uncertainty_mm: Standard uncertainty of the indicator or the blocks.
        screw_lead_mm: Lead of the screw; None if nobody says.
        grounds: Who enters it, and why.
    """

    rig_id: str
    certificate: str
    calibrated_on: date
    due_on: date
    instrument_uncertainty_mm: float
    screw_lead_mm: float | None = None
    grounds: Grounds = NO_GROUNDS


@dataclass(frozen=True, slots=True, kw_only=True)
class StandingCalibration(AxisCalibration):
    """A calibration and whether it may be relied on.

    Attributes:
        state: Whether it may be relied on, on the day of the question.
        statement: The state in words; empty if it is valid.
    """

    state: CalibrationState
    statement: str


@dataclass(frozen=True, slots=True, kw_only=True)
class CalibrationResult(StandingCalibration):
    """A calibration with the axis test that it was made from.

    Attributes:
        instrument_uncertainty_mm: Standard uncertainty of the indicator or the blocks.
        axis_test: Figures of ISO 230-2; None for gauge blocks.
        blocks: What gauge blocks on the probe gave; None for an indicator.
        period: What its places cannot show of an error that repeats with every turn of
            the screw; empty if they are close enough.
    """

    instrument_uncertainty_mm: float
    axis_test: AxisTest | None
    blocks: BlockFit | None
    period: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Calibrations:
    """The calibrations on record.

    Attributes:
        in_force: The newest calibration of every rig.
        earlier: How many others there are.
        place_checks: The newest check of every rig's screw by one sensor at several
            places.
    """

    in_force: tuple[StandingCalibration, ...]
    earlier: int
    place_checks: tuple[PlaceCheckResult, ...]


def axis_readings(path: Path) -> tuple[AxisReading, ...]:
    """Read a table of readings of the axis.

    Args:
        path: CSV file with the columns target_mm, direction, and deviation_mm or
            reading_mm.

    Raises:
        InputError: A column is missing, or a cell is not right.
    """
    rows = read_table(
        path,
        required=("target_mm", "direction"),
        optional=("deviation_mm", "reading_mm"),
    )
    given = [name for name in ("deviation_mm", "reading_mm") if name in rows[0].cells]
    if len(given) != 1:
        raise InputError(
            f"{path} needs one of the columns deviation_mm and reading_mm",
            hint="deviation is reading minus target: what an indicator shows",
        )
    return tuple(_reading(row) for row in rows)


def _reading(row: TableRow) -> AxisReading:
    target = row.number("target_mm")
    direction = row.text("direction").lower()
    if direction not in ("up", "down"):
        raise InputError(
            f"{row.where}, column 'direction' is {direction!r}: up for approach, down"
            " for retreat"
        )
    if "deviation_mm" in row.cells:
        deviation = row.number("deviation_mm")
    else:
        deviation = row.number("reading_mm") - target
    return AxisReading(target_mm=target, direction=direction, deviation_mm=deviation)


def add_calibration(
    store: Store,
    readings: Sequence[AxisReading],
    order: CalibrationOrder,
    now: datetime,
) -> CalibrationResult:
    """Work the axis test out and put the calibration on record; it is then in force.

    Args:
        store: Open records.
        readings: Readings in the order taken.
        order: What goes with them.
        now: Time of entry, UTC.

    Raises:
        InputError: The readings make no axis test, or the order is not right.
        RecordsError: It cannot be kept.
    """
    instrument_mm = order.instrument_uncertainty_mm
    if not instrument_mm >= 0.0:
        raise InputError("the uncertainty of the instrument is below 0: give its size")
    test = _test(readings, instrument_mm)
    made = table_from_axis_test(
        test,
        instrument_uncertainty_mm=instrument_mm,
        calibrated_on=order.calibrated_on,
        due_on=order.due_on,
        certificate=order.certificate,
        screw_lead_mm=order.screw_lead_mm,
    )
    entry = CalibrationEntry(
        calibration=AxisCalibration(
            calibration_id=make_run_id(now, random.SystemRandom()),
            rig_id=order.rig_id,
            certificate=order.certificate,
            calibrated_on=order.calibrated_on,
            due_on=order.due_on,
            positions_mm=made.positions_mm,
            corrections_mm=made.corrections_mm,
            standard_uncertainty_mm=made.standard_uncertainty_mm,
            corrections_down_mm=made.corrections_down_mm,
            standard_uncertainty_down_mm=made.standard_uncertainty_down_mm,
            screw_lead_mm=made.screw_lead_mm,
        ),
        readings=tuple(readings),
        instrument_uncertainty_mm=instrument_mm,
        entered_at=now,
    )
    book = CalibrationBook(store)
    replaces = bool(book.every(order.rig_id))
    book.add(entry, answered(store, order.grounds, replaces=replaces))
    return calibration_result(entry, now.date())


def calibration_on_record(
    store: Store, rig_id: str, today: date
) -> CalibrationResult | None:
    """Work out again the calibration in force for a rig; None if it has none.

    Args:
        store: Open records.
        rig_id: Identity of the rig.
        today: Day on which it is to be relied on.

    Raises:
        RecordsError: The records cannot be read.
    """
    entries = CalibrationBook(store).every(rig_id)
    if not entries:
        return None
    return calibration_result(entries[-1], today)


def calibrations_with_tests(store: Store, today: date) -> tuple[CalibrationResult, ...]:
    """Work out again the calibration in force for every rig, read at one moment.

    Args:
        store: Open records.
        today: Day on which they are to be relied on.

    Raises:
        RecordsError: The records cannot be read.
    """
    with store.snapshot() as moment:
        rigs = [one.rig_id for one in calibrations(moment, today).in_force]
        found = [calibration_on_record(moment, rig_id, today) for rig_id in rigs]
    return tuple(one for one in found if one is not None)


def calibrations(store: Store, today: date) -> Calibrations:
    """Return the calibration in force for every rig, and whether it still holds.

    Args:
        store: Open records.
        today: Day on which they are to be relied on.

    Raises:
        RecordsError: The records cannot be read.
    """
    entries = CalibrationBook(store).every()
    newest = {entry.calibration.rig_id: entry.calibration for entry in entries}
    return Calibrations(
        in_force=tuple(
            StandingCalibration(**_standing(one, today)) for one in newest.values()
        ),
        earlier=len(entries) - len(newest),
        place_checks=newest_place_checks(store),
    )


def _test(readings: Sequence[AxisReading], instrument_mm: float) -> AxisTest:
    return axis_test(
        readings_from_rows(readings_as_rows(readings)),
        indicator_uncertainty_mm=instrument_mm,
    )


def calibration_result(entry: CalibrationEntry, today: date) -> CalibrationResult:
    """Work a calibration on record out again.

    Args:
        entry: The calibration with its readings.
        today: Day on which it is to be relied on.

    Raises:
        InputError: The readings make no calibration.
    """
    by_blocks = entry.calibration.by_blocks
    instrument_mm = entry.instrument_uncertainty_mm
    return CalibrationResult(
        **_standing(entry.calibration, today),
        instrument_uncertainty_mm=instrument_mm,
        axis_test=None if by_blocks else _test(entry.readings, instrument_mm),
        blocks=fit_of_blocks(entry) if by_blocks else None,
        period=period_sentence(correction_table(entry.calibration)),
    )


def _standing(calibration: AxisCalibration, today: date) -> dict[str, Any]:
    state, statement = calibration_state(correction_table(calibration), today)
    own = {
        field.name: getattr(calibration, field.name) for field in fields(calibration)
    }
    return own | {"state": state, "statement": statement}
