"""A study of a gauge as the lines and the picture of a screen; rounds nothing."""

from __future__ import annotations

from textual.content import Content

from rig.analysis.batch.control_charts import Chart as ControlChart
from rig.analysis.study.linearity import Linearity
from rig.inquiry.gauge_study import (
    AgreementResult,
    ComponentsResult,
    GaugeResult,
    LinearityResult,
    SingleGaugeResult,
    StabilityResult,
)
from rig.sheets.agreement_rows import share_rows
from rig.sheets.gauge_matter import SheetTable
from rig.sheets.gauge_sheet import GaugeSheet
from rig.tui.pictures.chart import Chart, Series
from rig.tui.pictures.picture import Mark
from rig.tui.pictures.worded_chart import WordedChart
from rig.tui.technician.interval_lines import (
    heading,
    interval_lines,
    remark,
    simulated_mark,
)

_NAME_WIDTH = 34


def gauge_head(sheet: GaugeSheet) -> Content:
    """Return which study was worked out, of what."""
    return Content.assemble(
        (f"{sheet.matter.kind}: {sheet.matter.lead}", "bold"),
        simulated_mark(sheet.simulated, sheet.total, f"{sheet.noun}s"),
        f"\n{sheet.name}: {sheet.figure}.",
    )


def gauge_figures(sheet: GaugeSheet) -> Content:
    """Return what to know first, then every estimate with its interval."""
    lines = [remark(sentence) for sentence in sheet.statements]
    return Content("\n").join([*lines, *interval_lines(sheet.matter.figures)])


def gauge_tables(sheet: GaugeSheet) -> Content:
    """Return every table, a row in one or more lines."""
    lines = [line for table in sheet.matter.tables for line in _table(table)]
    return Content("\n").join(lines or [Content("This study has no table.")])


def _table(table: SheetTable) -> list[Content]:
    _, *heads = table.head
    lines = [heading(table.caption)]
    for name, *cells in table.rows:
        said = ", ".join(
            f"{head} {cell}" for head, cell in zip(heads, cells, strict=True)
        )
        lines.append(Content.assemble((f"  {name}  ", "bold"), said))
    return [*lines, Content("")]


def gauge_methods(sheet: GaugeSheet) -> Content:
    """Return how the figures were found, and what the picture shows."""
    return Content("\n").join(
        [*map(Content, sheet.matter.methods), Content(sheet.matter.drawn)]
    )


def gauge_source(sheet: GaugeSheet) -> Content:
    """Return the runs behind the readings, or that there are none."""
    if sheet.runs is None:
        return Content(
            f"No run is behind the {sheet.noun}s: the bench is not known here."
        )
    runs = sheet.runs
    lines = [Content(f"  {words}") for words in (*runs.sensors, *runs.targets)]
    lines += [
        Content.assemble((f"  {name:<{_NAME_WIDTH}} ", "$text-muted"), value)
        for name, value in (*runs.bench, *runs.conditions)
    ]
    return Content("\n").join(lines)


def gauge_picture(result: GaugeResult, sheet: GaugeSheet) -> WordedChart:
    """Return the picture of a study; told in the words of its sheet."""
    words = [sheet.matter.drawn]
    words += [
        f"{row.name}: {row.value} {row.unit}, interval {row.interval}"
        for row in sheet.matter.figures
    ]
    return WordedChart(chart=_chart(result, sheet), words=tuple(words))


def _chart(result: GaugeResult, sheet: GaugeSheet) -> Chart:
    unit, figure = sheet.unit, sheet.figure
    match result:
        case LinearityResult():
            return Chart(
                x_title=f"reference, {unit}",
                y_title=f"bias, {unit}",
                series=_line(result.study),
                y_narrowest=1e-6,
            )
        case StabilityResult():
            location = result.study.charts.location
            return _counted(location.name, unit, _control(location), point="in order")
        case SingleGaugeResult():
            found = result.study
            levels = {
                "reference": found.reference,
                "a tenth of T below": found.reference - found.tenth,
                "above": found.reference + found.tenth,
            }
            series = _with_levels(result.source.values, levels)
            return _counted(figure, unit, series, point="reading")
        case ComponentsResult():
            return _by_part(result, figure, unit)
        case AgreementResult():
            return _shares(result)


def _line(found: Linearity) -> tuple[Series, ...]:
    band = found.band
    places = tuple(band.reference.tolist())
    lines = (("band", band.lower), ("", band.upper), ("line", band.bias))
    return (
        *(
            Series(name=name, x=places, y=tuple(edge.tolist()), joined=True)
            for name, edge in lines
        ),
        Series(name="no bias", x=(places[0], places[-1]), y=(0.0, 0.0), joined=True),
        Series(
            name="reading",
            x=tuple(found.references.tolist()),
            y=tuple(found.biases.tolist()),
            mark=Mark.MEASURED,
        ),
    )


def _control(found: ControlChart) -> tuple[Series, ...]:
    levels = {"centre": found.centre, "limit": found.lower, "": found.upper}
    return _with_levels(tuple(found.points.tolist()), levels)


def _with_levels(
    values: tuple[float, ...], levels: dict[str, float]
) -> tuple[Series, ...]:
    count = float(len(values))
    return (
        *(
            Series(name=name, x=(1.0, count), y=(at, at), joined=True)
            for name, at in levels.items()
        ),
        _numbered("value", values),
    )


def _numbered(name: str, values: tuple[float, ...]) -> Series:
    return Series(
        name=name,
        x=tuple(float(number) for number in range(1, len(values) + 1)),
        y=values,
        mark=Mark.MEASURED,
    )


def _counted(name: str, unit: str, series: tuple[Series, ...], *, point: str) -> Chart:
    return Chart(
        x_title=point,
        y_title=f"{name}, {unit}",
        series=series,
        whole_x=True,
        y_narrowest=1e-6,
    )


def _by_part(result: ComponentsResult, figure: str, unit: str) -> Chart:
    """Draw every reading above the number of its part."""
    readings = result.source.readings
    numbers = {part: k for k, part in enumerate(dict.fromkeys(result.source.parts), 1)}
    series = Series(
        name="reading",
        x=tuple(float(numbers[one.part]) for one in readings),
        y=tuple(one.value for one in readings),
        mark=Mark.MEASURED,
    )
    return _counted(figure, unit, (series,), point="part")


def _shares(result: AgreementResult) -> Chart:
    rows = [one for _, one in share_rows(result.study)]
    series = Series(
        name="parts that match",
        x=tuple(float(number) for number in range(1, len(rows) + 1)),
        y=tuple(100.0 * one.matched / one.parts for one in rows),
        labels=tuple(one.name for one in rows),
        mark=Mark.MEASURED,
    )
    return Chart(
        x_title="row of the table",
        y_title="% of the parts",
        series=(series,),
        whole_x=True,
        y_range=(0.0, 100.0),
    )
