"""The calibration in force, worked out again from the readings on record."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path

import numpy as np
import pytest

from rig.analysis.axis.axis_test import axis_test, readings_from_rows
from rig.analysis.axis.calibration_state import CalibrationState
from rig.errors import InputError
from rig.inquiry.axis_calibration import (
    CalibrationOrder,
    add_calibration,
    axis_readings,
    calibrations,
)
from rig.records import open_records
from rig.records.calibrations import CalibrationBook, readings_as_rows

NOW = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)
ORDER = CalibrationOrder(
    rig_id="bench-2",
    certificate="AX-7",
    calibrated_on=date(2026, 11, 20),
    due_on=date(2027, 11, 20),
    instrument_uncertainty_mm=0.0006,
)


@pytest.fixture
def table(tmp_path: Path) -> Path:
    rows = [
        f"{place},{way},{0.001 * place - 0.02 * (way == 'down') + scatter:.6f}"
        for scatter in (0.0, 0.0004)
        for way in ("up", "down")
        for place in (0, 18, 36)
    ]
    path = tmp_path / "axis.csv"
    path.write_text("\n".join(["target_mm,direction,deviation_mm", *rows]), "utf-8")
    return path


def test_what_is_kept_gives_the_same_axis_test_again(
    tmp_path: Path, table: Path
) -> None:
    with open_records(tmp_path / "r.sqlite") as store:
        added = add_calibration(store, axis_readings(table), ORDER, NOW)
        (kept,) = CalibrationBook(store).every("bench-2")
        others = CalibrationBook(store).every("bench-3")

    again = axis_test(
        readings_from_rows(readings_as_rows(kept.readings)),
        indicator_uncertainty_mm=kept.instrument_uncertainty_mm,
    )
    assert list(others) == []
    assert kept.calibration.calibration_id == added.calibration_id
    assert again.accuracy == added.axis_test.accuracy
    np.testing.assert_array_equal(again.mean_up, added.axis_test.mean_up)


def test_a_later_one_comes_into_force_and_its_state_is_that_of_the_day(
    tmp_path: Path, table: Path
) -> None:
    with open_records(tmp_path / "r.sqlite") as store:
        readings = axis_readings(table)
        add_calibration(store, readings, ORDER, NOW)
        add_calibration(
            store, readings, replace(ORDER, certificate="AX-8"), NOW.replace(hour=13)
        )
        valid = calibrations(store, NOW.date())
        stale = calibrations(store, date(2028, 1, 1))

    assert [one.certificate for one in valid.in_force] == ["AX-8"]
    assert valid.earlier == 1
    assert valid.in_force[0].state is CalibrationState.VALID
    assert stale.in_force[0].state is CalibrationState.STALE
    assert "was due on 2027-11-20" in stale.in_force[0].statement


def test_an_uncertainty_below_0_keeps_nothing(tmp_path: Path, table: Path) -> None:
    with open_records(tmp_path / "r.sqlite") as store:
        wrong = replace(ORDER, instrument_uncertainty_mm=-0.1)
        with pytest.raises(InputError, match="below 0"):
            add_calibration(store, axis_readings(table), wrong, NOW)
        kept = calibrations(store, NOW.date())

    assert kept.in_force == ()
