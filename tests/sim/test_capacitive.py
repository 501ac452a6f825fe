from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from scipy.optimize import brentq

from sim.materials import MATERIALS, Material
from sim.presets import SENSORS, TARGETS
from sim.sensors.capacitive import CapacitiveHead
from sim.targets import SimTarget, plate

HEAD = CapacitiveHead(radius_mm=9.0)
STEEL = TARGETS["steel"]
SENSOR = SENSORS["capacitive"]


def signal(gap_mm: float, target: SimTarget, head: CapacitiveHead = HEAD) -> float:
    return float(head.signal(np.array([gap_mm]), target)[0])


def gap_with(level: float, target: SimTarget) -> float:
    return float(brentq(lambda d: signal(d, target) - level, 0.01, 60.0, xtol=1e-10))


# Operate / differential travel in radii, threshold set on earthed metal at 8/9 R,
# h = 0.324. From an independent computation of the same model (R 9 mm, sheets of 2,
# 4 and 10 mm and a half-space, read off a grid of gaps): good to 2 in the third digit.
TABLE = [
    (2, (0.227, 0.087), (0.311, 0.102), (0.382, 0.116), (0.411, 0.124)),
    (3, (0.344, 0.102), (0.440, 0.116), (0.522, 0.129), (0.560, 0.138)),
    (5, (0.460, 0.113), (0.558, 0.127), (0.640, 0.138), (0.680, 0.149)),
    (10, (0.587, 0.127), (0.669, 0.138), (0.740, 0.149), (0.778, 0.158)),
    (80, (0.804, 0.153), (0.836, 0.158), (0.860, 0.162), (0.873, 0.164)),
]


@pytest.mark.parametrize("row", TABLE, ids=lambda row: f"er{row[0]}")
def test_operate_and_travel_by_permittivity_and_thickness(row) -> None:
    permittivity, *cells = row
    material = Material(name="x", relative_permittivity=permittivity)
    on = signal(8.0, STEEL)
    for thickness_mm, (operate, travel) in zip((2, 4, 10, 1e4), cells, strict=True):
        target = plate(material, thickness_mm)
        operate_mm = gap_with(on, target)
        travel_mm = gap_with(on * (1 - 0.324), target) - operate_mm
        assert operate_mm / 9.0 == pytest.approx(operate, abs=0.0025)
        assert travel_mm / 9.0 == pytest.approx(travel, abs=0.0025)


# Same source as TABLE: threshold factor, operate gap on earthed metal in radii.
@pytest.mark.parametrize(
    ("factor", "radii"),
    [(4, 0.436), (2, 0.638), (1, 0.889), (0.5, 1.198), (0.25, 1.576), (0.1, 2.213)],
)
def test_trimmer_moves_the_operate_point(factor: float, radii: float) -> None:
    sensor = dataclasses.replace(SENSOR, threshold_factor=factor)
    operate_mm = sensor.response(STEEL).operate_gap_mm
    assert operate_mm is not None
    assert operate_mm / 9.0 == pytest.approx(radii, abs=0.0015)


# Same source as TABLE: -d ln(dC) / d ln(d) on earthed metal at 1, 2, 4, 8, 12, 24 mm.
@pytest.mark.parametrize(
    ("gap_mm", "exponent"),
    [(1, 1.23), (2, 1.40), (4, 1.71), (8, 2.21), (12, 2.51), (24, 2.84)],
)
def test_local_exponent(gap_mm: float, exponent: float) -> None:
    near, far = signal(gap_mm * 0.999, STEEL), signal(gap_mm * 1.001, STEEL)
    local = -np.log(far / near) / np.log(1.001 / 0.999)
    assert local == pytest.approx(exponent, abs=0.008)


