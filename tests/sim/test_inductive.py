from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.optimize import brentq

from sim.materials import MATERIALS, Material
from sim.presets import SENSORS, TARGETS
from sim.sensors.inductive import InductiveHead
from sim.targets import SimTarget, plate

SENSOR = SENSORS["inductive"]
STEEL = TARGETS["steel"]


def signal(gap_mm: float, target: SimTarget, head: InductiveHead) -> float:
    return float(head.signal(np.array([gap_mm]), target)[0])


def factor(name: str, head: InductiveHead, thickness_mm: float) -> float:
    on = signal(head.radius_mm, STEEL, head)
    target = plate(MATERIALS[name], thickness_mm)
    gap = brentq(lambda d: signal(d, target, head) - on, 1e-3, 20.0)
    return float(gap) / head.radius_mm


# An independent computation of the same model: s_n = a = 4 mm, 300 kHz, thick plates,
# printed to two digits.
@pytest.mark.parametrize(
    ("name", "expected"),
    [("stainless", 0.70), ("brass", 0.41), ("aluminium", 0.32), ("copper", 0.27)],
)
def test_factors_with_a_loop_of_4_mm(name: str, expected: float) -> None:
    head = InductiveHead(radius_mm=4.0)
    assert factor(name, head, 10.0) == pytest.approx(expected, abs=0.006)


def test_foil_is_seen_farther_than_plate() -> None:
    # 50 um of aluminium, 0.63; same source as above
    head = InductiveHead(radius_mm=4.0)
    assert factor("aluminium", head, 0.05) == pytest.approx(0.63, abs=0.006)


def test_hysteresis_of_a_tenth_is_a_twentieth_of_the_gap() -> None:
    response = SENSOR.response(STEEL)
    assert response.operate_gap_mm == pytest.approx(3.0, abs=1e-6)
    assert response.release_gap_mm is not None
    # H = 0.05 s_n on steel; same source as above
    assert response.release_gap_mm / 3.0 - 1.0 == pytest.approx(0.05, abs=0.005)


@pytest.mark.parametrize("name", ["pvc", "glass", "plywood", "cardboard", "water"])
def test_what_does_not_conduct_is_never_seen(name: str) -> None:
    response = SENSOR.response(TARGETS[name])
    assert response.operate_gap_mm is None
    assert response.release_gap_mm is None
    assert response.operate_slope_per_mm is None
    assert np.all(response.signal_at(np.linspace(0.0, 40.0, 500)) < 0.01)


def test_earth_means_nothing_to_a_coil() -> None:
    unearthed = SENSOR.response(TARGETS["steel-unearthed"])
    assert unearthed.operate_gap_mm == SENSOR.response(STEEL).operate_gap_mm


def test_tabulated_threshold_is_within_50_nm_of_the_integral() -> None:
    on = signal(3.0, STEEL, SENSOR.head)
    for name in ("steel", "stainless", "brass", "aluminium", "copper"):
        response = SENSOR.response(TARGETS[name])
        for gap_mm, level in (
            (response.operate_gap_mm, on),
            (response.release_gap_mm, on * (1 - SENSOR.hysteresis)),
        ):
            exact = brentq(
                lambda d, n=name, s=level: signal(d, TARGETS[n], SENSOR.head) - s,
                1e-3,
                20.0,
                xtol=1e-10,
            )
            assert gap_mm == pytest.approx(exact, abs=5e-5)


def test_signal_never_rises_with_the_gap() -> None:
    for target in TARGETS.values():
        levels = SENSOR.response(target).signal_at(np.linspace(-0.5, 60.0, 20_000))
        assert np.all(np.diff(levels) <= 0.0)


def test_a_plate_of_two_halves_is_one_plate() -> None:
    half = plate(MATERIALS["brass"], 0.1)
    twice = dataclasses.replace(half, layers=half.layers * 2)
    whole = plate(MATERIALS["brass"], 0.2)
    gaps = np.array([0.5, 1.0, 3.0])
    ours = SENSOR.head.signal(gaps, twice)
    np.testing.assert_allclose(ours, SENSOR.head.signal(gaps, whole), rtol=1e-12)


def test_loss_is_that_of_the_skin_when_the_skin_is_thin() -> None:
    # Surface impedance: power in the skin is |H_t|^2 / (2 sigma delta) with twice the
    # free tangential field at a perfect conductor; integrated over the plate here.
    # Jackson, Classical Electrodynamics, section 8.1, from memory. Good to the ratio
    # of skin depth to loop, a per cent or so.
    from scipy.special import j1

    metal = Material(name="x", conductivity_s_m=58e6 * 100, is_metal=True)
    head = InductiveHead(radius_mm=4.0)
    skin_m = 1.0 / np.sqrt(np.pi * 300e3 * 4e-7 * np.pi * 58e8)
    a, d = 4e-3, 2e-3
    # By Parseval: 2 pi Integral |H_r(s)|^2 s ds of the field H_r(s) = a J1(s a) e^-sd
    tangential = quad(
        lambda s: s * (a * j1(s * a)) ** 2 * np.exp(-2 * s * d), 0, 40 / d, limit=500
    )[0]
    loss_ohm = 2 * np.pi * tangential / (58e8 * skin_m)
    assert signal(2.0, plate(metal, 10.0), head) == pytest.approx(loss_ohm, rel=0.01)
