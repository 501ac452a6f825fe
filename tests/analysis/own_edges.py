"""Latched edges drawn from a model of a noisy sensor that shares no code with rig.

The sensor is looked at once a step; the first look at which threshold and noise cross
switches it, and the latch counts on until the delay is over. Noise is white from look
to look, or has a memory of its own in time, or is a hum of the mains; an offset shared
by both flanks of a sweep comes on top.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from rig.analysis.edges.budget import Knowns

Array = npt.NDArray[np.float64]
STEPS_PER_MM = 1600.0
STEP_MM = 1.0 / STEPS_PER_MM
DATUM = 20_000.0
TURN_S = 0.3  # from the operate point to the release point
BETWEEN_S = 0.7  # from the release point to the next operate point


@dataclass(frozen=True, kw_only=True)
class Sensor:
    """How a sensor and its noise behave; standard deviations in micrometres.

    `release_um` is the white noise on retreat where it differs from `white_um`.
    """

    white_um: float = 0.0
    release_um: float | None = None
    shared_um: float = 0.0
    memory_um: float = 0.0
    memory_s: float = 1.0
    hum_um: float = 0.0
    delay_s: tuple[float, float] = (0.005, 0.005)
    steps_per_mm: float = STEPS_PER_MM


@dataclass(frozen=True, kw_only=True)
class Drawn:
    """Edges of many runs, shape (runs, n), and the noise-free thresholds in mm."""

    operate_steps: Array
    release_steps: Array
    operate_mm: Array
    release_mm: Array
    knowns: Knowns


class _Memory:
    """Noise of unit variance whose memory fades with time, one element a run."""

    def __init__(self, rng: np.random.Generator, runs: int, memory_s: float) -> None:
        self.rng, self.memory_s = rng, memory_s
        self.now = rng.standard_normal(runs)

    def after(self, time_s: float) -> Array:
        kept = np.exp(-time_s / self.memory_s)
        fresh = self.rng.standard_normal(self.now.size)
        self.now = kept * self.now + np.sqrt(1.0 - kept * kept) * fresh
        return self.now


def _crossing(
    rng: np.random.Generator,
    threshold: Array,
    white: float,
    sensor: Sensor,
    speed_mm_s: float,
    memory: _Memory,
    sign: float = 1.0,
) -> Array:
    """Index of the step whose look crosses; the place rises along the motion."""
    scale = sensor.steps_per_mm
    sigma, slow = white * scale / 1000.0, sensor.memory_um * scale / 1000.0
    hum = sensor.hum_um * scale / 1000.0
    reach = int(np.ceil(5.5 * (sigma + slow) + 1.5 * hum)) + 2
    look_s = 1.0 / scale / speed_mm_s
    phase = rng.uniform(0.0, 2.0 * np.pi, threshold.size)
    first = np.floor(threshold) - reach
    crossed = np.full(threshold.size, np.nan)
    for look in range(2 * reach + 2):
        past = first + look - threshold
        if slow:
            past = past + sign * slow * memory.after(look_s)
        if hum:
            past = past + hum * np.sin(phase + 100.0 * np.pi * look * look_s)
        if sigma:
            past = past + sigma * rng.standard_normal(threshold.size)
        new = np.isnan(crossed) & (past >= 0.0)
        crossed[new] = (first + look)[new]
    return np.where(np.isnan(crossed), first + 2 * reach + 2, crossed)


def draw(rng: np.random.Generator, sensor: Sensor, speeds: Array, runs: int) -> Drawn:
    """Draw runs of a sensor on a bench that is known perfectly."""
    scale = sensor.steps_per_mm
    operate = rng.uniform(3.0, 5.0, runs)
    release = operate + 0.5
    memory = _Memory(rng, runs, sensor.memory_s)
    on_steps, off_steps = np.empty((2, runs, speeds.size))
    retreat_um = sensor.white_um if sensor.release_um is None else sensor.release_um
    for i, speed in enumerate(speeds):
        shared = rng.standard_normal(runs) * sensor.shared_um / 1000.0
        went_on, went_off = (
            np.floor(rng.uniform(0.0, 1.0, runs) + speed * delay * scale)
            for delay in sensor.delay_s
        )
        memory.after(BETWEEN_S)
        place = DATUM - (operate + shared) * scale
        on = _crossing(rng, place, sensor.white_um, sensor, speed, memory)
        memory.after(TURN_S)
        place = (release + shared) * scale - DATUM
        # What makes it operate early makes it release late
        off = _crossing(rng, place, retreat_um, sensor, speed, memory, sign=-1.0)
        on_steps[:, i] = on + went_on
        off_steps[:, i] = -off - went_off
    return Drawn(
        operate_steps=on_steps,
        release_steps=off_steps,
        operate_mm=operate,
        release_mm=release,
        knowns=exact_bench(scale),
    )


def exact_bench(steps_per_mm: float = STEPS_PER_MM) -> Knowns:
    """Return a bench without any uncertainty but the noise and the step."""
    return Knowns(
        steps_per_mm=steps_per_mm,
        axis_mm=0.0,
        datum_steps=DATUM,
        datum_mm=0.0,
        datum_dof=np.inf,
        probe_mm=0.0,
        backlash_mm=0.0,
        backlash_uncertainty_mm=0.0,
        backlash_dof=np.inf,
    )


def white_early_mm(sigma_um: float, steps_per_mm: float = STEPS_PER_MM) -> float:
    """Mean place of the first crossing ahead of the threshold, by drawing it."""
    rng = np.random.default_rng(1)
    sensor = Sensor(white_um=sigma_um, steps_per_mm=steps_per_mm)
    place = rng.uniform(0.0, 1.0, 200_000)
    memory = _Memory(rng, place.size, 1.0)
    crossed = _crossing(rng, place, sigma_um, sensor, 1.0, memory)
    return float(np.mean(place - (crossed - 0.5)) / steps_per_mm)
