"""One run as the text that a page shows of it; decides words, not looks."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime

from markupsafe import Markup

from rig.model.bench import Backlash, BacklashSource, Sensor, Target
from rig.model.figures import RunFigures
from rig.model.sweeps import Conditions, Run
from rig.records.checksum import edges_checksum
from rig.report.figure_tables import (
    BudgetTable,
    FigureGroup,
    budget_tables,
    figure_groups,
)
from rig.report.plot import points_plot
from rig.report.readings import Reading, readings
from rig.report.rounding import (
    format_decimals,
    format_significant,
    round_to_uncertainty,
)

NOT_RECORDED = "not recorded"
Pairs = tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SweepRow:
    """One line of the table of sweeps; gaps in mm, a dash where there is none."""

    number: str
    speed: str
    operate_delayed: str
    operate_corrected: str
    release_delayed: str
    release_corrected: str
    edges: str
    state: str
    used: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class RunView:
    """All that the page shows of one run.

    Attributes:
        anchor: Begins every id of this run in the page.
        name: Sensor and target, in words.
        lead: What sensor, what target and when, in one sentence.
        run_id: Identity in the records.
        simulated: Whether a simulated rig made it.
        job: What was measured, by whom.
        bench: What it was measured with.
        condition_heads: One for every set of conditions.
        condition_rows: Name, then one value for every set.
        figure_groups: All figures.
        budgets: Of the main figures.
        plot: Points over the sweeps, an SVG element.
        sweeps: All of them, void ones included.
        warnings: Whole sentences.
        evidence: Checksum and versions.
    """

    anchor: str
    name: str
    lead: str
    run_id: str
    simulated: bool
    job: Pairs
    bench: Pairs
    condition_heads: tuple[str, ...]
    condition_rows: tuple[tuple[str, tuple[str, ...]], ...]
    figure_groups: tuple[FigureGroup, ...]
    budgets: tuple[BudgetTable, ...]
    plot: Markup
    sweeps: tuple[SweepRow, ...]
    warnings: tuple[str, ...]
    evidence: Pairs


def view_run(run: Run, figures: RunFigures, *, anchor: str) -> RunView:
    """Put a run and its figures into words."""
    header = run.header
    points = readings(run, figures)
    return RunView(
        anchor=anchor,
        name=f"{header.sensor.name} against {header.target.name}",
        lead=(
            f"{_sensor(header.sensor)}; against {_target(header.target)};"
            f" measured {utc(header.started_at)}."
        ),
        run_id=header.run_id,
        simulated=any(c.simulated for c in run.conditions),
        job=_job(run),
        bench=_bench(run),
        condition_heads=_first_sweeps(run),
        condition_rows=_condition_rows(run.conditions),
        figure_groups=figure_groups(figures),
        budgets=budget_tables(figures),
        plot=points_plot(points, figures, plot_id=f"{anchor}-points"),
        sweeps=tuple(_sweep_row(point) for point in points),
        warnings=figures.warnings,
        evidence=_evidence(run, figures),
    )


def utc(moment: datetime) -> str:
    """Write a time in UTC, to the second; one without a zone is taken as UTC."""
    aware = moment if moment.tzinfo else moment.replace(tzinfo=UTC)
    return f"{aware.astimezone(UTC):%Y-%m-%d %H:%M:%S} UTC"


def _job(run: Run) -> Pairs:
    header = run.header
    conditions = header.conditions
    return (
        ("Sensor", f"{header.sensor.name}: {_sensor(header.sensor)}"),
        ("Target", f"{header.target.name}: {_target(header.target)}"),
        ("Operator", conditions.operator or NOT_RECORDED),
        ("Note", conditions.note or "none"),
        ("Run", header.run_id),
        ("Started", utc(header.started_at)),
        ("Ended", utc(run.ended_at) if run.ended_at else "not ended"),
        (
            "Sweeps",
            f"{header.sweeps_wanted} wanted, {len(run.sweeps)} made, at "
            + ", ".join(f"{speed:.4g}" for speed in header.speeds_mm_s)
            + " mm/s",
        ),
    )


def _sensor(sensor: Sensor) -> str:
    frequency = sensor.switching_frequency_hz
    known = "not known" if frequency is None else f"{frequency:g} Hz"
    return (
        f"{sensor.principle.value}, {sensor.size_mm:g} mm, rated distance"
        f" {sensor.rated_distance_mm:g} mm, {sensor.output.value},"
        f" switching frequency {known} (data sheet)"
    )


def _target(target: Target) -> str:
    earthed = ", earthed" if target.earthed else ""
    wall = (
        f", behind {target.wall_mm:g} mm of {target.wall_material}"
        if target.wall_mm
        else ""
    )
    return f"{target.material}, {target.thickness_mm:g} mm{earthed}{wall}"


def _bench(run: Run) -> Pairs:
    conditions = run.header.conditions
    axis = conditions.axis
    shift = run.home_shift_steps
    home = (
        "not checked after the run"
        if shift is None
        else "home switch found unmoved after the run"
        if shift == 0
        else f"home switch moved by {shift:+d} steps over the run"
    )
    return (
        ("Rig", conditions.rig_id + (", SIMULATED" if conditions.simulated else "")),
        ("Firmware", conditions.firmware_version),
        ("Protocol", conditions.protocol_version),
        ("Axis", f"{axis.steps_per_mm:g} steps/mm"),
        (
            "Axis position error",
            f"{format_significant(axis.standard_uncertainty_mm)} mm"
            " (standard uncertainty, as stated)",
        ),
        ("Lost steps", home),
    )


def _first_sweeps(run: Run) -> tuple[str, ...]:
    """Name each set of conditions by the first sweep that was taken under it."""
    names = []
    for k in range(len(run.conditions)):
        first = next((s.index for s in run.sweeps if s.conditions_index == k), None)
        names.append("no sweep" if first is None else f"from sweep {first + 1}")
    return tuple(names)


def _condition_rows(
    conditions: tuple[Conditions, ...],
) -> tuple[tuple[str, tuple[str, ...]], ...]:
    columns = [_condition_pairs(c) for c in conditions]
    return tuple(
        (cells[0][0], tuple(value for _, value in cells))
        for cells in zip(*columns, strict=True)
    )


def _condition_pairs(conditions: Conditions) -> Pairs:
    datum = conditions.datum
    steps_per_mm = conditions.axis.steps_per_mm
    temperature = conditions.temperature_c
    return (
        ("Datum, from home", f"{format_decimals(datum.position_steps, 1)} steps"),
        (
            "Datum, standard uncertainty",
            f"{format_significant(datum.standard_uncertainty_mm)} mm"
            f" ({format_significant(datum.standard_uncertainty_mm * steps_per_mm)}"
            f" steps), n = {datum.n} touches",
        ),
        (
            "Touch probe, standard uncertainty",
            f"{format_significant(datum.probe_uncertainty_mm)} mm (as stated)",
        ),
        ("Touch-off", utc(datum.found_at)),
        ("Backlash", _backlash(conditions.backlash)),
        (
            "Temperature",
            NOT_RECORDED if temperature is None else f"{temperature:g} °C, as given",
        ),
        ("Controller start", f"number {conditions.boot_number}"),
    )


def _backlash(backlash: Backlash) -> str:
    uncertainty = backlash.standard_uncertainty_mm
    if backlash.source is BacklashSource.NOT_MEASURED:
        bound = (
            f"standard uncertainty {format_significant(uncertainty)} mm, as stated"
            if uncertainty > 0.0
            else "no uncertainty, since nothing is known of it"
        )
        return f"not measured, taken as 0 mm; {bound}"
    value, _ = round_to_uncertainty(backlash.value_mm, uncertainty)
    return (
        f"{value} mm, standard uncertainty"
        f" {format_significant(uncertainty)} mm, n = {backlash.n},"
        f" by {backlash.source.value}"
    )


def _sweep_row(reading: Reading) -> SweepRow:
    return SweepRow(
        number=str(reading.number),
        speed=f"{reading.speed_mm_s:.4g}",
        operate_delayed=_gap(reading.operate_delayed_mm),
        operate_corrected=_gap(reading.operate_corrected_mm),
        release_delayed=_gap(reading.release_delayed_mm),
        release_corrected=_gap(reading.release_corrected_mm),
        edges=str(reading.edges),
        state=f"void: {reading.void}" if reading.void else "used",
        used=not reading.void,
    )


def _gap(gap_mm: float | None) -> str:
    # 0.1 µm, which is below a step
    return "–" if gap_mm is None else format_decimals(gap_mm, 4)


def _evidence(run: Run, figures: RunFigures) -> Pairs:
    edges = sum(len(s.edges) for s in run.sweeps)
    return (
        (f"SHA-256 of the {edges} edges", edges_checksum(run)),
        ("Software that measured", run.header.software_version),
        ("Analysis version", figures.analysis_version),
        ("Protocol version", run.header.conditions.protocol_version),
        ("Firmware version", run.header.conditions.firmware_version),
    )
