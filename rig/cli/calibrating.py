"""What `gapsweep calibrate` does: readings to a table on record, and its state."""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime
from pathlib import Path

from rig.analysis.axis.axis_correction import correction_table
from rig.analysis.axis.axis_test import AxisTest, axis_test, readings_from_rows
from rig.analysis.axis.correction_table import (
    CalibrationState,
    calibration_state,
    table_from_axis_test,
)
from rig.catalogue.csv_input import CsvRow, read_csv
from rig.cli.documents import emit, figure_document
from rig.cli.open_rig import open_rig, open_store
from rig.cli.output import say
from rig.cli.text.table import table
from rig.errors import InputError
from rig.model.calibration import AxisCalibration
from rig.model.plain import plain
from rig.model.rounding import format_figure
from rig.records import make_run_id
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
        rig_id: Of the rig whose axis was read.
        certificate: What the calibration is recorded under.
        calibrated_on: Day of the readings.
        due_on: Last day on which it may be relied on.
        instrument_uncertainty_mm: Standard uncertainty of the indicator or the blocks.
    """

    rig_id: str
    certificate: str
    calibrated_on: date
    due_on: date
    instrument_uncertainty_mm: float


def rig_id_of(rig_name: str) -> str:
    """Ask a rig for its identity.

    Raises:
        LinkError: It does not answer.
    """
    with open_rig(rig_name) as rig:
        return rig.mover.traits.rig_id


def add_calibration(
    path: Path, order: CalibrationOrder, *, records: str | None, as_json: bool
) -> None:
    """Work the axis test out and put the calibration on record.

    Raises:
        RigError: A reading is not right, or it cannot be kept.
    """
    if not order.instrument_uncertainty_mm >= 0.0:
        raise InputError("the uncertainty of the instrument is below 0: give its size")
    readings = tuple(_reading(row) for row in _rows(path))
    test = axis_test(
        readings_from_rows(readings_as_rows(readings)),
        indicator_uncertainty_mm=order.instrument_uncertainty_mm,
    )
    made = table_from_axis_test(
        test,
        instrument_uncertainty_mm=order.instrument_uncertainty_mm,
        calibrated_on=order.calibrated_on,
        due_on=order.due_on,
        certificate=order.certificate,
    )
    now = datetime.now(UTC)
    calibration = AxisCalibration(
        calibration_id=make_run_id(now, random.SystemRandom()),
        rig_id=order.rig_id,
        certificate=order.certificate,
        calibrated_on=order.calibrated_on,
        due_on=order.due_on,
        positions_mm=made.positions_mm,
        corrections_mm=made.corrections_mm,
        standard_uncertainty_mm=made.standard_uncertainty_mm,
    )
    entry = CalibrationEntry(
        calibration=calibration,
        readings=readings,
        instrument_uncertainty_mm=order.instrument_uncertainty_mm,
        entered_at=now,
    )
    with open_store(records) as store:
        CalibrationBook(store).add(entry)
    _say_test(calibration, test, now.date(), as_json=as_json)


def _rows(path: Path) -> list[CsvRow]:
    rows = read_csv(
        path,
        required=("target_mm", "direction"),
        optional=("deviation_mm", "reading_mm"),
    )
    given = [name for name in ("deviation_mm", "reading_mm") if name in rows[0].cells]
    if len(given) != 1:
        raise InputError(
            f"{path} needs one of the columns deviation_mm and reading_mm",
            hint="deviation is reading less target: what an indicator shows",
        )
    return rows


def _reading(row: CsvRow) -> AxisReading:
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


def _say_test(
    calibration: AxisCalibration, test: AxisTest, today: date, *, as_json: bool
) -> None:
    state, statement = calibration_state(correction_table(calibration), today)
    if as_json:
        document = plain(calibration) | {
            "state": state.value,
            "statement": statement,
            "axis_test": plain(test) | {"mean_reversal": None},
        }
        document["axis_test"]["mean_reversal"] = figure_document(test.mean_reversal)
        emit(document)
        return
    say(f"calibration {calibration.calibration_id} of {calibration.rig_id}")
    say(_test_text(test))
    say(_table_text([calibration], today))
    for words in test.statements:
        say(f"Note: {words}.")
    if statement:
        say(f"Note: {statement}.")


def _test_text(test: AxisTest) -> str:
    figures = {
        "reversal value B": test.reversal,
        "repeatability, up": test.repeatability_up,
        "repeatability, down": test.repeatability_down,
        "repeatability, both directions R": test.repeatability,
        "systematic deviation, up": test.systematic_up,
        "systematic deviation, down": test.systematic_down,
        "systematic deviation, both directions E": test.systematic,
        "range of the mean deviations M": test.mean_systematic,
        "accuracy, up": test.accuracy_up,
        "accuracy, down": test.accuracy_down,
        "accuracy, both directions A": test.accuracy,
    }
    width = max(len(name) for name in figures)
    lines = [f"{name.ljust(width)}  {value:.5f} mm" for name, value in figures.items()]
    mean = format_figure(test.mean_reversal)
    return "\n".join(
        [
            f"ISO 230-2, from {test.n} runs each way:",
            *lines,
            f"{'mean reversal'.ljust(width)}  {mean}",
        ]
    )


def _table_text(calibrations: Sequence[AxisCalibration], today: date) -> str:
    rows = []
    for one in calibrations:
        state, _ = calibration_state(correction_table(one), today)
        rows += [
            [
                one.rig_id,
                one.certificate,
                f"{place:g}",
                f"{correction:+.5f}",
                f"{uncertainty:.5f}",
                f"{one.calibrated_on} to {one.due_on}",
                state.value,
            ]
            for place, correction, uncertainty in zip(
                one.positions_mm,
                one.corrections_mm,
                one.standard_uncertainty_mm,
                strict=True,
            )
        ]
    head = ["rig", "certificate", "place mm", "correction mm", "standard u mm"]
    return table([*head, "holds", ""], rows)


def show_calibrations(*, records: str | None, as_json: bool) -> None:
    """Show the calibration in force for every rig, and whether it is still valid.

    Raises:
        RecordsError: The records cannot be read.
    """
    today = datetime.now(UTC).date()
    with open_store(records, read_only=True) as store:
        entries = CalibrationBook(store).every()
    in_force = {e.calibration.rig_id: e.calibration for e in entries}
    states = {
        rig_id: calibration_state(correction_table(one), today)
        for rig_id, one in in_force.items()
    }
    if as_json:
        emit(
            {
                "in_force": [
                    plain(one)
                    | {
                        "state": states[rig_id][0].value,
                        "statement": states[rig_id][1],
                    }
                    for rig_id, one in in_force.items()
                ],
                "earlier": len(entries) - len(in_force),
            }
        )
        return
    if not in_force:
        say("No axis has a calibration: positions rest on the nominal screw.")
        return
    say(_table_text(list(in_force.values()), today))
    for state, statement in states.values():
        if state is not CalibrationState.VALID:
            say(f"Note: {statement}.")
