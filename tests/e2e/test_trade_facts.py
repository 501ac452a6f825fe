"""What the trade knows of such sensors, measured on the simulated rig.

Every figure here is measured through the link, as on a real rig, and none computed from
the sensor's model. Common practice, no source: the ranges that trade literature gives.
"""

from __future__ import annotations

import pytest

from rig.model.figures import Figure, RunFigures

from .conftest import Measure

EARTHED_METALS = ("steel", "stainless", "brass", "aluminium", "copper")
# Operating distance over that on steel (common practice, no source)
INDUCTIVE_FACTORS = {
    "stainless": (0.6, 0.85),
    "brass": (0.35, 0.5),
    "aluminium": (0.3, 0.45),
    "copper": (0.25, 0.4),
}


def figures_on(measure: Measure, sensor: str, target: str) -> RunFigures:
    principle = "inductive" if sensor == "gate-8" else "capacitive"
    name = f"sim://?sensor={principle}&seed=5"
    return measure(name, sensor, target, sweeps=5, mount=True).figures


def reach(figure: Figure) -> tuple[float, float]:
    assert figure.expanded_uncertainty is not None
    return (
        figure.value - figure.expanded_uncertainty,
        figure.value + figure.expanded_uncertainty,
    )


def factor_reach(figures: RunFigures, reference: RunFigures) -> tuple[float, float]:
    """Reduction factor, least and most that the uncertainties leave."""
    low, high = reach(figures.operate)
    least, most = reach(reference.operate)
    return low / most, high / least


@pytest.mark.long
def test_a_capacitive_sensor_sees_all_earthed_metals_at_one_distance(
    measure: Measure,
) -> None:
    found = {t: figures_on(measure, "level-18", t) for t in EARTHED_METALS}

    distances = [figures.operate.value for figures in found.values()]
    assert (max(distances) - min(distances)) / min(distances) < 0.03
    for figures in found.values():
        low, high = reach(figures.differential_travel_percent)
        assert 10.0 < low < high < 20.0


@pytest.mark.parametrize("target", ["pvc", "cardboard", "plywood"])
def test_a_capacitive_sensor_sees_thin_non_metals_at_a_third_to_a_half(
    measure: Measure, target: str
) -> None:
    steel = figures_on(measure, "level-18", "steel")

    low, high = factor_reach(figures_on(measure, "level-18", target), steel)

    assert 1 / 3 < low < high < 1 / 2


def test_a_capacitive_sensor_sees_water_nearly_like_metal(measure: Measure) -> None:
    steel = figures_on(measure, "level-18", "steel")

    low, high = factor_reach(figures_on(measure, "level-18", "water"), steel)

    assert 0.9 < low < high < 1.0


def test_a_metal_plate_that_is_not_earthed_is_seen_nearer(measure: Measure) -> None:
    steel = figures_on(measure, "level-18", "steel")

    _, high = factor_reach(figures_on(measure, "level-18", "steel-unearthed"), steel)

    assert high < 0.9


def test_an_inductive_sensor_sees_steel_at_its_rated_distance(
    measure: Measure,
) -> None:
    low, high = reach(figures_on(measure, "gate-8", "steel").operate)

    # s_r within 0.9 to 1.1 s_n (IEC 60947-5-2, from memory)
    assert 0.9 * 3.0 < low < high < 1.1 * 3.0


@pytest.mark.parametrize("target", INDUCTIVE_FACTORS)
def test_an_inductive_sensor_sees_other_metals_by_the_trade_s_factors(
    measure: Measure, target: str
) -> None:
    steel = figures_on(measure, "gate-8", "steel")

    low, high = factor_reach(figures_on(measure, "gate-8", target), steel)

    least, most = INDUCTIVE_FACTORS[target]
    assert least < low < high < most
