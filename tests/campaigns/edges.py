"""Touches and sweeps of many benches at once, as a controller would latch them.

Written from the protocol and from how the bench is made, not from the simulated rig:
`test_population.py` holds the one against the other.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache

import numpy as np

from rig.analysis.edges.touch import LEAST_TOUCHES
from sim.presets import SENSORS, TARGETS
from sim.sensors.response import Response
from sim.truth import first_passage_mean
from tests.campaigns.benches import Array, Benches

# The fewest that are planned, for parts after the first: the datum is at its worst
TOUCHES = LEAST_TOUCHES
TOUCH_MM_S = 0.25
SEARCH_MM_S = 2.0
SPEEDS_MM_S = (1.0, 4.0)
# When things happen in a session, as on the simulated rig with the default settings
FIRST_TOUCH_S, TOUCH_S = 18.0, 0.6
SEARCH_BEFORE_S = 0.6  # the fast touch, and the way back from it
FIRST_SWEEP_S, SWEEP_S = 24.0, 0.6
_REACH = 7.0  # deviations of the noise beyond which no look decides a sweep


@dataclass(frozen=True, kw_only=True)
class Mounted:
    """Specimens of one kind in front of one target; arrays of shape (k,).

    Gaps and noise hold at 20 °C, warm and at the nominal supply.
    """

    kind: str
    target: str
    operate_mm: Array
    release_mm: Array
    noise_operate_mm: Array
    noise_release_mm: Array
    offset_operate_mm: Array
    offset_release_mm: Array
    delay_on_s: Array
    delay_off_s: Array


@dataclass(frozen=True, kw_only=True)
class Touched:
    """Counts of contacts made and broken, shape (k, touches).

    `search` is the contact of the fast touch before them, shape (k, 1).
    """

    home_steps: Array
    search: Array
    closings: Array
    openings: Array
    time_s: Array


@dataclass(frozen=True, kw_only=True)
class Swept:
    """Counts of the edges, shape (k, n), and when and how they were taken.

    `operated_mm` is the truth: the gap at the look that operated the sensor, mm.
    """

    speeds_mm_s: Array
    operate: Array
    release: Array
    time_s: Array
    operated_mm: Array


@dataclass(frozen=True, kw_only=True)
class Truths:
    """What a perfect measurement would have found; mm, % and ms, shape (k,)."""

    operate: Array
    release: Array
    differential_travel: Array
    differential_travel_percent: Array
    threshold_operate: Array
    threshold_release: Array
    first_passage_bias_operate: Array
    first_passage_bias_release: Array
    response_time_operate: Array
    response_time_release: Array


def mount(benches: Benches, kind: str, target: str) -> Mounted:
    """Put the specimens of one kind in front of a target."""
    rows = []
    for specimen in benches.specimens:
        sensor = specimen.of(SENSORS[kind])
        response = sensor.response(TARGETS[target])
        on, off = response.operate_slope_per_mm, response.release_slope_per_mm
        assert on is not None
        assert off is not None
        noise = sensor.noise_signal
        offset = noise * specimen.offset_share
        rows.append(
            (
                response.operate_gap_mm,
                response.release_gap_mm,
                noise / abs(on),
                noise / abs(off),
                offset / abs(on),
                offset / abs(off),
                sensor.tau_on_s,
                sensor.tau_off_s,
            )
        )
    columns = np.array(rows, dtype=np.float64).T
    return Mounted(
        kind=kind,
        target=target,
        operate_mm=columns[0],
        release_mm=columns[1],
        noise_operate_mm=columns[2],
        noise_release_mm=columns[3],
        offset_operate_mm=columns[4],
        offset_release_mm=columns[5],
        delay_on_s=columns[6],
        delay_off_s=columns[7],
    )


def touch(
    benches: Benches, rng: np.random.Generator, *, begins_s: float = 0.0
) -> Touched:
    """Home, and touch the face on the probe again and again."""
    start = np.zeros((benches.count, 1))
    scale = benches.of("steps_per_mm", start)
    scatter = benches.of("home_noise_mm", start) * rng.normal(size=start.shape)
    home_mm = benches.of("home_mm", start) + scatter
    home = np.floor(scale * benches.turned_to_mm(home_mm, start, up=False))
    time_s = begins_s + FIRST_TOUCH_S + TOUCH_S * np.arange(TOUCHES)
    return touch_again(benches, home, time_s, rng)


def touch_again(
    benches: Benches,
    home_steps: Array,
    time_s: Array,
    rng: np.random.Generator,
    *,
    block_mm: Array | float = 0.0,
) -> Touched:
    """Touch the face, or a gauge block before it, at those times.

    Args:
        benches: The benches.
        home_steps: Where they count from, shape (k, 1).
        time_s: Times, shape (touches,) or (k, touches).
        rng: Source of the scatter.
        block_mm: What stands before the face, mm; shape to go with the times.
    """
    time_s = time_s + np.zeros((benches.count, 1))
    scale = benches.of("steps_per_mm", time_s)
    closes_mm = _closes_mm(benches, time_s, rng) - block_mm
    opens_mm = closes_mm - benches.of("probe_hysteresis_mm", time_s)
    late = late_steps(benches, TOUCH_MM_S, time_s)
    up = scale * benches.turned_to_mm(closes_mm, time_s, up=True)
    down = scale * benches.turned_to_mm(opens_mm, time_s, up=False)
    first_s = time_s[:, :1] - SEARCH_BEFORE_S
    found_mm = _closes_mm(benches, first_s, rng) - block_mm
    found = scale * benches.turned_to_mm(found_mm, first_s, up=True)
    return Touched(
        home_steps=home_steps,
        search=np.ceil(found) - home_steps + late_steps(benches, SEARCH_MM_S, first_s),
        closings=np.ceil(up) - home_steps + late,
        openings=np.ceil(down) - 1.0 - home_steps - late,
        time_s=time_s,
    )


def _closes_mm(benches: Benches, time_s: Array, rng: np.random.Generator) -> Array:
    scatter = benches.of("probe_noise_mm", time_s) * rng.normal(size=time_s.shape)
    return benches.face_at_mm(time_s) + benches.of("zero_mm", time_s) - scatter


def late_steps(benches: Benches, speed_mm_s: float, time_s: Array) -> Array:
    """Return how many steps the axis goes on before a contact is latched."""
    speed = np.round(speed_mm_s * benches.of("steps_per_mm", time_s))
    return np.floor(speed * benches.of("probe_delay_s", time_s) + 1e-6)


def sweep(
    benches: Benches,
    mounted: Mounted,
    touched: Touched,
    n: int,
    rng: np.random.Generator,
    *,
    begins_s: float = 0.0,
) -> Swept:
    """Sweep n times, one sweep after another, at two speeds in turn."""
    time_s = begins_s + FIRST_SWEEP_S + SWEEP_S * np.arange(n)
    return sweep_at(benches, mounted, touched, time_s, rng)


def sweep_at(
    benches: Benches,
    mounted: Mounted,
    touched: Touched,
    time_s: Array,
    rng: np.random.Generator,
) -> Swept:
    """Sweep at those times, shape (n,), at two speeds in turn."""
    k, n = benches.count, time_s.size
    speeds = np.resize(np.array(SPEEDS_MM_S), n)
    time_s = time_s + np.zeros((k, 1))
    offset = rng.normal(size=(k, n))
    (operate, operated_mm), (release, _) = (
        _edge(
            benches,
            touched.home_steps,
            gap[:, np.newaxis] * np.ones((1, n)),
            noise,
            offset * common[:, np.newaxis],
            delay,
            speeds,
            time_s,
            rng,
            up=up,
        )
        for gap, noise, common, delay, up in (
            (
                mounted.operate_mm,
                mounted.noise_operate_mm,
                mounted.offset_operate_mm,
                mounted.delay_on_s,
                True,
            ),
            (
                mounted.release_mm,
                mounted.noise_release_mm,
                mounted.offset_release_mm,
                mounted.delay_off_s,
                False,
            ),
        )
    )
    return Swept(
        speeds_mm_s=speeds,
        operate=operate,
        release=release,
        time_s=time_s,
        operated_mm=operated_mm,
    )


def _edge(
    benches: Benches,
    home: Array,
    gap_mm: Array,
    noise_mm: Array,
    offset_mm: Array,
    delay_s: Array,
    speeds_mm_s: Array,
    time_s: Array,
    rng: np.random.Generator,
    *,
    up: bool,
) -> tuple[Array, Array]:
    """Return the count latched at the first look that changes the output.

    And the gap at that look, mm.
    """
    scale = benches.of("steps_per_mm")[:, np.newaxis]
    reach = benches.reach(time_s)
    cosine = np.cos(benches.of("tilt_rad", time_s))
    face = benches.face_at_mm(time_s)
    # A signal that is a little high is seen from a little farther off, either way
    seen_mm = gap_mm + offset_mm
    place = face - seen_mm * reach / cosine
    exact = scale * benches.turned_to_mm(place, time_s, up=up)
    first = np.ceil(exact) if up else np.floor(exact)
    way = 1.0 if up else -1.0
    widest = float(np.max(noise_mm * benches.of("steps_per_mm")))
    looks = np.arange(-math.ceil(_REACH * widest) - 2, math.ceil(_REACH * widest) + 3)
    steps = first[..., np.newaxis] + way * looks
    at = time_s[..., np.newaxis]
    carriage = benches.carriage_mm(steps / scale[..., np.newaxis], at, up=up)
    away = (face[..., np.newaxis] - carriage) * (cosine / reach)[..., np.newaxis]
    past = way * (seen_mm[..., np.newaxis] - away)
    noise = noise_mm[:, np.newaxis, np.newaxis] * rng.standard_normal(steps.shape)
    changed = past + noise >= 0.0
    # Where no look came so far, the last one stands for what is past all noise
    index = np.where(changed.any(axis=-1), changed.argmax(axis=-1), looks.size - 1)
    taken, carriage_mm = (
        np.take_along_axis(each, index[..., np.newaxis], axis=-1)[..., 0]
        for each in (steps, carriage)
    )
    carried = np.round(speeds_mm_s * scale) * delay_s[:, np.newaxis]
    phase = rng.random(taken.shape)
    count = taken + way * np.floor(phase + carried) - home
    return count, (face - carriage_mm) * cosine


def truths(benches: Benches, mounted: Mounted, n: int) -> Truths:
    """Return the truth in the middle of the sweeps."""
    middle = np.full((benches.count, 1), FIRST_SWEEP_S + SWEEP_S * (n - 1) / 2.0)
    reach = benches.reach(middle)[:, 0]
    scale = benches.of("steps_per_mm")
    points, early = [], []
    for gap, noise in (
        (mounted.operate_mm, mounted.noise_operate_mm),
        (mounted.release_mm, mounted.noise_release_mm),
    ):
        sigma = noise * reach
        points.append(gap * reach)
        early.append(_early_in_noise(sigma * scale) * sigma)
    operate, release = points[0] + early[0], points[1] - early[1]
    return Truths(
        operate=operate,
        release=release,
        differential_travel=release - operate,
        differential_travel_percent=100.0 * (release - operate) / operate,
        threshold_operate=points[0],
        threshold_release=points[1],
        first_passage_bias_operate=early[0],
        first_passage_bias_release=early[1],
        response_time_operate=1e3 * mounted.delay_on_s,
        response_time_release=1e3 * mounted.delay_off_s,
    )


@cache
def _early_table() -> tuple[Array, Array]:
    """Ln M, and how early a straight signal is seen, in units of the noise."""
    slope, step_mm = 0.2, 0.01
    grid = np.linspace(0.0, 40.0, 40_001)
    line = Response(
        grid_mm=grid,
        relative_signal=1.0 - slope * (grid - 20.0),
        hysteresis=0.4,
        operate_gap_mm=20.0,
        release_gap_mm=22.0,
        operate_slope_per_mm=-slope,
        release_slope_per_mm=-slope,
    )
    ratios = np.geomspace(0.05, 100.0, 77)
    early = []
    for m in ratios:
        sigma_mm = float(m) * step_mm
        mean = first_passage_mean(line, sigma_mm * slope, step_mm, approach=True)
        assert mean is not None
        early.append((mean - 20.0) / sigma_mm)
    return np.log(ratios), np.array(early)


def _early_in_noise(m: Array) -> Array:
    return np.interp(np.log(m), *_early_table())
