"""Scale and periodic error from gauge blocks: coverage, refusals, advice."""

from __future__ import annotations

import math

import numpy as np
import pytest

from rig.analysis.axis.block_advice import GOOD_RATIO, advised_lengths_mm
from rig.analysis.axis.block_fit import (
    BlockFit,
    BlockReadings,
    block_fit,
    ratio_of_lengths,
)
from rig.errors import InputError

LEAD = 2.0
LENGTHS = np.array([0.0, 1.0, 1.3, 1.6, 2.5, 5.0, 7.3, 8.7])
U_MM = 0.0006


def actual_mm(
    place_mm,
    *,
    scale: float,
    amplitude_mm: float,
    phase: float,
    second_mm: float = 0.0,
    second_phase: float = 0.0,
):
    """Where the carriage stands at a commanded place."""
    turned = 2.0 * math.pi * place_mm / LEAD
    periodic = amplitude_mm * np.sin(turned + phase)
    twice = second_mm * np.sin(2.0 * turned + second_phase)
    return (1.0 + scale) * place_mm + periodic + twice


def readings(chance: np.random.Generator, **screw: float) -> BlockReadings:
    """Return contacts of a screw on blocks, with their scatter."""
    face_mm = actual_mm(np.array(28.0), **screw)
    wanted = face_mm - LENGTHS + chance.normal(0.0, U_MM, LENGTHS.size)
    places = wanted.copy()
    for _ in range(40):
        places += wanted - actual_mm(places, **screw)
    return BlockReadings(
        lengths_mm=LENGTHS,
        places_mm=places,
        uncertainties_mm=np.full(LENGTHS.size, U_MM),
        lead_mm=LEAD,
    )


def worst_over_u(fit: BlockFit, **screw: float) -> np.ndarray:
    """Return errors of corrected gaps over their standard uncertainty."""
    places = fit.positions_mm
    datum = int(np.flatnonzero(fit.standard_uncertainty_mm < 1e-9)[0])
    true = actual_mm(places, **screw) - places
    error = (fit.corrections_mm - fit.corrections_mm[datum]) - (true - true[datum])
    inside = (places > places[datum] - LENGTHS.max()) & (places < places[datum] - 0.2)
    return error[inside] / fit.standard_uncertainty_mm[inside]


@pytest.mark.long
@pytest.mark.parametrize("scale", [0.0, 0.01])
@pytest.mark.parametrize("amplitude_mm", [0.0005, 0.005, 0.02])
def test_scale_amplitude_and_corrections_are_covered(
    amplitude_mm: float, scale: float
) -> None:
    chance = np.random.default_rng(7)
    trials, hits = 400, np.zeros(2)
    over_u = []
    for _ in range(trials):
        screw = {
            "scale": scale,
            "amplitude_mm": amplitude_mm,
            "phase": float(chance.uniform(0.0, 2.0 * math.pi)),
            "second_mm": amplitude_mm * float(chance.uniform(0.0, 0.5)),
            "second_phase": float(chance.uniform(0.0, 2.0 * math.pi)),
        }
        fit = block_fit(readings(chance, **screw))
        for at, (figure, true) in enumerate(
            ((fit.scale_error, 100.0 * scale), (fit.amplitude, amplitude_mm))
        ):
            hits[at] += abs(figure.value - true) <= (figure.expanded_uncertainty or 0)
        over_u.append(worst_over_u(fit, **screw))

    # Standard error of a share of 95 % over 400: 1.1 %. An amplitude that does not
    # stand out from 0 is read too large, as a length of noise always is
    assert hits[0] / trials >= 0.915
    if amplitude_mm < 0.01:  # beyond that the residuals widen all, and that is said
        assert hits[0] / trials <= 0.995
    if amplitude_mm > 0.002:
        assert 0.915 <= hits[1] / trials <= 0.995
    inside = np.mean(np.abs(np.concatenate(over_u)) <= 1.96)
    assert 0.92 <= inside <= 0.995


def test_a_scale_that_is_a_percent_wrong_is_found() -> None:
    screw = {"scale": 0.01, "amplitude_mm": 0.003, "phase": 1.0}

    fit = block_fit(readings(np.random.default_rng(1), **screw))

    assert fit.scale_error.value == pytest.approx(1.0, abs=0.03)
    assert fit.statements == ()


def test_an_error_of_another_shape_is_said_and_widens() -> None:
    good = readings(np.random.default_rng(1), scale=0.0, amplitude_mm=0.003, phase=1.0)
    bad = np.array(good.places_mm)
    bad[4] += 0.02

    fit = block_fit(
        BlockReadings(
            lengths_mm=good.lengths_mm,
            places_mm=bad,
            uncertainties_mm=good.uncertainties_mm,
            lead_mm=LEAD,
        )
    )

    assert "more than contacts and blocks explain" in fit.statements[0]
    clean = block_fit(good)
    assert fit.amplitude.expanded_uncertainty is not None
    assert clean.amplitude.expanded_uncertainty is not None
    assert fit.amplitude.expanded_uncertainty > 5 * clean.amplitude.expanded_uncertainty


@pytest.mark.parametrize(
    "lengths",
    [(2.0, 4.0, 6.0, 8.0), (1.0, 2.0, 3.0, 5.0), (2.0, 4.0, 4.05, 6.0)],
)
def test_lengths_that_are_alike_after_whole_turns_are_refused(
    lengths: tuple[float, ...],
) -> None:
    every = np.array([0.0, *lengths])

    with pytest.raises(InputError, match="lengths"):
        block_fit(
            BlockReadings(
                lengths_mm=every,
                places_mm=28.0 - every,
                uncertainties_mm=np.full(every.size, U_MM),
                lead_mm=LEAD,
            )
        )


@pytest.mark.parametrize("lead_mm", [1.0, 2.0, 4.0, 5.0])
@pytest.mark.parametrize("have", [(8.0,), (1.0, 2.0, 4.0, 8.0), (10.0, 1.005)])
def test_what_is_advised_covers_the_phases(
    have: tuple[float, ...], lead_mm: float
) -> None:
    longest = max(have)

    added = advised_lengths_mm(have, lead_mm=lead_mm, longest_mm=longest)

    whole = np.array([0.0, *have, *added])
    assert ratio_of_lengths(whole, lead_mm) <= GOOD_RATIO
    # Four readings more than the fit has parameters
    assert whole.size >= 8
    assert len(set(whole.tolist())) == whole.size
    assert len(added) <= 6
    assert advised_lengths_mm(whole[1:], lead_mm=lead_mm, longest_mm=longest) == ()
