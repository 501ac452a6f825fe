"""What the figure of a part has in common with those of other parts."""

from __future__ import annotations

from rig.analysis.batch.common_errors import CommonError
from rig.analysis.edges.bench_terms import names_common_to_parts
from rig.analysis.edges.shared_causes import BACKLASH, TOUCH_OFF, TOUCH_PROBE, TWICE
from rig.model.figures import Figure
from rig.model.sweeps import Conditions

_AXIS = "axis position error"


def errors_in_common(
    found: Figure, conditions: Conditions, *, one_datum: bool
) -> tuple[CommonError, ...]:
    """Return the lines of a figure's budget that other parts on that bench share.

    Args:
        found: The figure.
        conditions: Conditions of its run.
        one_datum: Whether all parts of the batch were measured from one datum.
    """
    of_datum = {TOUCH_OFF, BACKLASH} if one_datum else set()
    names = {TOUCH_PROBE, _AXIS}
    bench = conditions.bench
    if bench is not None:
        names.update(names_common_to_parts(bench, one_datum=False))
        every = set(names_common_to_parts(bench, one_datum=one_datum))
        of_datum |= every - names
    origin = _origin(conditions)
    datum = f", datum of {conditions.datum.found_at.isoformat()}"
    return tuple(
        CommonError(
            origin=origin,
            name=f"{line.name}{datum if line.name in of_datum else ''}",
            effect=line.sensitivity * line.standard_uncertainty,
            degrees_of_freedom=line.degrees_of_freedom,
        )
        for line in found.budget
        if line.name.removesuffix(TWICE) in names | of_datum
    )


def _origin(conditions: Conditions) -> str:
    """Name rig, declaration, probe and calibration in one text."""
    calibration = conditions.calibration
    bench = conditions.bench
    stated = conditions.datum.probe_uncertainty_mm
    return "|".join(
        [
            conditions.rig_id,
            "" if calibration is None else calibration.calibration_id,
            f"{stated}" if bench is None else repr(bench.values),
        ]
    )
