"""Places along the axis: what they show of a screw, and what is refused."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
import statsmodels.api as sm
from scipy.optimize import brentq
from scipy.stats import binom

from rig.analysis.axis.place_advice import (
    advised_places_mm,
    next_place_mm,
    widest_gap,
)
from rig.analysis.axis.place_fit import place_fit, sensitivity_at
from rig.analysis.axis.place_readings import (
    PlaceReadings,
    SweptPlace,
    place_readings,
)
from rig.analysis.numbers.variance_components import component_fit
from rig.errors import InputError

LEAD = 2.0
TURNS = np.array([0.0, 0.5, 0.25, 0.75, 0.125, 0.625, 0.375, 0.875])


def commanded(actual_mm: float, error) -> float:
    """Where a carriage must be sent to stand at a place."""
    return brentq(lambda x: x + error(x) - actual_mm, actual_mm - 1, actual_mm + 1)


def readings(
    error,
    *,
    faces_mm=30.0 - LEAD * TURNS,
    operate_mm=8.3,
    release_mm=9.7,
    backlash_mm=0.04,
    noise_um=0.0,
    datum_um=0.0,
    per_hour=0.0,
    rng=None,
) -> PlaceReadings:
    """An invented axis with that error, actual less commanded; one row a place."""
    rng = rng or np.random.default_rng(0)
    m = len(faces_mm)
    hours = np.arange(m) / 15.0
    rows = []
    for face, hour in zip(faces_mm, hours, strict=True):
        grown = 1.0 + per_hour * hour
        closing = commanded(face, error)
        # The flank of retreat lies a backlash behind
        opening = commanded(face, error) - backlash_mm
        on = closing - commanded(face - operate_mm * grown, error)

        def back(x: float) -> float:
            return x + backlash_mm + error(x + backlash_mm)

        place = face - release_mm * grown
        off = opening - brentq(lambda x, p=place: back(x) - p, place - 1, place + 1)
        shift = 1e-3 * datum_um * rng.normal()
        own = 1e-3 * noise_um * rng.normal(size=2)
        rows.append((closing, opening, on + shift + own[0], off + shift + own[1]))
    columns = np.array(rows).T
    variance = (1e-3 * max(noise_um, 0.01)) ** 2
    return PlaceReadings(
        closing_mm=columns[0],
        opening_mm=columns[1],
        operate_mm=columns[2],
        release_mm=columns[3],
        covariance_mm2=np.tile(variance * np.eye(2), (m, 1, 1)),
        degrees_of_freedom=30.0,
        time_s=3600.0 * hours,
        lead_mm=LEAD,
    )


def sine(amplitude_um: float, phase: float, *, harmonic: int = 1, scale: float = 0.0):
    turn = 2.0 * math.pi * harmonic / LEAD
    return lambda x: 1e-3 * amplitude_um * math.sin(turn * x + phase) + scale * x


@pytest.mark.parametrize("phase", [0.3, 2.0, -1.4])
def test_a_sine_is_found_with_amplitude_and_phase(phase: float) -> None:
    fit = place_fit(readings(sine(5.0, phase), backlash_mm=0.0))

    assert fit.first.told
    # The error is looked up at the commanded place, so what is left is of second order
    assert fit.first.amplitude.value == pytest.approx(0.005, abs=2e-6)
    assert math.radians(fit.first.phase.value) == pytest.approx(phase, abs=2e-3)
    assert np.abs(fit.residuals_mm).max() < 1e-4


def test_half_a_turn_is_told_from_a_turn() -> None:
    def both(x: float) -> float:
        return sine(5.0, 0.4)(x) + sine(2.0, 1.1, harmonic=2)(x)

    fit = place_fit(readings(both, backlash_mm=0.0, noise_um=0.05))

    assert fit.second is not None
    assert fit.second.told
    assert fit.first.amplitude.value == pytest.approx(0.005, abs=1e-4)
    assert fit.second.amplitude.value == pytest.approx(0.002, abs=1e-4)


def test_an_error_of_the_scale_alone_shows_nothing() -> None:
    """1 % of the travel: 80 um in the points, and the same wherever the sensor is."""
    fit = place_fit(readings(sine(0.0, 0.0, scale=0.01)))

    assert fit.first.amplitude.value < 1e-6
    assert np.abs(fit.residuals_mm).max() < 1e-6


def test_a_drift_of_the_sensor_alone_shows_nothing() -> None:
    fit = place_fit(readings(sine(0.0, 0.0), per_hour=0.01))

    assert fit.first.amplitude.value < 1e-6
    assert fit.drift is not None
    assert fit.drift.value == pytest.approx(1.0, abs=1e-2)  # % per hour


@pytest.mark.long
@pytest.mark.parametrize("error", [sine(0.0, 0.0), sine(0.0, 0.0, scale=0.01)])
@pytest.mark.parametrize("per_hour", [0.0, 0.01])
def test_no_screw_error_is_told_in_no_more_than_a_twentieth_of_checks(
    error, per_hour: float
) -> None:
    rng = np.random.default_rng(11)
    checks = 400

    fits = [
        place_fit(
            readings(error, noise_um=1.0, datum_um=2.0, per_hour=per_hour, rng=rng)
        )
        for _ in range(checks)
    ]

    told = sum(fit.first.told for fit in fits)
    assert told <= binom.ppf(0.999, checks, 0.05)
    within = sum(
        fit.first.amplitude.value <= fit.first.amplitude.expanded_uncertainty
        for fit in fits
    )
    assert within >= binom.ppf(0.001, checks, 0.95)


@pytest.mark.long
@pytest.mark.parametrize("places", [5, 6, 8, 12])
@pytest.mark.parametrize("amplitude_um", [1.0, 8.0])
def test_the_interval_of_the_amplitude_covers(places: int, amplitude_um: float) -> None:
    rng = np.random.default_rng([places, round(amplitude_um)])
    checks, covered = 200, 0
    for _ in range(checks):
        faces_mm = 30.0 - LEAD * rng.permutation(np.arange(places) / places)
        found = readings(
            sine(amplitude_um, rng.uniform(0.0, 6.28)),
            faces_mm=faces_mm + 0.1 * rng.normal(size=places),
            noise_um=0.8,
            datum_um=1.5,
            rng=rng,
        )
        amplitude = place_fit(found).first.amplitude
        error_mm = abs(amplitude.value - 1e-3 * amplitude_um)
        covered += error_mm <= amplitude.expanded_uncertainty

    assert 0.90 <= covered / checks <= 0.995


def test_what_touches_and_sweeps_do_not_explain_is_said_and_counted() -> None:
    rng = np.random.default_rng(5)
    quiet = place_fit(readings(sine(4.0, 1.0), noise_um=0.3, rng=rng))
    loose = place_fit(readings(sine(4.0, 1.0), noise_um=0.3, datum_um=6.0, rng=rng))

    assert quiet.chance > 0.01
    assert not any("beside what" in said for said in quiet.statements)
    assert loose.chance < 1e-6
    assert any("beside what touches and sweeps" in said for said in loose.statements)
    assert loose.extra_place_um == pytest.approx(6.0, rel=0.6)
    assert (
        loose.first.amplitude.expanded_uncertainty
        > 1.2 * quiet.first.amplitude.expanded_uncertainty
    )


@pytest.mark.parametrize(
    ("distance_mm", "seen"), [(1.0, 2.0), (2.0, 0.0), (8.0, 0.0), (1.5, math.sqrt(2.0))]
)
def test_a_distance_sees_twice_the_amplitude_at_most(
    distance_mm: float, seen: float
) -> None:
    assert sensitivity_at(distance_mm, LEAD) == pytest.approx(seen, abs=1e-12)


def test_distances_near_multiples_of_the_lead_are_refused() -> None:
    with pytest.raises(InputError, match="near multiples of the lead of 2 mm"):
        place_fit(readings(sine(5.0, 0.0), operate_mm=8.01, release_mm=9.98))


def test_one_distance_near_a_multiple_is_said_and_the_other_serves() -> None:
    fit = place_fit(readings(sine(5.0, 0.7), operate_mm=8.02, noise_um=0.1))

    assert any("operate point, 8.0" in said for said in fit.statements)
    error_mm = abs(fit.first.amplitude.value - 0.005)
    assert error_mm <= fit.first.amplitude.expanded_uncertainty
    assert fit.operate_sensitivity < 0.1 < fit.release_sensitivity


def test_phases_that_nobody_saw_are_refused() -> None:
    faces_mm = 30.0 - LEAD * np.array([0.0, 0.02, 0.04, 0.06, 0.01, 0.05])
    with pytest.raises(InputError, match="leave phases of the screw unseen"):
        place_fit(readings(sine(5.0, 0.0), faces_mm=faces_mm))


def test_four_places_are_too_few() -> None:
    with pytest.raises(InputError, match="4 places do not show a turn"):
        place_fit(readings(sine(5.0, 0.0), faces_mm=30.0 - LEAD * TURNS[:4]))


def test_five_places_leave_no_room_for_a_drift_and_say_so() -> None:
    fit = place_fit(readings(sine(5.0, 0.0), faces_mm=30.0 - LEAD * np.arange(5) / 5.0))

    assert fit.drift is None
    assert fit.second is None
    assert any("no room for a drift" in said for said in fit.statements)


def test_a_lead_of_nothing_is_refused() -> None:
    with pytest.raises(InputError, match="lead of the screw is 0 mm"):
        replace(readings(sine(5.0, 0.0)), lead_mm=0.0)


def swept(*, delay_s: float, rng: np.random.Generator, speeds=(1.0, 4.0) * 3):
    speeds_mm_s = np.array(speeds)
    common = 2e-3 * rng.normal(size=speeds_mm_s.size)
    own = 1e-3 * rng.normal(size=(2, speeds_mm_s.size))
    return SweptPlace(
        closing_mm=30.0,
        opening_mm=29.96,
        closing_uncertainty_mm=0.0004,
        backlash_uncertainty_mm=0.0003,
        touches=5,
        operate_mm=8.0 - delay_s * speeds_mm_s + common + own[0],
        release_mm=9.5 + delay_s * speeds_mm_s + common + own[1],
        speeds_mm_s=speeds_mm_s,
        time_s=0.0,
    )


def test_a_place_with_one_void_sweep_is_not_shifted_by_the_delay() -> None:
    rng = np.random.default_rng(2)
    places = [swept(delay_s=0.01, rng=rng) for _ in range(40)]
    fewer = [swept(delay_s=0.01, rng=rng, speeds=(4.0, 4.0, 1.0)) for _ in range(40)]

    found = place_readings([*places, *fewer], lead_mm=LEAD, step_mm=0.0006)

    # 5 um would be left of a delay of 10 ms at half a mm/s more
    assert abs(found.operate_mm[:40].mean() - found.operate_mm[40:].mean()) < 0.0015
    assert abs(found.release_mm[:40].mean() - found.release_mm[40:].mean()) < 0.0015


def test_scatter_of_sweeps_has_what_both_points_have_in_common() -> None:
    rng = np.random.default_rng(3)
    places = [swept(delay_s=0.01, rng=rng) for _ in range(200)]

    found = place_readings(places, lead_mm=LEAD, step_mm=0.0)

    of_sweeps = np.array([[5.0, 4.0], [4.0, 5.0]]) * 1e-6 / 6.0
    of_touches = np.array([[0.16, 0.16], [0.16, 0.25]]) * 1e-6
    assert found.covariance_mm2[0] == pytest.approx(of_sweeps + of_touches, rel=0.1)


def test_one_sweep_has_no_scatter() -> None:
    rng = np.random.default_rng(3)
    with pytest.raises(InputError, match="fewer than two good sweeps"):
        place_readings(
            [swept(delay_s=0.0, rng=rng, speeds=(1.0,))], lead_mm=LEAD, step_mm=0.001
        )


def test_components_are_those_of_another_library() -> None:
    rng = np.random.default_rng(8)
    groups = np.repeat(np.arange(12), 4)
    x = rng.normal(size=48)
    y = 1.0 + 0.5 * x + 2.0 * rng.normal(size=12)[groups] + rng.normal(size=48)
    design = np.column_stack([np.ones(48), x])
    same = (groups[:, np.newaxis] == groups).astype(float)

    fit = component_fit(
        design,
        y,
        1e-9 * np.eye(48),
        [same, np.eye(48)],
        stated_degrees_of_freedom=10.0,
    )

    other = sm.MixedLM(y, design, groups).fit(reml=True)
    assert fit.parameters == pytest.approx(other.fe_params, rel=1e-5)
    assert fit.variances[0] == pytest.approx(other.cov_re[0, 0], rel=1e-4)
    assert fit.variances[1] == pytest.approx(other.scale, rel=1e-4)
    # Theirs has what the variances do not know of each other in it, too
    assert np.sqrt(np.diag(fit.covariance)) == pytest.approx(other.bse_fe, rel=5e-3)


def test_degrees_of_freedom_of_a_mean_over_groups_are_one_less_than_these() -> None:
    """Balanced groups: the mean has the variance of the groups' means, which is S/m."""
    rng = np.random.default_rng(4)
    groups = np.repeat(np.arange(7), 3)
    y = 3.0 * rng.normal(size=7)[groups] + 0.5 * rng.normal(size=21)
    same = (groups[:, np.newaxis] == groups).astype(float)

    fit = component_fit(
        np.ones((21, 1)),
        y,
        1e-9 * np.eye(21),
        [same, np.eye(21)],
        stated_degrees_of_freedom=1e6,
    )

    means = y.reshape(7, 3).mean(axis=1)
    assert fit.covariance[0, 0] == pytest.approx(means.var(ddof=1) / 7, rel=1e-6)
    assert fit.degrees_of_freedom_of(np.ones(1)) == pytest.approx(6.0, rel=1e-6)


