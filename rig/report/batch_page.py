"""The report of a batch, or of several that are compared, as one HTML document."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from markupsafe import Markup

from rig.inquiry.batch import Batch, BatchResult
from rig.report.control_plot import control_chart
from rig.report.page import Page, render
from rig.report.part_points import normal_drawing, part_points, parts_plot
from rig.sheets.batch_sheet import OneBatchSheet, batch_sheet


@dataclass(frozen=True, slots=True, kw_only=True)
class BatchDrawings:
    """Drawings of one batch.

    Attributes:
        parts: Parts against limits; None where fewer than 2 have figures.
        normal: Normal plot; None below 3 parts.
        charts: Control charts, in the order of the sheet.
    """

    parts: Markup | None
    normal: Markup | None
    charts: tuple[Markup, ...]


def batch_report(result: BatchResult, *, title: str, generated_at: datetime) -> str:
    """Write the report; the same input gives the same document, byte for byte.

    Args:
        result: Result with at least one batch.
        title: Title of the document.
        generated_at: When, UTC.

    Raises:
        ValueError: There is no batch.
        InputError: A calibration on record cannot be used.
    """
    if not result.batches:
        raise ValueError("a report needs at least one batch")
    sheet = batch_sheet(result)
    page = Page(
        title=title,
        generated_at=generated_at,
        noun="part",
        total=sheet.total,
        simulated=sheet.simulated,
    )
    pairs = zip(result.batches, sheet.batches, strict=True)
    drawings = [
        _drawings(batch, own, result, f"batch-{number}")
        for number, (batch, own) in enumerate(pairs, start=1)
    ]
    return render("batch_report.html", page, batches=sheet, drawn=drawings)


def _drawings(
    batch: Batch, sheet: OneBatchSheet, result: BatchResult, anchor: str
) -> BatchDrawings:
    s, unit = batch.summary, result.unit
    if s is None:
        return BatchDrawings(parts=None, normal=None, charts=())
    plot = s.normal_plot
    return BatchDrawings(
        parts=parts_plot(
            part_points(s.rows),
            figure=sheet.figure,
            unit=unit,
            limits=result.limits,
            mean=s.mean,
            plot_id=f"{anchor}-parts-plot",
        ),
        normal=None
        if plot is None
        else normal_drawing(
            plot, figure=sheet.figure, unit=unit, plot_id=f"{anchor}-normal-plot"
        ),
        charts=_charts(batch, sheet, unit, anchor),
    )


def _charts(
    batch: Batch, sheet: OneBatchSheet, unit: str, anchor: str
) -> tuple[Markup, ...]:
    known = ((batch.individuals, "part"), (batch.subgroups, "subgroup"))
    pairs = [(pair, point) for pair, point in known if pair is not None]
    return tuple(
        control_chart(
            pair,
            point=point,
            unit=unit,
            words=" ".join(map(str, sheet.charts[number - 1])),
            plot_id=f"{anchor}-chart-{number}",
        )
        for number, (pair, point) in enumerate(pairs, start=1)
    )
