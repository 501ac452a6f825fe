"""A run beside other runs of the same sensor: reduction factor, s_u and s_a."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields

from rig.analysis.edges.shared_causes import shared_contributions
from rig.analysis.limits.verdict import Rule
from rig.analysis.numbers.ratio import ratio
from rig.analysis.standard.iec_60947_5_2 import (
    UsableDistance,
    not_the_standard_target,
    usable_distance,
)
from rig.analysis.standard.run_against_standard import sensor_limits
from rig.errors import InputError, NoFigures
from rig.model.figures import Figure, RunFigures
from rig.model.sweeps import Run

RunAndFigures = tuple[Run, RunFigures | None]

_FACTOR_IS_OF = "a reduction factor is that of one sensor on two targets"
_USABLE_IS_OF = "s_u and s_a are those of one sensor on one target"


@dataclass(frozen=True, slots=True, kw_only=True)
class ReductionFactor(Figure):
    """Operate point over that on another target, of the same sensor.

    Attributes:
        against_run_id: Run on the other target.
        against_target: Name of that target.
        statements: Sentences on what sets the target apart from the standard target.
    """

    against_run_id: str
    against_target: str
    statements: tuple[str, ...]


def reduction_factor(own: RunAndFigures, reference: RunAndFigures) -> ReductionFactor:
    """Return the operate point over that of a run on the standard target.

    Raises:
        InputError: A run has no figures or is void, or the sensors are not the same.
    """
    found = _ratio(own, reference, _FACTOR_IS_OF)
    header = reference[0].header
    return ReductionFactor(
        **{name.name: getattr(found, name.name) for name in fields(Figure)},
        against_run_id=header.run_id,
        against_target=header.target.name,
        statements=tuple(
            f"The reference is not the standard target: {reason}."
            for reason in not_the_standard_target(header.target, header.sensor)
        ),
    )


def usable_of_runs(
    own: RunAndFigures, under: Mapping[str, RunAndFigures], rule: Rule
) -> UsableDistance:
    """Return s_u and s_a from runs of the same sensor under other conditions.

    Args:
        own: Run under rated conditions.
        under: Runs by the name of their condition; at least one.
        rule: Decision rule.

    Raises:
        InputError: A run has no figures or is void, or is of another sensor or target.
    """
    run, figures = own
    found: dict[str, Figure] = {}
    shared: frozenset[str] | None = None
    for name, (other, known) in under.items():
        _ratio(own, (other, known), _USABLE_IS_OF)
        if other.header.target != run.header.target:
            raise InputError(f"run {other.header.run_id} is against another target")
        if known is not None:
            found[name] = known.operate
        common = shared_contributions(run.header.conditions, other.header.conditions)
        shared = common if shared is None else shared & common
    if figures is None:
        raise NoFigures(run.header.run_id)
    product = run.header.product
    sensor = run.header.sensor if product is None else product.specification.sensor
    return usable_distance(
        figures.operate,
        found,
        sensor,
        sensor_limits(sensor),
        shared=shared or (),
        rule=rule,
    )


def _ratio(own: RunAndFigures, other: RunAndFigures, hint: str) -> Figure:
    """Divide one operate point by the other, if both may be."""
    operate = []
    for run, figures in (own, other):
        if figures is None:
            raise NoFigures(run.header.run_id)
        if run.void:
            raise InputError(f"run {run.header.run_id} is void: {run.void}")
        operate.append(figures.operate)
    a, b = own[0].header, other[0].header
    if (a.sensor.name, a.part) != (b.sensor.name, b.part):
        raise InputError(
            f"run {a.run_id} is of {a.sensor.name} {a.part or 'without a part'}, run"
            f" {b.run_id} of {b.sensor.name} {b.part or 'without a part'}",
            hint=hint,
        )
    return ratio(
        *operate,
        shared=shared_contributions(a.conditions, b.conditions),
        labels=(a.target.name, b.target.name),
    )