def test_scatter_that_is_stated_in_full_asks_for_no_more() -> None:
    rng = np.random.default_rng(6)
    y = 0.2 * rng.normal(size=20)

    fit = component_fit(
        np.ones((20, 1)),
        y,
        np.eye(20),
        [np.kron(np.eye(10), np.ones((2, 2))), np.eye(20)],
        stated_degrees_of_freedom=50.0,
    )

    assert fit.variances.tolist() == [0.0, 0.0]
    assert fit.covariance[0, 0] == pytest.approx(1.0 / 20.0)


def test_places_are_advised_where_no_phase_was_seen() -> None:
    where = {"lead_mm": LEAD, "lowest_mm": 15.0, "highest_mm": 39.0}

    assert advised_places_mm([30.0], **where) == pytest.approx((29.0, 29.5, 28.5))
    assert advised_places_mm((30.0 - LEAD * TURNS).tolist(), **where) == ()
    # All in one half of a turn: the middle of the other
    assert next_place_mm([30.0, 29.6, 29.2, 29.0], **where) == pytest.approx(28.5)


def test_a_place_beyond_the_stroke_is_taken_on_the_other_side() -> None:
    found = next_place_mm([16.0], lead_mm=LEAD, lowest_mm=15.5, highest_mm=39.0)

    assert found == pytest.approx(17.0)
    assert next_place_mm([16.0], lead_mm=LEAD, lowest_mm=15.5, highest_mm=16.4) is None


def test_places_by_advice_do_not_follow_their_phases() -> None:
    """Else a drift would pass for a part of a turn."""
    faces = [30.0]
    while len(faces) < 9:
        place = next_place_mm(faces, lead_mm=LEAD, lowest_mm=15.0, highest_mm=39.0)
        assert place is not None
        faces.append(place)

    assert widest_gap(faces, LEAD) <= 0.13
    phases = np.array(faces) / LEAD % 1.0
    order = np.arange(9.0)
    for wave in (np.sin, np.cos):
        assert abs(np.corrcoef(wave(2 * np.pi * phases), order)[0, 1]) < 0.35
