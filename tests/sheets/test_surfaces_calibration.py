"""A calibration reads alike on every surface: all of it comes from its one sheet."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from rig.cli.text.calibration_text import calibration_text, calibrations_text
from rig.inquiry.axis_calibration import (
    CalibrationOrder,
    CalibrationResult,
    add_calibration,
    calibrations,
    calibrations_with_tests,
)
from rig.records import Store, open_records
from rig.records.calibrations import AxisReading
from rig.sheets.calibration_sheet import calibration_sheet, calibrations_sheet
from rig.tui.technician.calibration_lines import (
    CORRECTION_HEADS,
    axis_test_lines,
    correction_cells,
    error_picture,
    rig_cells,
    state_line,
)
from tests.sheets.surfaces import numbers_in, numbers_of

NOW = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)
PLACES = (0.0, 10.5, 21.0, 30.25, 36.0)


def on_screen(result: CalibrationResult) -> str:
    """Return all that the terminal UI says of a calibration."""
    sheet = calibration_sheet(result)
    rows = [rig_cells(sheet, ""), CORRECTION_HEADS, *correction_cells(sheet)]
    texts = [" ".join(row) for row in rows]
    texts += [str(state_line(sheet)), str(axis_test_lines(sheet))]
    return "\n".join([*texts, *error_picture(result, sheet).tell()])


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    with open_records(tmp_path / "measured.sqlite") as found:
        yield found


def added(store: Store, rig_id: str = "bench-2", scatter: int = 5) -> CalibrationResult:
    """An invented axis: too long by 1 um/mm, with a reversal of 20 um."""
    readings = [
        AxisReading(
            target_mm=place,
            direction=way,
            deviation_mm=0.001 * place - 0.02 * (way == "down") + 0.0002 * (k % 3),
        )
        for k in range(scatter)
        for way in ("up", "down")
        for place in PLACES
    ]
    order = CalibrationOrder(
        rig_id=rig_id,
        certificate="AX-7",
        calibrated_on=date(2026, 11, 20),
        due_on=date(2027, 11, 20),
        instrument_uncertainty_mm=0.0006,
    )
    return add_calibration(store, readings, order, NOW)


def test_every_number_of_the_text_is_one_of_the_sheet(store: Store) -> None:
    result = added(store, scatter=3)
    sheet = calibration_sheet(result)
    text, screen = calibration_text(sheet), on_screen(result)

    assert numbers_in(text) <= numbers_of(sheet)
    assert numbers_in(screen) <= numbers_of(sheet)
    assert len(numbers_in(screen)) > 15
    assert len(numbers_in(text)) > 15
    for name, value in sheet.figures:
        for words in (text, screen):
            assert any(name in line and value in line for line in words.splitlines())
    assert "3 runs each way; ISO 230-2 asks for 5." in text


def test_every_number_of_the_list_is_one_of_its_sheet(store: Store) -> None:
    added(store)
    added(store)
    added(store, "bench-3")
    sheet = calibrations_sheet(calibrations(store, date(2028, 1, 1)))
    text = calibrations_text(sheet)

    assert numbers_in(text) <= numbers_of(sheet)
    assert text.count("stale") == 2 * len(PLACES)
    assert text.count("was due on 2027-11-20") == 2
    assert "1 earlier calibrations are kept" in text


def test_corrections_are_rounded_by_their_uncertainty(store: Store) -> None:
    result = added(store)
    (row, *_) = calibration_sheet(result).corrections[2:]

    # 0.021 mm at 21 mm and the mean of the scatter; u about 0.0006 mm
    assert result.corrections_mm[2] == pytest.approx(0.02116, abs=1e-6)
    assert result.standard_uncertainty_mm[2] == pytest.approx(0.000604, abs=1e-6)
    assert (row.place, row.correction, row.uncertainty) == (
        "21.0",
        "+0.02116",
        "0.00060",
    )


def test_without_a_calibration_that_is_said(store: Store) -> None:
    text = calibrations_text(calibrations_sheet(calibrations(store, NOW.date())))

    assert text == "No axis has a calibration: positions rest on the nominal screw."


def test_the_calibrations_with_tests_are_those_in_force(store: Store) -> None:
    added(store)
    added(store, scatter=3)
    added(store, "bench-3")
    day = date(2028, 1, 1)

    found = calibrations_with_tests(store, day)

    assert [one.rig_id for one in found] == ["bench-2", "bench-3"]
    assert [one.axis_test.n for one in found] == [3, 5]
    assert {calibration_sheet(one).head.sign for one in found} == {"✗"}
    assert [one.state for one in found] == [
        one.state for one in calibrations(store, day).in_force
    ]
