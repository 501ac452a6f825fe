"""Measured operate points against theory, in sentences."""

from __future__ import annotations

from collections.abc import Sequence

from rig.analysis.classroom.prediction import (
    Deviation,
    MeasuredMaterial,
    compare_with_prediction,
)
from rig.model.mounted import Sensor
from rig.tui.lesson.book import KeptRun
from rig.tui.lesson.lesson_pictures import with_property
from rig.tui.lesson.theory import curve_for, target_of


def agreement_text(sensor: Sensor, runs: Sequence[KeptRun]) -> str:
    """Say of each material whether it agrees with theory, and for what theory holds."""
    curve = curve_for(sensor)
    holds = f"Theory holds for a {target_of(curve)}."
    known = with_property(sensor, runs)
    if not known:
        return f"No material measured yet of which tables know the property. {holds}"
    agreement = compare_with_prediction(
        curve,
        [
            MeasuredMaterial(
                material=kept.run.header.target.name,
                property_low=low,
                property_high=high,
                operate=kept.figures.operate,
            )
            for kept, (low, high) in known
        ],
    )
    return "\n".join([*map(_line, agreement.deviations), holds])


def _line(one: Deviation) -> str:
    low, high = one.predicted_range_mm
    words = (
        f"{one.material}: theory {low:.2f} to {high:.2f} mm,"
        f" measured {one.measured_mm:.3f} mm"
    )
    if one.normalised is None:
        return f"{words}, no ± to judge by"
    verdict = "agrees" if one.agrees else "does not agree"
    return f"{words}, {verdict} (E_n {one.normalised:+.1f})"
