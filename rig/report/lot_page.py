"""The report of a lot as one HTML document."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from markupsafe import Markup

from rig.inquiry.lot_evidence import LotEvidence
from rig.report.curve_plot import curve_plot
from rig.report.page import Page, render
from rig.report.part_points import PartPoint, normal_drawing, parts_plot
from rig.sheets.lot_sheet import LotSheet, lot_sheet


@dataclass(frozen=True, slots=True, kw_only=True)
class LotDrawings:
    """Drawings of the page.

    Attributes:
        parts: Parts against limits; None without values.
        normal: Normal plot; None without one.
        curve: Operating characteristic of the plan.
    """

    parts: Markup | None
    normal: Markup | None
    curve: Markup


def lot_report(found: LotEvidence, *, title: str, generated_at: datetime) -> str:
    """Write the report; the same input gives the same document, byte for byte.

    Args:
        found: The lot with all that the decision rests on.
        title: Title of the document.
        generated_at: Time in the document, UTC.

    Raises:
        InputError: A calibration on record is not usable.
    """
    sheet = lot_sheet(found)
    page = Page(
        title=title,
        generated_at=generated_at,
        noun="part",
        total=len(sheet.head.parts),
        simulated=sheet.head.simulated,
        identity=found.standing.lot.lot_id,
    )
    return render("lot_report.html", page, lot=sheet, drawings=_drawings(found, sheet))


def _drawings(found: LotEvidence, sheet: LotSheet) -> LotDrawings:
    curve = curve_plot(found.curve, words=sheet.curve.words, plot_id="lot-curve")
    return LotDrawings(
        parts=_parts_drawing(found, sheet), normal=_normal(found, sheet), curve=curve
    )


def _parts_drawing(found: LotEvidence, sheet: LotSheet) -> Markup | None:
    points = [
        PartPoint(
            number=number,
            value=part.value,
            expanded_uncertainty=part.expanded_uncertainty,
            decision=part.decision,
        )
        for number, part in enumerate(found.standing.parts, start=1)
        if part.value is not None
    ]
    if not points:
        return None
    return parts_plot(
        points,
        figure=sheet.figure,
        unit=sheet.unit,
        limits=found.drawn_limits,
        mean=None if found.summary is None else found.summary.mean,
        plot_id="lot-parts-plot",
    )


def _normal(found: LotEvidence, sheet: LotSheet) -> Markup | None:
    s = found.summary
    if s is None or s.normal_plot is None:
        return None
    return normal_drawing(
        s.normal_plot, figure=sheet.figure, unit=s.unit, plot_id="lot-normal-plot"
    )
