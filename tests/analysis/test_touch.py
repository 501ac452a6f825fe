from __future__ import annotations

import math
from datetime import UTC, datetime

import numpy as np
import pytest

from rig.analysis.edges.touch import (
    backlash_from_contacts,
    datum_from_touches,
    without_probe_delay,
)
from rig.model.mounted import BacklashSource

NOW = datetime(2024, 5, 6, tzinfo=UTC)


def datum(contacts: list[float]):
    return datum_from_touches(
        contacts, steps_per_mm=1600.0, probe_uncertainty_mm=0.002, found_at=NOW
    )


def test_datum_is_the_middle_of_the_mean_contact() -> None:
    found = datum([20000, 20004, 20002, 20006])

    # Deviations -3, 1, -1, 3: sd sqrt(20/3) steps
    assert found.position_steps == 20002.5
    assert found.standard_uncertainty_mm == pytest.approx(math.sqrt(20 / 3) / 2 / 1600)
    assert (found.degrees_of_freedom, found.n) == (pytest.approx(3.0), 4)
    assert found.probe_uncertainty_mm == 0.002


def test_touches_on_one_step_leave_the_place_within_it_open() -> None:
    found = datum([20000] * 5)

    assert found.standard_uncertainty_mm == pytest.approx(0.000625 / math.sqrt(12))
    assert found.degrees_of_freedom == math.inf


def test_backlash_is_closing_less_opening() -> None:
    # Contact at 10000.3 steps, 64 steps of play: seen 32 later in, 32 earlier out
    closing = [math.ceil(10032.3)] * 4
    opening = [math.floor(9968.3)] * 4

    found = backlash_from_contacts(closing, opening, steps_per_mm=1600.0)

    assert found.value_mm == pytest.approx(64 / 1600)
    assert found.source is BacklashSource.PROBE
    assert found.standard_uncertainty_mm == pytest.approx(math.sqrt(1 / 6) / 1600)


def test_intervals_of_datum_and_backlash_cover_the_truth() -> None:
    rng = np.random.default_rng(3)
    from scipy.special import stdtrit

    hits = np.zeros(2)
    for _ in range(1000):
        contact, play = rng.uniform(1e4, 1e4 + 1), rng.uniform(0, 160)
        closing = np.ceil(contact + play / 2 + 3.0 * rng.standard_normal(5))
        opening = np.floor(contact - play / 2 + 3.0 * rng.standard_normal(5))
        zero = datum(list(closing))
        lost = backlash_from_contacts(closing, opening, steps_per_mm=1600.0)
        for i, (error_mm, found) in enumerate(
            [
                ((zero.position_steps - contact - play / 2) / 1600, zero),
                (lost.value_mm - play / 1600, lost),
            ]
        ):
            k = stdtrit(found.degrees_of_freedom, 0.975)
            hits[i] += abs(error_mm) <= k * found.standard_uncertainty_mm

    # 1000 trials at 95 %: 1 in 1000 falls outside 92.6 to 97.1 %
    assert np.all((hits >= 926) & (hits <= 971)), hits


def test_contacts_without_partner_or_number_are_refused() -> None:
    with pytest.raises(ValueError, match="needs one on retreat"):
        backlash_from_contacts([1, 2, 3], [1, 2], steps_per_mm=1600.0)
    with pytest.raises(ValueError, match="2 readings"):
        datum([20000])
    with pytest.raises(ValueError, match="finite"):
        datum([20000, math.nan])


SCALE, TOUCH_MM_S, FACE_MM, PLAY_MM = 1600.0, 0.25, 30.0, 0.03


def touched_off(
    rng: np.random.Generator, *, search_mm_s: float, delay_s: float, scatter_mm: float
):
    """Touch a face by a probe that is late and scatters: fast once, slowly 5 times."""
    true_steps = SCALE * FACE_MM
    scatter = SCALE * scatter_mm * rng.standard_normal((3, 5))
    late = SCALE * TOUCH_MM_S * delay_s
    search = true_steps + SCALE * search_mm_s * delay_s + scatter[0, 0] + 0.5
    made = true_steps + late + scatter[1] + 0.5
    broken = true_steps - SCALE * PLAY_MM - late + scatter[2] - 0.5
    return without_probe_delay(
        datum_from_touches(
            made, steps_per_mm=SCALE, probe_uncertainty_mm=0.0, found_at=NOW
        ),
        backlash_from_contacts(made, broken, steps_per_mm=SCALE),
        search,
        steps_per_mm=SCALE,
        search_mm_s=search_mm_s,
        touch_mm_s=TOUCH_MM_S,
    )


def test_a_delay_is_taken_off_the_datum_once_and_off_the_backlash_twice() -> None:
    rng = np.random.default_rng(1)

    datum, backlash = touched_off(rng, search_mm_s=2.0, delay_s=0.010, scatter_mm=0.0)

    # 10 ms at 0.25 mm/s
    assert datum.late_mm == pytest.approx(0.0025)
    assert datum.position_steps == pytest.approx(SCALE * FACE_MM)
    assert backlash.value_mm == pytest.approx(PLAY_MM)


def test_speeds_that_are_alike_show_no_delay() -> None:
    rng = np.random.default_rng(2)

    datum, backlash = touched_off(rng, search_mm_s=0.3, delay_s=0.010, scatter_mm=0.0)

    assert (datum.late_mm, datum.late_uncertainty_mm) == (0.0, None)
    assert datum.position_steps == pytest.approx(SCALE * (FACE_MM + 0.0025))
    assert backlash.value_mm == pytest.approx(PLAY_MM + 0.005)


@pytest.mark.long
@pytest.mark.parametrize("search_mm_s", [0.5, 1.0, 2.0])
def test_what_is_stated_without_the_delay_is_how_it_scatters(
    search_mm_s: float,
) -> None:
    """Datum for the operate point, backlash for the differential travel."""
    rng = np.random.default_rng(3)
    found = [
        touched_off(rng, search_mm_s=search_mm_s, delay_s=0.004, scatter_mm=0.005)
        for _ in range(8000)
    ]

    # The scatter of 5 touches is known to a third: variances are unbiased, so they
    # are what is compared
    late = np.mean([datum.late_uncertainty_mm**2 for datum, _ in found])
    of_datum = np.mean([datum.standard_uncertainty_mm**2 for datum, _ in found])
    of_backlash = np.mean([each.standard_uncertainty_mm**2 for _, each in found])
    places = [datum.position_steps / SCALE for datum, _ in found]
    lost = [each.value_mm for _, each in found]

    # A variance of 8,000 values is known to 1.6 %
    assert of_datum + late == pytest.approx(np.var(places), rel=0.07)
    assert of_backlash + 4.0 * late == pytest.approx(np.var(lost), rel=0.07)
    assert np.mean(places) == pytest.approx(FACE_MM, abs=5 * 0.005 / math.sqrt(8000))
