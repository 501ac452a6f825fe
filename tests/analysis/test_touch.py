from __future__ import annotations

import math
from datetime import UTC, datetime

import numpy as np
import pytest

from rig.analysis.edges.touch import backlash_from_contacts, datum_from_touches
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
