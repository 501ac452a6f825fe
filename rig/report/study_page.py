"""The report of a measurement-system study as one HTML document."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from markupsafe import Markup

from rig.inquiry.study import StudyResult
from rig.report.page import Page, render
from rig.report.study_plots import (
    StudyNames,
    cells_plot,
    components_plot,
    readings_plot,
)
from rig.sheets.study_sheet import StudySheet, study_sheet


@dataclass(frozen=True, slots=True, kw_only=True)
class StudyDrawings:
    """Drawings of a study.

    Attributes:
        components: Share of each component of the spread.
        by_part: Every reading by part and by appraiser.
        cells: Means and ranges of the cells.
    """

    components: Markup
    by_part: Markup
    cells: Markup


def study_report(result: StudyResult, *, title: str, generated_at: datetime) -> str:
    """Write the report; the same input gives the same document, byte for byte.

    Args:
        result: The study worked out.
        title: Title of the document.
        generated_at: When, UTC.

    Raises:
        InputError: A calibration on record cannot be used.
    """
    sheet = study_sheet(result)
    page = Page(
        title=title,
        generated_at=generated_at,
        noun="reading",
        total=sheet.total,
        simulated=sheet.simulated,
        identity="" if result.entry is None else result.entry.study_id,
    )
    drawings = _drawings(result, sheet)
    return render("study_report.html", page, study=sheet, drawings=drawings)


def _drawings(result: StudyResult, sheet: StudySheet) -> StudyDrawings:
    study = result.study
    names = StudyNames(
        parts=study.parts,
        appraisers=study.appraisers,
        figure=sheet.figure,
        unit=sheet.unit,
    )
    return StudyDrawings(
        components=components_plot(
            result.plots.shares,
            result.plots.contributions,
            plot_id="study-components",
        ),
        by_part=readings_plot(study.readings, names, plot_id="study-readings"),
        cells=cells_plot(result.plots, names, words=sheet.cells, plot_id="study-cells"),
    )
