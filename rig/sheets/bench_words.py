"""Sensor, target, bench, edges and times in words; decides no looks."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime

from rig.analysis.axis.calibration_state import CalibrationState, calibration_state
from rig.analysis.run.home_shift import CLOSINGS, home_limit_mm
from rig.inquiry.run_calibration import RunCalibration
from rig.model.bench_declaration import BenchKnowledge, DeclaredValue
from rig.model.bench_items import FACE_NEAREST, ITEM_OF_KEY, LEAD
from rig.model.mounted import Axis, Backlash, BacklashSource, Sensor, Target
from rig.model.product import ProductVersion
from rig.model.rounding import format_significant, round_to_uncertainty
from rig.model.sweeps import Conditions, Run
from rig.records import RunCheck

NOT_RECORDED = "not recorded"
Pairs = tuple[tuple[str, str], ...]


def utc(moment: datetime) -> str:
    """Write a time in UTC, to the second; one without a zone is taken as UTC."""
    aware = moment if moment.tzinfo else moment.replace(tzinfo=UTC)
    return f"{aware.astimezone(UTC):%Y-%m-%d %H:%M:%S} UTC"


def sensor_words(sensor: Sensor) -> str:
    """Say what a sensor is by its data sheet."""
    frequency = sensor.switching_frequency_hz
    known = "not known" if frequency is None else f"{frequency:g} Hz"
    return (
        f"{sensor.principle.value}, {sensor.size_mm:g} mm, rated distance"
        f" {sensor.rated_distance_mm:g} mm, {sensor.output.value},"
        f" switching frequency {known} (data sheet)"
    )


def sensor_line(sensor: Sensor) -> str:
    """Say what a sensor is in a line that fits a narrow place."""
    return (
        f"{sensor.principle} {sensor.size_mm:g} mm, "
        f"s_n {sensor.rated_distance_mm:g} mm, {sensor.output}"
    )


def target_line(target: Target) -> str:
    """Say what a target is in a line that fits a narrow place."""
    if target.wall_material:
        return f"cell of {target.material}, wall {target.wall_mm:g} mm"
    earth = ", earthed" if target.earthed else ""
    return f"{target.material} {target.thickness_mm:g} mm{earth}"


def record_words(check: RunCheck | None) -> str:
    """Say whether a run on record is as it was written."""
    if check is None:
        return "not compared with what was written"
    if check.changes:
        return f"CHANGED: {'; '.join(check.changes)}"
    return "as it was written"


def target_words(target: Target) -> str:
    """Say what a target is."""
    earthed = ", earthed" if target.earthed else ""
    wall = (
        f", behind {target.wall_mm:g} mm of {target.wall_material}"
        if target.wall_mm
        else ""
    )
    side = "" if target.side_mm is None else f", side {target.side_mm:g} mm"
    return f"{target.material}, {target.thickness_mm:g} mm{side}{earthed}{wall}"


def product_words(version: ProductVersion | None) -> str:
    """Name a version of a product with who approved it; say so where there is none."""
    if version is None:
        return "none named"
    approval = version.approval
    by = "" if approval is None else f", approved by {approval.approved_by}"
    return f"{version.title}{by}"


def axis_words(conditions: Conditions) -> Pairs:
    """Say what the axis is and by how much it may be off."""
    axis = conditions.axis
    return (
        ("Axis", f"{axis.steps_per_mm:g} steps/mm"),
        (
            "Axis position error",
            f"{format_significant(axis.standard_uncertainty_mm)} mm"
            f" (standard uncertainty, {declaration_words(conditions.bench)})",
        ),
    )


def declaration_words(known: BenchKnowledge | None) -> str:
    """Say what numbers of the bench rest on."""
    if known is None:
        return "as stated"
    return "as declared" if known.declared else "assumed"


def bench_words(known: BenchKnowledge | None) -> str:
    """Say what is known of the bench, each number with where it comes from."""
    if known is None:
        return "not declared; touch probe and axis as stated"
    return "; ".join(
        f"{item_words(value.key)} {item_number(value)} ({value.source})"
        for value in known.values
    )


def item_words(key: str) -> str:
    """Say what an item of a bench is; one that is no longer known by its key."""
    item = ITEM_OF_KEY.get(key)
    return key if item is None else item.words


def item_number(value: DeclaredValue) -> str:
    """Write the number of an item with its unit."""
    item = ITEM_OF_KEY.get(value.key)
    if value.key in (LEAD, FACE_NEAREST) and value.value == 0.0:
        return "unknown"
    unit = "" if item is None else f" {item.unit}"
    return f"{format_significant(value.value, 4)}{unit}"


def calibration_words(run: Run, index: int = 0) -> str:
    """Say under what calibration the axis stood, and whether it could be relied on.

    Args:
        run: Run with its sweeps; the last one decides which day counts.
        index: Index of the run's conditions.
    """
    known, table = run.conditions[index].calibration, None
    if known is not None:
        # Deferred: lists say nothing of a single run's calibration
        from rig.analysis.axis.axis_correction import correction_table

        table = correction_table(known)
    moments = [s.ended_at for s in run.sweeps if s.conditions_index == index]
    last = moments[-1] if moments else run.header.started_at
    state, statement = calibration_state(table, last.date())
    if known is None:
        return f"MISSING: {statement}"
    dated = (
        f"certificate {known.certificate}, calibrated on {known.calibrated_on},"
        f" due on {known.due_on}"
    )
    if state is CalibrationState.VALID:
        return f"{dated}: valid"
    return f"{dated}: {state.value.upper()}; {statement}"


def temperature_words(conditions: Conditions) -> str:
    """Say how warm it was, as far as anybody said."""
    given_c, measured_c = conditions.temperature_c, conditions.measured_temperature_c
    words = [] if given_c is None else [f"{given_c:g} °C, as given"]
    words += [] if measured_c is None else [f"{measured_c:.1f} °C by the rig"]
    return "; ".join(words) or NOT_RECORDED


def supply_words(conditions: Conditions) -> str:
    """Say what the sensor was fed with, and what its output made of that."""
    said = (
        (conditions.set_supply_v, "{:g} V, as set"),
        (conditions.measured_supply_v, "{:.2f} V by the rig"),
        (conditions.load_current_ma, "load {:.1f} mA"),
        (conditions.residual_voltage_v, "residual voltage {:.2f} V"),
    )
    words = [form.format(value) for value, form in said if value is not None]
    return "; ".join(words) or NOT_RECORDED


def temperatures_words(every: Sequence[Conditions]) -> str:
    """Say between which temperatures all of them lay, and where they come from."""
    known = sorted(c.ambient_c for c in every if c.ambient_c is not None)
    if not known:
        return NOT_RECORDED
    given = [c.temperature_c is not None for c in every if c.ambient_c is not None]
    words = "as given or by the rig"
    if all(given):
        words = "as given"
    elif not any(given):
        words = "by the rig"
    ends = dict.fromkeys(f"{end:.4g}" for end in (known[0], known[-1]))
    return f"{' to '.join(ends)} °C, {words}"


def calibration_short(known: RunCalibration) -> str:
    """Say what calibration a run rests on in a few words."""
    if known.certificate is None:
        return "MISSING"
    valid = known.state is CalibrationState.VALID
    return known.certificate if valid else f"{known.certificate}, {known.state.upper()}"


def closing_words(run: Run, index: int = 0) -> str:
    """Say where the face was found when it was touched again after the sweeps.

    Args:
        run: Run with its sweeps.
        index: Index of the run's conditions.
    """
    # Deferred: lists need no arrays
    from rig.analysis.edges.run_arrays import closings_of_run

    closing = closings_of_run(run)[index]
    if closing is None:
        return "no"
    checks = [one for one in run.datum_checks if one.conditions_index == index]
    uncertainty_um = 1000.0 * closing.standard_uncertainty_mm
    value, _ = round_to_uncertainty(1000.0 * closing.difference_mm, uncertainty_um)
    sign = "" if value.startswith("-") else "+"
    times = "" if len(checks) == 1 else f", the largest of {len(checks)} differences"
    early = "" if closing.closed else "; sweeps came after it"
    return (
        f"{sign}{value} µm from the datum, standard uncertainty"
        f" {format_significant(uncertainty_um)} µm, n = {checks[-1].n} touches{times};"
        f" beyond {1000.0 * closing.bound_mm:.0f} µm the run is void{early}"
    )


def home_words(run: Run) -> str:
    """Say what shows that no steps were lost over the run."""
    shift, repeatability_mm = run.home_shift_steps, run.home_repeatability_mm
    if shift is None:
        # Deferred: lists need no arrays
        from rig.analysis.edges.datum_closing import is_closed
        from rig.analysis.edges.run_arrays import closings_of_run

        if all(map(is_closed, closings_of_run(run))):
            return "none: the face was found again where it was in the count"
        return "not checked after the run"
    if shift == 0:
        return "home switch found unmoved after the run"
    scale = run.header.conditions.axis.steps_per_mm
    moved = (
        f"home switch moved by {shift:+d} steps ({1000.0 * shift / scale:+.1f} µm) over"
        " the run"
    )
    limit_um = 1000.0 * home_limit_mm(repeatability_mm)
    if repeatability_mm is None:
        return f"{moved}; up to {limit_um:.0f} µm is taken for its own scatter, assumed"
    return (
        f"{moved}; it repeats to {format_significant(1000.0 * repeatability_mm)} µm"
        f" (standard deviation of {CLOSINGS} closings), which explains up to"
        f" {limit_um:.1f} µm"
    )


def backlash_words(backlash: Backlash) -> str:
    """Say how large the lost motion is and how that is known."""
    uncertainty = backlash.standard_uncertainty_mm
    if backlash.source is BacklashSource.NOT_MEASURED:
        bound = (
            f"standard uncertainty {format_significant(uncertainty)} mm, as stated"
            if uncertainty > 0.0
            else "no uncertainty, since nothing is known of it"
        )
        return f"not measured, taken as 0 mm; {bound}"
    value, _ = round_to_uncertainty(backlash.value_mm, uncertainty)
    words = (
        f"{value} mm, standard uncertainty"
        f" {format_significant(uncertainty)} mm, n = {backlash.n},"
        f" by {backlash.source.value}"
    )
    if backlash.screw_mm is None:
        return words
    screw, _ = round_to_uncertainty(backlash.screw_mm, uncertainty)
    return f"{words}; the linear scale leaves out {screw} mm of the screw"


def places_words(axis: Axis) -> str:
    """Say what places are taken from."""
    if axis.scale_counts_per_mm is None:
        return "steps of the motor"
    count_um = format_significant(1000.0 / axis.scale_counts_per_mm)
    return f"linear scale, {count_um} µm a count"
