"""A sensor in front of a target: signal over gap, thresholds, and how it is cached.

Knows heads and targets; knows no axis, no clock and draws no noise. The signal is
told relative to the operate threshold: the output operates at 1 and above, and
releases below ``1 - hysteresis``.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np
import numpy.typing as npt

from sim.sensors.capacitive import CapacitiveHead
from sim.sensors.inductive import InductiveHead
from sim.targets import SimTarget

FloatArray = npt.NDArray[np.float64]
Head = CapacitiveHead | InductiveHead

# All in units of the head's length.
NEAREST: Final = 1e-3  # nearer than this the signal is held
FARTHEST: Final = 8.0  # and farther than this
TABLE_POINTS: Final = 200  # evaluated exactly, evenly spaced in ln gap
FINE_STEP: Final = 2.5e-4  # of the even grid that every look reads


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Response:
    """Signal of one sensor over the gap to one target.

    Compared with the integral itself, a threshold found here lies within 0.05 µm
    for gaps between 0.02 and 6 lengths of the head. Nearer than 0.001 lengths
    (touching included) and farther than 8 the signal is held at its end value.

    Attributes:
        grid_mm: Even grid of gaps.
        relative_signal: Signal on it over the operate threshold's; never rises.
        hysteresis: Share of the operate threshold by which release lies lower.
        operate_gap_mm: Where the noise-free output operates; None if it never does.
        release_gap_mm: Where it releases; None if it never operates, or never
            releases within the grid.
        operate_slope_per_mm: Change of `relative_signal` per mm at the operate gap,
            below 0.
        release_slope_per_mm: Change of `relative_signal` per mm at the release gap,
            below 0.
    """

    grid_mm: FloatArray
    relative_signal: FloatArray
    hysteresis: float
    operate_gap_mm: float | None
    release_gap_mm: float | None
    operate_slope_per_mm: float | None
    release_slope_per_mm: float | None

    def signal_at(self, gap_mm: FloatArray) -> FloatArray:
        """Return the relative signal at each gap; a gap may be 0 or below."""
        return np.interp(gap_mm, self.grid_mm, self.relative_signal)

    def gap_at(self, relative_signal: float) -> float | None:
        """Return the gap with that signal; None where no gap of the grid has it."""
        if not self.relative_signal[-1] < relative_signal <= self.relative_signal[0]:
            return None
        rising = self.relative_signal[::-1]
        return float(np.interp(relative_signal, rising, self.grid_mm[::-1]))


@dataclass(frozen=True, slots=True, kw_only=True)
class SimSensor:
    """A sensor: a head, its thresholds, its noise and its delays.

    Attributes:
        name: Short name.
        head: The physics.
        rated_mm: Rated operating distance s_n that it is sold with.
        reference: Target on which `operate_at_mm` holds.
        operate_at_mm: Noise-free operate gap on the reference at threshold factor 1.
        hysteresis: Relative hysteresis of the threshold, above 0 and below 1.
        threshold_factor: The trimmer; below 1 is more sensitive.
        noise_sigma_mm: Noise of one look, told as a standard deviation of the gap at
            the operate point on the reference at threshold factor 1. It is a noise
            of the signal: on another target it is another length.
        tau_on_s: Delay from operating to the output's change.
        tau_off_s: Delay from releasing to the output's change.
        start_s: Delay from the supply's coming until the output shows the state.
    """

    name: str
    head: Head
    rated_mm: float
    reference: SimTarget
    operate_at_mm: float
    hysteresis: float
    threshold_factor: float = 1.0
    noise_sigma_mm: float = 0.0
    tau_on_s: float = 0.0
    tau_off_s: float = 0.0
    start_s: float = 0.0

    def __post_init__(self) -> None:
        """Refuse what no sensor can be."""
        if not 0.0 < self.hysteresis < 1.0:
            raise ValueError(f"hysteresis must be in 0..1, got {self.hysteresis}")
        if not self.operate_at_mm > 0.0:
            raise ValueError(f"operate_at_mm must be above 0, got {self.operate_at_mm}")
        if not self.threshold_factor > 0.0:
            raise ValueError("threshold_factor must be above 0")
        times_s = (self.tau_on_s, self.tau_off_s, self.start_s)
        if min(self.noise_sigma_mm, *times_s) < 0.0:
            raise ValueError(
                "noise_sigma_mm, tau_on_s, tau_off_s, start_s must be 0 or more"
            )

    def response(self, target: SimTarget) -> Response:
        """Return the response to a target, made once and kept.

        Raises:
            ValueError: The reference gives no signal at `operate_at_mm`.
        """
        return _response(self.head, target, self._on_signal(), self.hysteresis)

    @property
    def noise_signal(self) -> float:
        """Standard deviation of one look, relative to the operate threshold."""
        base = self._on_signal() / self.threshold_factor
        at_reference = _response(self.head, self.reference, base, self.hysteresis)
        slope = at_reference.operate_slope_per_mm
        assert slope is not None  # the reference operates, by the threshold's making
        return self.noise_sigma_mm * abs(slope) / self.threshold_factor

    def _on_signal(self) -> float:
        base = _threshold(self.head, self.reference, self.operate_at_mm)
        return base * self.threshold_factor


@lru_cache(maxsize=64)
def _threshold(head: Head, reference: SimTarget, operate_at_mm: float) -> float:
    signal = float(head.signal(np.array([operate_at_mm]), reference)[0])
    if not signal > 0.0:
        raise ValueError(f"{reference.name} gives this head no signal to set it by")
    if not NEAREST <= operate_at_mm / head.length_mm < FARTHEST:
        raise ValueError(f"operate_at_mm is out of this head's reach: {operate_at_mm}")
    return signal


@lru_cache(maxsize=64)
def _fine_signal(head: Head, target: SimTarget) -> tuple[FloatArray, FloatArray]:
    """Return the even grid and the absolute signal on it."""
    # Deferred: the import costs more than the table
    from scipy.interpolate import PchipInterpolator

    steps = round(FARTHEST / FINE_STEP)
    grid = np.linspace(0.0, FARTHEST * head.length_mm, steps + 1)
    coarse = head.length_mm * np.geomspace(NEAREST, FARTHEST, TABLE_POINTS)
    signal = head.signal(coarse, target)
    if not np.all(signal > 0.0):  # nothing there that this head can see
        fine = np.zeros_like(grid)
    else:
        curve = PchipInterpolator(np.log(coarse), np.log(signal))
        fine = np.exp(curve(np.log(np.clip(grid, coarse[0], coarse[-1]))))
    if np.any(np.diff(fine) > 0.0):
        raise ValueError(f"signal on {target.name} rises with the gap")
    grid.setflags(write=False)
    fine.setflags(write=False)
    return grid, fine


@lru_cache(maxsize=256)
def _response(
    head: Head, target: SimTarget, on_signal: float, hysteresis: float
) -> Response:
    grid, fine = _fine_signal(head, target)
    relative = fine / on_signal
    relative.setflags(write=False)
    bare = Response(
        grid_mm=grid,
        relative_signal=relative,
        hysteresis=hysteresis,
        operate_gap_mm=None,
        release_gap_mm=None,
        operate_slope_per_mm=None,
        release_slope_per_mm=None,
    )
    operate = bare.gap_at(1.0)
    release = None if operate is None else bare.gap_at(1.0 - hysteresis)
    return Response(
        grid_mm=grid,
        relative_signal=relative,
        hysteresis=hysteresis,
        operate_gap_mm=operate,
        release_gap_mm=release,
        operate_slope_per_mm=_slope_at(grid, relative, operate),
        release_slope_per_mm=_slope_at(grid, relative, release),
    )


def _slope_at(
    grid_mm: FloatArray, signal: FloatArray, gap_mm: float | None
) -> float | None:
    if gap_mm is None:
        return None
    # A few grid steps either way: wide against rounding, narrow against the curve
    reach = 4.0 * grid_mm[1]
    ends = np.clip(np.array([gap_mm - reach, gap_mm + reach]), 0.0, grid_mm[-1])
    near, far = np.interp(ends, grid_mm, signal)
    return float((far - near) / (ends[1] - ends[0]))
