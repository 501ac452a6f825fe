"""Readings by hand, growth of knowledge, predicted against measured."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.stats import binom

from rig.analysis.classroom.hand_comparison import compare_by_hand, growth_of_knowledge
from rig.analysis.classroom.predicted_curve import (
    MeasuredMaterial,
    Property,
    compare_with_prediction,
    predicted_mm,
    read_curve,
)
from rig.analysis.numbers.readout import assumed_step
from rig.analysis.numbers.uncertainty import figure
from rig.model.figures import Contribution, Evaluation, Figure


def known(value: float, u: float = 0.01) -> Figure:
    line = Contribution(
        name="touch probe",
        evaluation=Evaluation.TYPE_B,
        standard_uncertainty=u,
        unit="mm",
    )
    return figure(value, "mm", [line], n=10, standard_deviation=0.005)


def test_bias_and_spread_of_readings_by_hand() -> None:
    rng = np.random.default_rng(9)
    people = {
        "group 1": rng.normal(8.0, 0.2, 20),
        "group 2": rng.normal(8.5, 0.4, 20),
    }

    result = compare_by_hand(people, known(8.0))

    one, two = result.people
    assert not one.biased
    assert two.biased
    assert "too far" in two.sentence
    assert two.bias.value == pytest.approx(0.5, abs=0.4)
    assert two.spread_ratio == pytest.approx(two.sd_mm / 0.005)
    assert one.sd_interval.lower < 0.2 < one.sd_interval.upper
    assert result.between_people is not None
    assert result.between_people.p < 0.01


def test_the_rigs_own_uncertainty_is_part_of_a_bias() -> None:
    readings = [8.5, 8.6, 8.4, 8.5, 8.5]

    sure = compare_by_hand({"a": readings}, known(8.0, 0.01)).people[0]
    unsure = compare_by_hand({"a": readings}, known(8.0, 0.5)).people[0]

    assert sure.biased
    assert not unsure.biased


def test_knowledge_grows_with_the_root_of_n() -> None:
    readings = np.random.default_rng(12).normal(1e6, 0.5, 400)

    growth = growth_of_knowledge(readings)

    assert growth.n[[0, -1]].tolist() == [2.0, 400.0]
    for i in (0, 10, 398):
        some = readings[: i + 2]
        assert growth.mean[i] == pytest.approx(some.mean(), rel=1e-12)
        assert growth.sd[i] == pytest.approx(some.std(ddof=1), rel=1e-6)
    # t(0.975, 1) = 12.706 for two readings
    assert growth.half_width[0] == pytest.approx(
        12.706 * growth.sd[0] / math.sqrt(2.0), rel=1e-4
    )
    assert growth.expected_half_width[99 - 2 + 1] == pytest.approx(
        2.0 * growth.expected_half_width[-1]
    )


CURVE = """# model: made up for a test
relative_permittivity,operate_mm
1,0.0
10,5.0
100,10.0
"""


def test_a_predicted_curve_is_read_and_interpolated_over_the_logarithm() -> None:
    curve = read_curve(CURVE, "curve.csv")

    assert curve.of is Property.PERMITTIVITY
    assert curve.notes == ("model: made up for a test",)
    assert predicted_mm(curve, math.sqrt(10.0)) == pytest.approx(2.5)


def test_measured_beside_predicted() -> None:
    curve = read_curve(CURVE, "curve.csv")
    materials = [
        MeasuredMaterial(
            material="wheat",
            curve=curve,
            property_low=3.0,
            property_high=5.0,
            operate=known(3.1),
        ),
        MeasuredMaterial(
            material="glass",
            curve=curve,
            property_low=10.0,
            property_high=10.0,
            operate=known(5.01),
        ),
        MeasuredMaterial(
            material="water",
            curve=curve,
            property_low=80.0,
            property_high=80.0,
            operate=known(9.0),
        ),
    ]

    result = compare_with_prediction(materials)

    wheat, glass, water = result.deviations
    # A range of 5 log10(5/3) = 1.11 mm excuses 0.16 mm
    assert wheat.agrees
    assert wheat.predicted_range_mm == pytest.approx(
        (5.0 * math.log10(3.0), 5.0 * math.log10(5.0))
    )
    # U = 1.96 x 0.01 mm
    assert glass.normalised == pytest.approx(0.01 / 0.0196, rel=1e-3)
    assert glass.agrees
    assert water.agrees is False
    assert result.rank_correlation == pytest.approx(1.0)


TRIALS = 2000


def people_at_random(
    rng: np.random.Generator, step_mm: float, hand_mm: float, readings: int
) -> tuple[dict[str, np.ndarray], Figure]:
    """Unbiased people who read one distance off a scale, and a rig that knows it."""
    truth = rng.uniform(4.0, 9.0)
    at = truth + hand_mm * rng.standard_normal((1, readings))
    read = np.round(at / step_mm) * step_mm
    return {"Ann": read[0]}, known(truth + 0.002 * rng.standard_normal(), 0.002)


@pytest.mark.long
@pytest.mark.parametrize("stated", [True, False])
@pytest.mark.parametrize(
    ("step_mm", "hand_mm", "readings"),
    [(0.5, 0.05, 5), (0.5, 0.1, 5), (0.5, 0.02, 2), (0.1, 0.02, 5), (1.0, 0.4, 10)],
)
def test_an_unbiased_person_is_rarely_called_biased(
    step_mm: float, hand_mm: float, readings: int, stated: bool
) -> None:
    rng = np.random.default_rng(readings)
    called = 0
    for _ in range(TRIALS):
        people, rig = people_at_random(rng, step_mm, hand_mm, readings)
        steps = {"Ann": step_mm} if stated else None
        called += compare_by_hand(people, rig, steps_mm=steps).people[0].biased

    # 5 % and what chance allows of 2000 at 1 in 1000
    assert called <= binom.ppf(0.999, TRIALS, 0.05)


def test_who_reads_far_beside_the_step_is_still_called_biased() -> None:
    (one,) = compare_by_hand({"Ann": [9.0, 9.0, 8.5, 9.0]}, known(8.0)).people

    assert one.biased
    assert one.step_mm == 0.5
    assert one.step_assumed


def test_no_ruler_beats_the_rig() -> None:
    (one,) = compare_by_hand({"Ann": [8.5, 8.5, 8.5]}, known(8.0, 0.002)).people

    # k = 1.96 times 0.5 mm over sqrt 12
    assert one.bias.expanded_uncertainty is not None
    assert one.bias.expanded_uncertainty == pytest.approx(0.283, abs=0.001)
    assert one.mean_interval.upper - one.mean_interval.lower > 0.5
    assert one.sd_interval.lower == 0.0
    assert one.sd_interval.upper > 0.1
    assert one.spread_ratio is None
    assert "the readout's step of 0.5 mm hides the spread" in one.sentence
    assert growth_of_knowledge([8.5, 8.5, 8.5], step_mm=0.5).half_width[-1] > 0.28


@pytest.mark.parametrize(
    ("readings", "step_mm"),
    [
        ([8.0, 9.0], 1.0),
        ([8.5, 8.0], 0.5),
        ([8.25, 8.5], 0.25),
        ([8.1, 8.35], 0.05),
        ([8.137, 8.2], 0.001),
        ([math.pi, 8.2], 0.0),
    ],
)
def test_the_step_that_nobody_stated_is_the_coarsest_that_fits(
    readings: list[float], step_mm: float
) -> None:
    assert assumed_step(readings) == step_mm
