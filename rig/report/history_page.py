"""The report of a product over its lots as one HTML document."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from markupsafe import Markup

from rig.inquiry.supplier_history import ProductHistory, SupplierHistory
from rig.model.rounding import unit_words
from rig.report.attribute_plot import attribute_plot
from rig.report.control_plot import control_chart
from rig.report.page import Page, render
from rig.sheets.history_sheet import SupplierSheet, history_sheet


@dataclass(frozen=True, slots=True, kw_only=True)
class SupplierChapter:
    """One supplier in the document.

    Attributes:
        anchor: Begins every id of this supplier in the page.
        sheet: All that is said of it.
        drawings: Control charts, each an SVG element.
        simulated: Whether a simulated part is behind a lot.
        in_part: Whether that holds for some of the lots only.
    """

    anchor: str
    sheet: SupplierSheet
    drawings: tuple[Markup, ...]
    simulated: bool
    in_part: bool


def history_report(found: ProductHistory, *, title: str, generated_at: datetime) -> str:
    """Write the report; the same input gives the same document, byte for byte.

    Args:
        found: The product over its lots.
        title: Title of the document.
        generated_at: Time in the document, UTC.
    """
    sheet = history_sheet(found)
    page = Page(
        title=title,
        generated_at=generated_at,
        noun="lot",
        total=sheet.total,
        simulated=sheet.simulated,
    )
    chapters = [
        _chapter(one, own, f"supplier-{number}")
        for number, (one, own) in enumerate(
            zip(found.suppliers, sheet.suppliers, strict=True), start=1
        )
    ]
    return render("history_report.html", page, history=sheet, suppliers=chapters)


def _chapter(
    found: SupplierHistory, sheet: SupplierSheet, anchor: str
) -> SupplierChapter:
    simulated = sum(one.simulated for one in found.lots)
    return SupplierChapter(
        anchor=anchor,
        sheet=sheet,
        drawings=tuple(_drawings(found, sheet, anchor)),
        simulated=bool(simulated),
        in_part=simulated < len(found.lots),
    )


def _drawings(
    found: SupplierHistory, sheet: SupplierSheet, anchor: str
) -> list[Markup]:
    numbers = [index + 1 for index in found.charted]
    words = iter(sheet.charts)
    drawn = []
    for chart, in_percent in ((found.shares, True), (found.failures, False)):
        if chart is not None:
            drawn.append(
                attribute_plot(
                    chart,
                    numbers,
                    in_percent=in_percent,
                    words=next(words),
                    plot_id=f"{anchor}-{'shares' if in_percent else 'failures'}",
                )
            )
    if found.means is not None:
        drawn.append(
            control_chart(
                found.means,
                point="lot that has a mean",
                unit=unit_words(found.lots[found.charted_means[-1]].unit) or "1",
                words=" ".join(words),
                plot_id=f"{anchor}-means",
            )
        )
    return drawn
