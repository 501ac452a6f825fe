"""The report of a study of a gauge as one HTML document."""

from __future__ import annotations

from datetime import datetime

from markupsafe import Markup

from rig.inquiry.gauge_study import (
    AgreementResult,
    ComponentsResult,
    GaugeResult,
    LinearityResult,
    SingleGaugeResult,
    StabilityResult,
)
from rig.report.control_plot import control_chart
from rig.report.gauge_plots import agreement_plot, linearity_plot, single_gauge_plot
from rig.report.page import Page, render
from rig.report.study_plots import components_plot
from rig.sheets.gauge_sheet import GaugeSheet, gauge_sheet

_PLOT_ID = "gauge-drawing"


def gauge_report(result: GaugeResult, *, title: str, generated_at: datetime) -> str:
    """Write the report; the same input gives the same document, byte for byte.

    Args:
        result: The study worked out.
        title: Title of the document.
        generated_at: When, UTC.

    Raises:
        InputError: A calibration on record cannot be used.
    """
    sheet = gauge_sheet(result)
    page = Page(
        title=title,
        generated_at=generated_at,
        noun=sheet.noun,
        total=sheet.total,
        simulated=sheet.simulated,
    )
    drawing = _drawing(result, sheet)
    return render("gauge_report.html", page, study=sheet, drawing=drawing)


def _drawing(result: GaugeResult, sheet: GaugeSheet) -> Markup:
    words = sheet.matter.drawn
    match result:
        case ComponentsResult():
            return _components(result)
        case AgreementResult():
            return agreement_plot(result.study, words=words, plot_id=_PLOT_ID)
        case LinearityResult():
            return linearity_plot(
                result.study, unit=sheet.unit, words=words, plot_id=_PLOT_ID
            )
        case StabilityResult():
            point = "subgroup" if result.study.size > 1 else "reading"
            return control_chart(
                result.study.charts,
                point=point,
                unit=sheet.unit,
                words=words,
                plot_id=_PLOT_ID,
            )
        case SingleGaugeResult():
            return single_gauge_plot(
                result.source.values,
                result.study,
                unit=sheet.unit,
                words=words,
                plot_id=_PLOT_ID,
            )


def _components(result: ComponentsResult) -> Markup:
    spreads = result.study.spreads
    shares = {
        name: spreads.share_of_total(getattr(spreads, name))
        for name in ("measurement", "repeatability", "reproducibility", "part")
    }
    squares = {name: share * share / 100.0 for name, share in shares.items()}
    return components_plot(shares, squares, plot_id=_PLOT_ID)