def test_tabulated_threshold_is_within_50_nm_of_the_integral() -> None:
    for target in TARGETS.values():
        for factor in (0.2, 1.0, 3.0):
            sensor = dataclasses.replace(SENSOR, threshold_factor=factor)
            response = sensor.response(target)
            on = signal(8.0, STEEL) * factor
            for gap_mm, level in (
                (response.operate_gap_mm, on),
                (response.release_gap_mm, on * (1 - 0.324)),
            ):
                assert gap_mm is not None
                assert gap_mm == pytest.approx(gap_with(level, target), abs=5e-5)


def test_fine_grid_follows_the_integral_between_its_points() -> None:
    response = SENSOR.response(TARGETS["pvc"])
    rng = np.random.default_rng(1)
    gaps = np.sort(rng.uniform(0.5, 40.0, 2000))
    exact = HEAD.signal(gaps, TARGETS["pvc"]) / signal(8.0, STEEL)
    slope = np.gradient(exact, gaps)
    error_mm = np.abs((response.signal_at(gaps) - exact) / slope)
    assert error_mm.max() < 5e-5


def test_signal_at_never_rises_and_survives_contact() -> None:
    for target in TARGETS.values():
        response = SENSOR.response(target)
        gaps = np.concatenate(([-1.0, 0.0], np.geomspace(1e-4, 200.0, 5000)))
        levels = response.signal_at(gaps)
        assert np.all(np.isfinite(levels))
        assert np.all(np.diff(levels) <= 0.0)


def test_slopes_state_the_noise_as_a_length() -> None:
    response = SENSOR.response(STEEL)
    assert response.operate_slope_per_mm is not None
    sigma_mm = SENSOR.noise_signal / -response.operate_slope_per_mm
    assert sigma_mm == pytest.approx(SENSOR.noise_sigma_mm, rel=1e-9)
    exact = (signal(8.001, STEEL) - signal(7.999, STEEL)) / 0.002 / signal(8.0, STEEL)
    assert response.operate_slope_per_mm == pytest.approx(exact, rel=1e-4)


def test_noise_is_of_the_signal_so_shorter_on_plastics() -> None:
    on_pvc = SENSOR.response(TARGETS["pvc"]).operate_slope_per_mm
    assert on_pvc is not None
    assert SENSOR.noise_signal / -on_pvc < 0.8 * SENSOR.noise_sigma_mm


def test_noise_stays_the_same_in_capacitance_when_the_trimmer_turns() -> None:
    keen = dataclasses.replace(SENSOR, threshold_factor=0.25)
    assert keen.noise_signal == pytest.approx(4.0 * SENSOR.noise_signal)


def test_response_is_made_once_whatever_the_noise() -> None:
    noisy = dataclasses.replace(SENSOR, noise_sigma_mm=0.02, tau_on_s=0.01)
    assert noisy.response(STEEL) is SENSOR.response(STEEL)


def test_plastic_straight_on_an_earthed_carriage_looks_nearer_to_metal() -> None:
    # 0.35 R in air becomes 0.70 R on metal, and 4.5 R of air behind it is enough:
    # same source as TABLE, which names no sheet; 4 mm of er 2.2 to 2.3 has this pair.
    air = Material(name="air")
    bare = plate(MATERIALS["pp"], 4.0)
    carriage = dataclasses.replace(bare, backing=MATERIALS["steel"])
    apart = dataclasses.replace(
        carriage, layers=(*bare.layers, *plate(air, 4.5 * 9.0).layers)
    )
    on_air, on_metal, on_stand_off = (
        SENSOR.response(t).operate_gap_mm for t in (bare, carriage, apart)
    )
    assert on_air is not None
    assert on_metal is not None
    assert on_stand_off is not None
    assert on_air / 9.0 == pytest.approx(0.35, abs=0.01)
    assert on_metal / 9.0 == pytest.approx(0.70, abs=0.01)
    assert on_stand_off == pytest.approx(on_air, rel=0.01)


def test_cover_adds_to_the_gap() -> None:
    covered = CapacitiveHead(radius_mm=9.0, cover_mm=1.0)
    assert signal(3.0, STEEL, covered) == pytest.approx(signal(4.0, STEEL), rel=1e-12)
