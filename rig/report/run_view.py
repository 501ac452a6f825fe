"""One run as the text that a page shows of it; decides words, not looks."""

from __future__ import annotations

from dataclasses import dataclass

from markupsafe import Markup

from rig.analysis.limits.verdict import GUARDED, Rule
from rig.analysis.standard.run_against_standard import standard_of_run
from rig.model.figures import RunFigures
from rig.model.rounding import format_decimals, format_significant
from rig.model.sweeps import Run, RunHeader
from rig.records import EdgesCheck, edges_checksum
from rig.report.plot import points_plot
from rig.sheets.bench_words import (
    NOT_RECORDED,
    Pairs,
    axis_words,
    backlash_words,
    calibration_words,
    sensor_words,
    target_words,
    utc,
)
from rig.sheets.figure_rows import (
    BudgetTable,
    FigureRows,
    budget_tables,
    figure_groups,
)
from rig.sheets.runs_behind_sheet import edges_state
from rig.sheets.sweep_rows import Reading, readings
from rig.sheets.verdict_rows import VerdictTable, verdict_table


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
        verdicts: Against the standard or the data sheet.
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
    figure_groups: tuple[FigureRows, ...]
    verdicts: VerdictTable
    budgets: tuple[BudgetTable, ...]
    plot: Markup
    sweeps: tuple[SweepRow, ...]
    warnings: tuple[str, ...]
    evidence: Pairs


def view_run(
    run: Run,
    figures: RunFigures,
    *,
    anchor: str,
    rule: Rule = GUARDED,
    check: EdgesCheck | None = None,
) -> RunView:
    """Put a run and its figures into words.

    Args:
        run: With its edges.
        figures: Of that run.
        anchor: Begins every id of the run in the page.
        rule: Of the verdicts.
        check: Of the edges against what was stored at the end; None if nobody checked.

    Raises:
        InputError: A limit of the data sheet is of no use.
    """
    header = run.header
    points = readings(run, figures)
    return RunView(
        anchor=anchor,
        name=f"{header.sensor.name} against {header.target.name}",
        lead=_lead(header),
        run_id=header.run_id,
        simulated=any(c.simulated for c in run.conditions),
        job=_job(run),
        bench=_bench(run),
        condition_heads=_first_sweeps(run),
        condition_rows=_condition_rows(run),
        figure_groups=figure_groups(figures, header.timetable),
        verdicts=verdict_table(standard_of_run(run, figures, rule)),
        budgets=budget_tables(figures),
        plot=points_plot(points, figures, plot_id=f"{anchor}-points"),
        sweeps=tuple(_sweep_row(point) for point in points),
        warnings=(*_unfit(run, check), *figures.warnings),
        evidence=_evidence(run, figures, check),
    )


def _lead(header: RunHeader) -> str:
    return (
        f"{sensor_words(header.sensor)}; against {target_words(header.target)};"
        f" measured {utc(header.started_at)}."
    )


def _job(run: Run) -> Pairs:
    header = run.header
    conditions = header.conditions
    return (
        ("Sensor", f"{header.sensor.name}: {sensor_words(header.sensor)}"),
        ("Part", header.part or NOT_RECORDED),
        ("Target", f"{header.target.name}: {target_words(header.target)}"),
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


def _bench(run: Run) -> Pairs:
    conditions = run.header.conditions
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
        *axis_words(conditions),
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
    run: Run,
) -> tuple[tuple[str, tuple[str, ...]], ...]:
    columns = [_condition_pairs(run, k) for k in range(len(run.conditions))]
    return tuple(
        (cells[0][0], tuple(value for _, value in cells))
        for cells in zip(*columns, strict=True)
    )


def _condition_pairs(run: Run, index: int) -> Pairs:
    conditions = run.conditions[index]
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
        ("Backlash", backlash_words(conditions.backlash)),
        ("Calibration of the axis", calibration_words(run, index)),
        (
            "Temperature",
            NOT_RECORDED if temperature is None else f"{temperature:g} °C, as given",
        ),
        ("Controller start", f"number {conditions.boot_number}"),
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


def _unfit(run: Run, check: EdgesCheck | None) -> tuple[str, ...]:
    said = []
    if run.void:
        said.append(f"The whole run is void: {run.void}")
    if check is not None and check.intact is False:
        said.append("The raw edges of this run were changed after its end.")
    return tuple(said)


def _evidence(run: Run, figures: RunFigures, check: EdgesCheck | None) -> Pairs:
    edges = sum(len(s.edges) for s in run.sweeps)
    return (
        (f"SHA-256 of the {edges} edges", edges_checksum(run)),
        ("Edges", edges_state(check) if check else "not compared with the end"),
        ("Software that measured", run.header.software_version),
        ("Analysis version", figures.analysis_version),
        ("Protocol version", run.header.conditions.protocol_version),
        ("Firmware version", run.header.conditions.firmware_version),
    )
