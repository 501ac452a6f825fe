"""The report of a plan as one HTML document."""

from __future__ import annotations

from datetime import datetime

from markupsafe import Markup

from rig.inquiry.plan import PlanResult
from rig.report.page import Page, render
from rig.report.plan_plot import PlannedPoint, plan_plot
from rig.sheets.plan_sheet import plan_sheet


def plan_report(result: PlanResult, *, title: str, generated_at: datetime) -> str:
    """Write the report; the same input gives the same document, byte for byte.

    Args:
        result: The plan with its runs.
        title: Title of the document.
        generated_at: When, UTC.
    """
    sheet = plan_sheet(result)
    page = Page(
        title=title,
        generated_at=generated_at,
        noun="run",
        total=sheet.total,
        simulated=sheet.simulated,
        identity=result.entry.plan_id,
    )
    return render("plan_report.html", page, plan=sheet, drawing=_drawing(result))


def _drawing(result: PlanResult) -> Markup | None:
    """Draw the runs against each other; None as long as there are none."""
    points = [
        PlannedPoint(
            sensor=item.progress.item.sensor.name,
            part=item.run.run.header.part,
            target=item.progress.item.target,
            operate=item.figures.operate,
            points_mm=tuple(
                reading.operate_corrected_mm
                for reading in item.run.readings
                if reading.operate_corrected_mm is not None
            ),
        )
        for item in result.items
        if item.run is not None and item.figures is not None
    ]
    return plan_plot(points, plot_id="plan-comparison") if points else None
