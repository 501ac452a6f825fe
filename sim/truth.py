"""Where the output of a noisy sensor changes first: exact, not fitted.

Knows a response, a noise and a step; knows no rig, no delay and no seed. For
tests and for whoever asks the simulated rig for its truth; the measuring code
never sees it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt
from scipy.special import ndtr

from sim.sensors.response import Response

FloatArray = npt.NDArray[np.float64]

PHASES: Final = 256  # of the step grid; the midpoint rule over one period
REACH_SIGMA: Final = 9.0  # a look farther off than this never decides a sweep


@dataclass(frozen=True, slots=True, kw_only=True)
class FirstPassage:
    """First edge of a sweep, over all noise and all phases of the step grid.

    Attributes:
        mean_gap_mm: Expected middle of the step interval in which the edge falls.
        sd_mm: Standard deviation of that middle from sweep to sweep.
    """

    mean_gap_mm: float
    sd_mm: float


def first_passage(
    response: Response, sigma: float, step_mm: float, *, approach: bool
) -> FirstPassage | None:
    """Return where the first edge of a slow sweep falls.

    The sensor looks once a step with white noise; the first look beyond the
    threshold makes the edge, so its chance is the product of the chances that all
    looks before it had of staying, times its own of changing. The looks lie on a
    grid whose phase against the threshold is uniform.

    Args:
        response: Sensor and target.
        sigma: Standard deviation of one look, relative to the operate threshold
            (`SimSensor.noise_signal`); 0 or more.
        step_mm: Gap moved between looks, above 0.
        approach: True for the operate point, False for the release point.

    Returns:
        None where the noise-free output never changes that way.

    Raises:
        ValueError: A figure is out of range.
    """
    if not step_mm > 0.0:
        raise ValueError(f"step_mm must be above 0, got {step_mm}")
    if not sigma >= 0.0:
        raise ValueError(f"sigma must be 0 or more, got {sigma}")
    gap = response.operate_gap_mm if approach else response.release_gap_mm
    if gap is None:
        return None
    if sigma == 0.0:
        # The threshold is anywhere in its interval: the mean is the threshold
        return FirstPassage(mean_gap_mm=gap, sd_mm=step_mm / np.sqrt(12.0))
    looks = _looks(response, gap, sigma, step_mm, approach=approach)
    chance = _first_chance(response, looks, sigma, approach=approach)
    chance /= chance.sum()
    middle = looks + (step_mm if approach else -step_mm) / 2.0
    mean = float(np.sum(chance * middle))
    variance = float(np.sum(chance * (middle - mean) ** 2))
    return FirstPassage(mean_gap_mm=mean, sd_mm=variance**0.5)


def first_passage_mean(
    response: Response, sigma: float, step_mm: float, *, approach: bool
) -> float | None:
    """Return `FirstPassage.mean_gap_mm` of `first_passage`: the observed truth."""
    passage = first_passage(response, sigma, step_mm, approach=approach)
    return None if passage is None else passage.mean_gap_mm


def _looks(
    response: Response, gap_mm: float, sigma: float, step_mm: float, *, approach: bool
) -> FloatArray:
    """Return gaps of looks, shape (phases, looks), in the order they are taken."""
    level = 1.0 if approach else 1.0 - response.hysteresis
    far = response.gap_at(level - REACH_SIGMA * sigma)
    near = response.gap_at(level + REACH_SIGMA * sigma)
    far_mm = float(response.grid_mm[-1]) if far is None else far
    near_mm = 0.0 if near is None else near
    # Rounded to whole steps from the threshold, so that every phase has as many
    first = -int(np.ceil((gap_mm - near_mm) / step_mm)) - 1
    last = int(np.ceil((far_mm - gap_mm) / step_mm)) + 1
    phase = (np.arange(PHASES) + 0.5) / PHASES
    looks = gap_mm + (np.arange(first, last + 1) + phase[:, None]) * step_mm
    return looks[:, ::-1] if approach else looks


def _first_chance(
    response: Response, looks: FloatArray, sigma: float, *, approach: bool
) -> FloatArray:
    """Return the chance of each look to be the first that changes the output."""
    signal = response.signal_at(looks)
    if approach:
        excess = (signal - 1.0) / sigma
    else:
        excess = (1.0 - response.hysteresis - signal) / sigma
    stays = np.cumprod(ndtr(-excess), axis=1)
    before = np.concatenate((np.ones((looks.shape[0], 1)), stays[:, :-1]), axis=1)
    return np.asarray(before * ndtr(excess), dtype=np.float64)
