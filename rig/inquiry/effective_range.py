"""Within which limits the operate point of a run has to lie, and what that decides."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from rig.analysis.limits.verdict import Decision
from rig.analysis.standard.figure_decisions import decisions_of_figures
from rig.analysis.standard.run_against_standard import sensor_limits
from rig.errors import InputError
from rig.model.figures import RunFigures
from rig.model.mounted import Sensor
from rig.model.sweeps import Conditions, RunHeader

_EFFECTIVE = "s_r"


@dataclass(frozen=True, slots=True, kw_only=True)
class EffectiveRange:
    """Limits of the effective distance s_r of a run, with the decision.

    Attributes:
        lower_mm: Lower limit.
        upper_mm: Upper limit.
        decision: Decision about the run's operate point.
    """

    lower_mm: float
    upper_mm: float
    decision: Decision


def effective_range(
    header: RunHeader, figures: RunFigures, later: Sequence[Conditions] = ()
) -> EffectiveRange | None:
    """Return both limits of s_r; None where one is missing or no verdict can be.

    Args:
        header: What was measured.
        figures: Figures of the run.
        later: Conditions that the run was resumed under.
    """
    product = header.product
    sensor = header.sensor if product is None else product.specification.sensor
    ends = effective_limits(sensor)
    if ends is None:
        return None
    decided = decisions_of_figures(header, figures, later=later).get(_EFFECTIVE)
    if decided is None:
        return None
    return EffectiveRange(lower_mm=ends[0], upper_mm=ends[1], decision=decided)


def effective_limits(sensor: Sensor) -> tuple[float, float] | None:
    """Return lower and upper limit of s_r, mm; None where one is missing or invalid."""
    try:
        entry = sensor_limits(sensor)[_EFFECTIVE]
        limits = entry.limits(scale=sensor.rated_distance_mm, unit="mm")
    except InputError:
        # A limit that is not possible is said where the run is shown
        return None
    if math.isfinite(limits.lower) and math.isfinite(limits.upper):
        return limits.lower, limits.upper
    return None
