"""Builds invented runs: one bench, one sensor, and whatever a test changes of them.

What is a record of its own is changed by a dictionary: `conditions(datum={"n": 5})`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, datetime
from typing import Any, TypeVar

from rig.model.figures import Figure, RunFigures
from rig.model.mounted import (
    Axis,
    Backlash,
    BacklashSource,
    Datum,
    Principle,
    Sensor,
    Target,
)
from rig.model.sweeps import Conditions, DatumCheck, Edge, Run, RunHeader, Sweep

T = TypeVar("T")

NOON = datetime(2026, 11, 25, 12, tzinfo=UTC)
NO_BACKLASH = Backlash(
    value_mm=0.0,
    standard_uncertainty_mm=0.0,
    degrees_of_freedom=0.0,
    n=0,
    source=BacklashSource.NOT_MEASURED,
)
_SENSOR = Sensor(
    name="level 18",
    principle=Principle.CAPACITIVE,
    size_mm=18.0,
    rated_distance_mm=8.0,
)
_TARGET = Target(
    name="reference plate", material="steel", thickness_mm=1.0, earthed=True
)
_CONDITIONS = Conditions(
    simulated=True,
    rig_id="bench-1",
    firmware_version="1.0",
    protocol_version="1.0",
    boot_number=1,
    axis=Axis(steps_per_mm=1600.0, standard_uncertainty_mm=0.001),
    datum=Datum(
        position_steps=20_000.0,
        standard_uncertainty_mm=0.0005,
        degrees_of_freedom=9.0,
        n=10,
        probe_uncertainty_mm=0.002,
        found_at=NOON,
    ),
    backlash=Backlash(
        value_mm=0.04,
        standard_uncertainty_mm=0.0008,
        degrees_of_freedom=4.0,
        n=5,
        source=BacklashSource.PROBE,
    ),
)
_HEADER = RunHeader(
    run_id="20261125-120000-512-7f3a",
    sensor=_SENSOR,
    target=_TARGET,
    sweeps_wanted=10,
    speeds_mm_s=(1.0, 4.0),
    conditions=_CONDITIONS,
    software_version="0.1.0",
    started_at=NOON,
)


def changed(made: T, **changes: Any) -> T:
    """Return a record with changes; a dictionary changes what stands in that field."""
    given = {
        name: changed(getattr(made, name), **value)
        if isinstance(value, dict)
        else value
        for name, value in changes.items()
    }
    return replace(made, **given)  # type: ignore[type-var]


def sensor(**changes: Any) -> Sensor:
    """Return a capacitive sensor of 18 mm."""
    return changed(_SENSOR, **changes)


def target(**changes: Any) -> Target:
    """Return an earthed plate of steel, 1 mm thick."""
    return changed(_TARGET, **changes)


def conditions(**changes: Any) -> Conditions:
    """Return the conditions on a simulated bench with 1600 steps a millimetre."""
    return changed(_CONDITIONS, **changes)


def header(**changes: Any) -> RunHeader:
    """Return the header of a run of ten sweeps at 1 and 4 mm/s."""
    return changed(_HEADER, **changes)


def edge(
    position_steps: int,
    *,
    level: bool,
    approaching: bool,
    number: int = 0,
    time_us: int = 0,
) -> Edge:
    """Return an edge."""
    return Edge(
        number=number,
        level=level,
        position_steps=position_steps,
        time_us=time_us,
        approaching=approaching,
    )


def sweep(
    index: int,
    edges: Sequence[Edge],
    *,
    speed_mm_s: float = 1.0,
    void: str = "",
    ended_at: datetime = NOON,
) -> Sweep:
    """Return a sweep that operates with its first edge and releases with its last."""
    return Sweep(
        index=index,
        speed_mm_s=speed_mm_s,
        operate=edges[0] if edges else None,
        release=edges[-1] if len(edges) > 1 else None,
        edges=tuple(edges),
        void=void,
        ended_at=ended_at,
    )


def run(
    sweeps: Sequence[Sweep],
    *,
    ended_at: datetime | None = NOON,
    home_shift_steps: int | None = 0,
    moved_mm: float | None = 0.0,
    **changes: Any,
) -> Run:
    """Return a run of these sweeps; changes are those of its header.

    Afterwards the face was found so far from the datum; None if nobody touched it.
    """
    made = header(**changes)
    datum, scale = made.conditions.datum, made.conditions.axis.steps_per_mm
    check = DatumCheck(
        sweeps_before=len(sweeps),
        position_steps=datum.position_steps + (moved_mm or 0.0) * scale,
        standard_uncertainty_mm=0.0008,
        degrees_of_freedom=2.0,
        n=3,
        touched_at=NOON,
    )
    return Run(
        header=made,
        datum_checks=() if moved_mm is None else (check,),
        sweeps=tuple(sweeps),
        ended_at=ended_at,
        home_shift_steps=home_shift_steps,
    )


def figure(
    value: float, uncertainty: float | None, unit: str = "mm", **changes: Any
) -> Figure:
    """Return a figure of ten sweeps; without an uncertainty it says why."""
    known = uncertainty is not None
    made = Figure(
        value=value,
        unit=unit,
        expanded_uncertainty=uncertainty,
        coverage_factor=2.26 if known else None,
        effective_degrees_of_freedom=9.0 if known else None,
        standard_deviation=0.003,
        n=10,
        why_none="" if known else "it grows with their number",
    )
    return changed(made, **changes)


def run_figures(**changes: Any) -> RunFigures:
    """Return the figures of a run that operates at 8 mm and releases at 9.4 mm."""
    made = RunFigures(
        operate=figure(8.0021, 0.0051),
        release=figure(9.4112, 0.0083),
        differential_travel=figure(1.4091, 0.0087),
        differential_travel_percent=figure(17.61, 0.11, "%"),
        first_passage_bias_operate=figure(0.003, 0.004),
        first_passage_bias_release=figure(0.004, 0.005),
        threshold_operate=figure(7.9991, 0.006),
        threshold_release=figure(9.4152, 0.009),
        response_time_operate=figure(4.0, 1.1, "ms"),
        response_time_release=figure(5.2, 2.4, "ms"),
        repeat_accuracy_short_term=figure(0.0069, None),
        warnings=(),
        analysis_version="1",
    )
    return changed(made, **changes)
