"""A run of an invented plate with its figures, operating where one wants it."""

from __future__ import annotations

from dataclasses import replace

from rig.analysis.run.operate_at_rest import operate_at_rest_mm
from rig.analysis.run.run_figures import run_figures
from rig.inquiry.measured_run import MeasuredRun
from rig.model.mounted import Target
from tests.report.kinds import part_run

_MADE_FOR_MM = 4.0
_STEPS_PER_MM = 1600


def measured_run(
    material: str, *, operate_mm: float, thickness_mm: float = 1.0
) -> MeasuredRun:
    """Measure a plate of a material, near enough to a place."""
    target = Target(
        name=material,
        material=material,
        thickness_mm=thickness_mm,
        earthed=material == "steel",
    )
    shift = -round((operate_mm - _MADE_FOR_MM) * _STEPS_PER_MM)
    made = part_run(1, shift=shift, target=target)
    sensor = replace(made.header.sensor, name="level-18")
    run = replace(made, header=replace(made.header, sensor=sensor))
    return MeasuredRun(
        run=run,
        figures=run_figures(run),
        operate_at_rest_mm=tuple(operate_at_rest_mm(run).tolist()),
    )
