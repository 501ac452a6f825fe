"""Pictures of a lesson from what is known: pure."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from rig.inquiry.hand import RIG
from rig.inquiry.measured_run import MeasuredRun
from rig.inquiry.prediction import PredictionResult
from rig.inquiry.theory import PROPERTY_WORDS, NoTheory, Theory
from rig.model.figures import Figure
from rig.model.rounding import format_figure
from rig.sheets.hand_sheet import HandSheet
from rig.tui.pictures.bars import Bar, Bars
from rig.tui.pictures.chart import Chart, Series
from rig.tui.pictures.dot_plot import DotPlot, Group
from rig.tui.pictures.picture import Mark
from rig.tui.pictures.sweep_dots import SweepPoint, SweepPoints
from rig.tui.state.situation import RunShown, SweepRow

if TYPE_CHECKING:
    from rig.analysis.classroom.hand_comparison import Growth
    from rig.analysis.classroom.predicted_curve import Property

_WIDE_RATIO = 8.0
_SPEED_MARKS = (Mark.MEASURED, Mark.BEFORE, Mark.PREDICTED, Mark.AFTER)


def good_rows(run: RunShown | None) -> list[SweepRow]:
    """Return the sweeps of a run that count."""
    return [] if run is None else [row for row in run.rows if not row.void]


def points(run: RunShown | None, attribute: str) -> tuple[float, ...]:
    """Return operate or release points of the good sweeps, as logged."""
    values = (getattr(row, attribute) for row in good_rows(run))
    return tuple(value for value in values if value is not None)


def repeat_plot(run: RunShown | None) -> DotPlot:
    """Show how the operate points of a run are spread, each speed by itself.

    Sweeps at another speed stand elsewhere by speed times delay, so speeds are not
    thrown together.
    """
    rows = good_rows(run)
    speeds = sorted({row.speed_mm_s for row in rows})
    groups = [
        Group(
            name=f"at {speed:g} mm/s",
            values=tuple(
                row.operate_mm
                for row in rows
                if row.speed_mm_s == speed and row.operate_mm is not None
            ),
            mark=_SPEED_MARKS[index % len(_SPEED_MARKS)],
        )
        for index, speed in enumerate(speeds)
    ]
    return DotPlot(
        title="operate points as logged",
        groups=tuple(groups),
        empty="The dots come with the sweeps: start the measurement.",
    )


def sweep_points(run: RunShown | None) -> SweepPoints:
    """Show the points of each sweep."""
    rows = () if run is None else run.rows
    return SweepPoints(
        sweeps=tuple(
            SweepPoint(
                number=row.number,
                operate_mm=row.operate_mm,
                release_mm=row.release_mm,
                void=bool(row.void),
            )
            for row in rows
        )
    )


def prediction_bars(
    predicted: dict[str, tuple[float, ...]],
    theory: Theory | NoTheory | None,
    measured: Figure | None,
) -> Bars:
    """Show what people and theory predicted, and the measured point once it is known.

    Of several predictions of one person the last one counts.
    """
    bars = [
        Bar(name=person, value_mm=values[-1], mark=Mark.PREDICTED)
        for person, values in predicted.items()
    ]
    if isinstance(theory, Theory):
        low_mm, high_mm = theory.predicted_range_mm
        bars.append(
            Bar(
                name="theory",
                value_mm=theory.predicted_mm,
                low_mm=low_mm,
                high_mm=high_mm,
                mark=Mark.THEORY,
            )
        )
    if measured is not None:
        bars.append(_bar("measured", measured))
    return Bars(
        title="operate point, predicted and measured",
        bars=tuple(bars),
        from_zero=True,
        reference_mm=None if measured is None else measured.value,
        empty="Nobody has predicted yet: type a name and a gap.",
    )


def _bar(name: str, figure: Figure) -> Bar:
    half = figure.expanded_uncertainty
    if half is None:
        return Bar(name=name, value_mm=figure.value, note=format_figure(figure).brief)
    return Bar(
        name=name,
        value_mm=figure.value,
        low_mm=figure.value - half,
        high_mm=figure.value + half,
        note=format_figure(figure).brief,
    )


def settings_plot(before: MeasuredRun | None, after: MeasuredRun | None) -> DotPlot:
    """Show the operate points before and after the trimmer was turned."""
    runs = (("before", before, Mark.BEFORE), ("after", after, Mark.AFTER))
    return DotPlot(
        title="operate points at rest",
        groups=tuple(
            Group(name=name, values=kept.operate_at_rest_mm, mark=mark)
            for name, kept, mark in runs
            if kept is not None
        ),
        empty="Measure once, turn the trimmer, measure again.",
    )


def hand_plot(
    read: dict[str, tuple[float, ...]],
    rig: MeasuredRun | None,
    sheet: HandSheet | None = None,
) -> DotPlot:
    """Show everybody's readings by hand above the rig's, as the sheet rounds them."""
    rows = {row.person: row for row in sheet.rows} if sheet is not None else {}
    groups = [
        Group(
            name=person,
            values=values,
            mean_text=rows[person].mean if person in rows else "",
            sd_text=rows[person].sd if person in rows else "",
        )
        for person, values in read.items()
    ]
    if rig is not None:
        text = format_figure(rig.figures.operate)
        groups.append(
            Group(
                name="the rig",
                values=rig.operate_at_rest_mm,
                mark=Mark.MEASURED,
                mean_text=text.value,
                sd_text=text.standard_deviation,
            )
        )
    return DotPlot(
        title="operate points, by hand and by the rig",
        groups=tuple(groups),
        empty="Nobody has read yet: type a name and a gap.",
    )


def growth_chart(growth: Mapping[str, Growth]) -> Chart:
    """Show how the uncertainty of the mean shrinks as readings come in."""
    series = []
    for index, (person, one) in enumerate(growth.items()):
        known = one.half_width > 0.0  # equal readings have no spread to draw
        rig = person == RIG
        series.append(
            Series(
                name="the rig" if rig else person,
                x=tuple(one.n[known].tolist()),
                y=tuple(one.half_width[known].tolist()),
                mark=Mark.MEASURED if rig else _SPEED_MARKS[1 + index % 3],
                joined=True,
            )
        )
    return Chart(
        x_title="readings",
        y_title="half width of the mean's 95 % interval, mm",
        series=tuple(series),
        whole_x=True,
        y_logarithmic=True,
        empty="It takes two readings to know anything of their spread.",
    )


def material_bars(runs: Sequence[MeasuredRun], setting: str = "") -> Bars:
    """Show the operate point on every target, farthest first.

    Args:
        runs: The runs, all at one setting of the trimmer.
        setting: Setting of the trimmer in words, where it is to be shown.
    """
    ordered = sorted(runs, key=lambda kept: -kept.figures.operate.value)
    return Bars(
        title=", ".join(filter(None, ("operate point on each target", setting))),
        bars=tuple(
            _bar(kept.run.header.target.name, kept.figures.operate) for kept in ordered
        ),
        from_zero=True,
        empty="No run of this sensor is on record yet.",
    )


def thickness_chart(runs: Sequence[MeasuredRun]) -> Chart:
    """Show the operate point over the thickness, each material by itself."""
    materials = sorted({_substance(kept) for kept in runs})
    thick = [kept.run.header.target.thickness_mm for kept in runs]
    marks = (Mark.MEASURED, Mark.BEFORE, Mark.PREDICTED, Mark.AFTER, Mark.THEORY)
    return Chart(
        x_title="thickness, mm",
        y_title="operate, mm",
        series=tuple(
            _series(
                material,
                [kept for kept in runs if _substance(kept) == material],
                marks[index % len(marks)],
            )
            for index, material in enumerate(materials)
        ),
        # A foil and a cell's depth do not go on one even scale
        x_logarithmic=bool(thick) and max(thick) > _WIDE_RATIO * min(thick),
        empty="No run of this sensor is on record yet.",
    )


def _substance(kept: MeasuredRun) -> str:
    target = kept.run.header.target
    return f"cell of {target.material}" if target.wall_material else target.material


def _series(name: str, runs: Sequence[MeasuredRun], mark: Mark) -> Series:
    ordered = sorted(runs, key=lambda kept: kept.run.header.target.thickness_mm)
    return Series(
        name=name,
        x=tuple(kept.run.header.target.thickness_mm for kept in ordered),
        y=tuple(kept.figures.operate.value for kept in ordered),
        half_widths=_half_widths(ordered),
        labels=tuple(kept.run.header.target.name for kept in ordered),
        mark=mark,
        joined=len(ordered) > 2,
    )


def theory_chart(found: PredictionResult) -> Chart:
    """Show measured points, each on the curve that theory gives for its plate."""
    by_curve = {
        (one.sensor, one.thickness_mm): one.curve
        for one in sorted(found.deviations, key=lambda one: one.thickness_mm)
    }
    curves = [
        Series(
            name=f"theory, {thickness_mm:g} mm thick",
            x=tuple(curve.values.tolist()),
            y=tuple(curve.operate_mm.tolist()),
            joined=True,
        )
        for (_, thickness_mm), curve in by_curve.items()
    ]
    measured = Series(
        name="measured",
        x=tuple(
            (one.property_low * one.property_high) ** 0.5 for one in found.deviations
        ),
        y=tuple(one.measured_mm for one in found.deviations),
        half_widths=tuple(
            one.measured.expanded_uncertainty or 0.0 for one in found.deviations
        ),
        labels=tuple(one.material for one in found.deviations),
        mark=Mark.MEASURED,
    )
    of = {one.of for one in found.deviations}
    return Chart(
        x_title=", ".join(map(_property_title, of)) or "property of the material",
        y_title="operate, mm",
        series=(*curves, measured) if curves else (),
        x_logarithmic=True,
        empty="No material measured yet that theory holds for.",
    )


def _property_title(of: Property) -> str:
    """Name a property for an axis, with its unit."""
    unit = ", S/m" if of.value.endswith("_s_m") else ""
    return f"{PROPERTY_WORDS[of]}{unit}"


def _half_widths(runs: Sequence[MeasuredRun]) -> tuple[float, ...]:
    return tuple(kept.figures.operate.expanded_uncertainty or 0.0 for kept in runs)
