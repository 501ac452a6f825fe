"""Pictures of a lesson from what is known: pure."""

from __future__ import annotations

from collections.abc import Sequence

from rig.analysis.classroom.hand_comparison import growth_of_knowledge
from rig.model.figures import Figure
from rig.model.mounted import Sensor
from rig.tui.lesson.book import KeptRun
from rig.tui.lesson.figure_words import short
from rig.tui.lesson.theory import Expected, curve_for, property_range
from rig.tui.pictures.bars import Bar, Bars
from rig.tui.pictures.chart import Chart, Series
from rig.tui.pictures.dot_plot import DotPlot, Group
from rig.tui.pictures.picture import Mark
from rig.tui.pictures.sweep_dots import SweepPoint, SweepPoints
from rig.tui.situation import RunShown, SweepRow

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
    theory: Expected | None,
    measured: Figure | None,
) -> Bars:
    """Show what people and theory predicted, and the measured point once it is known.

    Of several predictions of one person the last one counts.
    """
    bars = [
        Bar(name=person, value_mm=values[-1], mark=Mark.PREDICTED)
        for person, values in predicted.items()
    ]
    if theory is not None:
        bars.append(
            Bar(
                name="theory",
                value_mm=theory.middle_mm,
                low_mm=theory.low_mm,
                high_mm=theory.high_mm,
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
        return Bar(name=name, value_mm=figure.value, note=short(figure))
    return Bar(
        name=name,
        value_mm=figure.value,
        low_mm=figure.value - half,
        high_mm=figure.value + half,
        note=short(figure),
    )


def settings_plot(before: KeptRun | None, after: KeptRun | None) -> DotPlot:
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


def hand_plot(read: dict[str, tuple[float, ...]], rig: KeptRun | None) -> DotPlot:
    """Show everybody's readings by hand above the rig's."""
    groups = [Group(name=person, values=values) for person, values in read.items()]
    if rig is not None:
        points_mm = rig.operate_at_rest_mm
        groups.append(Group(name="the rig", values=points_mm, mark=Mark.MEASURED))
    return DotPlot(
        title="operate points, by hand and by the rig",
        groups=tuple(groups),
        empty="Nobody has read yet: type a name and a gap.",
    )


def growth_chart(read: dict[str, tuple[float, ...]], rig: KeptRun | None) -> Chart:
    """Show how the uncertainty of the mean shrinks as readings come in."""
    series = []
    people = list(read.items())
    if rig is not None:
        people.append(("the rig", rig.operate_at_rest_mm))
    for index, (person, values) in enumerate(people):
        if len(values) < 2:
            continue
        growth = growth_of_knowledge(values)
        known = growth.half_width > 0.0  # equal readings have no spread to draw
        mark = Mark.MEASURED if person == "the rig" else _SPEED_MARKS[1 + index % 3]
        series.append(
            Series(
                name=person,
                x=tuple(growth.n[known].tolist()),
                y=tuple(growth.half_width[known].tolist()),
                mark=mark,
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


def material_bars(runs: Sequence[KeptRun]) -> Bars:
    """Show the operate point on every target, farthest first."""
    ordered = sorted(runs, key=lambda kept: -kept.figures.operate.value)
    return Bars(
        title="operate point on each target",
        bars=tuple(
            _bar(kept.run.header.target.name, kept.figures.operate) for kept in ordered
        ),
        from_zero=True,
        empty="No run of this sensor is on record yet.",
    )


def thickness_chart(runs: Sequence[KeptRun]) -> Chart:
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


def _substance(kept: KeptRun) -> str:
    target = kept.run.header.target
    return f"cell of {target.material}" if target.wall_material else target.material


def _series(name: str, runs: Sequence[KeptRun], mark: Mark) -> Series:
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


def theory_chart(sensor: Sensor, runs: Sequence[KeptRun]) -> Chart:
    """Show measured points on the curve that theory gives over the property."""
    curve = curve_for(sensor)
    measured = with_property(sensor, runs)
    words = curve.of.value.replace("_s_m", ", S/m").replace("_", " ")
    theory = Series(
        name="theory",
        x=tuple(curve.values.tolist()),
        y=tuple(curve.operate_mm.tolist()),
        joined=True,
    )
    points_series = Series(
        name="measured",
        x=tuple((low * high) ** 0.5 for _, (low, high) in measured),
        y=tuple(kept.figures.operate.value for kept, _ in measured),
        half_widths=_half_widths([kept for kept, _ in measured]),
        labels=tuple(kept.run.header.target.name for kept, _ in measured),
        mark=Mark.MEASURED,
    )
    return Chart(
        x_title=words,
        y_title="operate, mm",
        series=(theory, points_series),
        x_logarithmic=True,
    )


def with_property(
    sensor: Sensor, runs: Sequence[KeptRun]
) -> list[tuple[KeptRun, tuple[float, float]]]:
    """Return the runs on materials of which tables know the property, and its range."""
    spans = ((kept, property_range(sensor, kept.run.header.target)) for kept in runs)
    return [(kept, span) for kept, span in spans if span is not None]


def _half_widths(runs: Sequence[KeptRun]) -> tuple[float, ...]:
    return tuple(kept.figures.operate.expanded_uncertainty or 0.0 for kept in runs)
