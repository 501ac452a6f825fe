"""Calibrations of axes as the lines of text that a screen shows; rounds nothing."""

from __future__ import annotations

from textual.content import Content

from rig.inquiry.axis_calibration import CalibrationResult
from rig.sheets.calibration_sheet import CalibrationSheet
from rig.tui.pictures.chart import Chart, Series
from rig.tui.pictures.picture import Mark
from rig.tui.pictures.worded_chart import WordedChart
from rig.tui.state.status_words import BAD, GOOD
from rig.tui.technician.interval_lines import remark

RIG_HEADS = ("rig", "state", "holds", "certificate")
CORRECTION_HEADS = ("place mm", "correction mm", "u mm (standard)")
_NAME_WIDTH = 42
_VALUE_WIDTH = 20


def rig_cells(sheet: CalibrationSheet, connected: str) -> tuple[str, ...]:
    """Return what stands in the row of a rig."""
    head = sheet.head
    mark = " ● connected" if head.rig_id == connected else ""
    return (
        f"{head.rig_id}{mark}",
        f"{head.sign} {head.state}",
        head.holds,
        head.certificate,
    )


def correction_cells(sheet: CalibrationSheet) -> list[tuple[str, ...]]:
    """Return the correction at every place."""
    return [(row.place, row.correction, row.uncertainty) for row in sheet.corrections]


def axis_test_lines(sheet: CalibrationSheet) -> Content:
    """Return the figures of the axis test, and what they fall short of."""
    lines = [_figure(name, value) for name, value in sheet.figures]
    instrument = (
        f"Standard uncertainty of the instrument: {sheet.head.instrument} mm, as given."
    )
    said = [remark(sentence) for sentence in sheet.statements]
    return Content("\n").join([Content(sheet.lead), *lines, Content(instrument), *said])


def _figure(name: str, value: str) -> Content:
    # What is longer than a column of numbers stands beside its name, in one line
    wide = "" if len(value) > _VALUE_WIDTH else f"<{_NAME_WIDTH}"
    return Content.assemble((f"  {name:{wide}}  ", "$text-muted"), (value, "bold"))


def state_line(sheet: CalibrationSheet) -> Content:
    """Return which calibration is in view, and whether it may be relied on."""
    head = sheet.head
    style = GOOD if head.sign == "✓" else BAD
    return Content.assemble(
        (f"{head.sign} {head.state}", f"bold {style}"),
        (f"  {head.rig_id}, {head.certificate}", "bold"),
        f"  holds {head.holds}",
    )


def error_picture(result: CalibrationResult, sheet: CalibrationSheet) -> WordedChart:
    """Return the correction over the place on the axis."""
    places = result.positions_mm
    ends = (min(places), max(places))
    chart = Chart(
        x_title="place from home, mm",
        y_title="correction, mm",
        series=(
            Series(name="no correction", x=ends, y=(0.0, 0.0), joined=True),
            Series(
                name="correction ± u",
                x=places,
                y=result.corrections_mm,
                half_widths=result.standard_uncertainty_mm,
                mark=Mark.MEASURED,
            ),
        ),
        y_narrowest=0.001,
    )
    words = tuple(
        f"at {row.place} mm: correction {row.correction} mm, u {row.uncertainty} mm"
        for row in sheet.corrections
    )
    return WordedChart(chart=chart, words=words)
