"""What a step hides is in the intervals of batches and studies."""

from __future__ import annotations

import numpy as np
import pytest

from rig.analysis.batch.batch_summary import summarise_parts
from rig.analysis.batch.tolerance import tolerance_interval
from rig.analysis.numbers.readout import assumed_step
from rig.analysis.study.measurement_system import crossed_study
from rig.analysis.study.study_results import study_intervals

TRIALS = 400


def test_equal_readings_are_no_exact_tolerance() -> None:
    names = [f"P{k}" for k in range(8)]

    found = summarise_parts("operate", names, [8.0] * 8, unit="mm")

    tolerance = found.tolerance
    assert tolerance.upper - tolerance.lower > 1.0
    assert "steps of 1" in tolerance.method
    assert "exact" not in tolerance.method
    assert found.sd_interval.lower == 0.0 < found.sd_interval.upper
    assert found.mean_interval.upper > 8.5
    assert any("steps of 1 mm" in said for said in found.statements)


def test_values_that_scatter_over_their_step_are_as_they_were() -> None:
    values = [8.01, 8.05, 7.98, 8.12, 8.03, 7.94, 8.08, 8.0]

    found = tolerance_interval(values)

    mean, sd = np.mean(values), np.std(values, ddof=1)
    assert found.upper == pytest.approx(mean + found.factor * sd)
    assert found.method == "two-sided, exact for a normal batch"


@pytest.mark.parametrize("steps", [2.0, 3.0, 5.0])
def test_the_repeatability_is_covered_where_the_step_hides_it(steps: float) -> None:
    # 400 studies of 10 parts, 3 people, 3 trials; repeatability 1 or less of a step
    rng = np.random.default_rng(int(steps))
    step = 0.5
    repeat = step / steps
    held = 0

    for _ in range(TRIALS):
        x = rng.normal(8.0, 3.0, (10, 1, 1)) + rng.normal(0.0, repeat, (10, 3, 3))
        x = np.round(x / step) * step
        if not np.ptp(x, axis=2).any():
            held += 1
            continue
        read = assumed_step(x.ravel())
        found = study_intervals(crossed_study(x), draws=1000, step=read)
        held += found.repeatability.lower <= repeat <= found.repeatability.upper

    assert held / TRIALS >= 0.92
