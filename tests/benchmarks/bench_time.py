"""Seconds of bench time: a sweep against its floor, a run against slower ways."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from rig.analysis.edges.speed import fit_speed
from rig.model.settings import BenchSettings
from rig.procedures.job_floor import pair_floor_s
from rig.procedures.kinematics import move_s
from rig.procedures.planned_speeds import planned_speeds
from tests.benchmarks._sweeping import (
    Case,
    Timed,
    connected,
    expanded_um,
    full_slow_run,
    timed_run,
)
from tests.benchmarks.registry import (
    Cell,
    Claim,
    Comparison,
    Report,
    Table,
    benchmark,
)
from tests.second_opinions.pair_floor import ramped_pair_floor_s

_SEEDS = (1, 2, 3)
_SWEEPS = 30
_SPREAD = 5.0  # standard deviations on either side of the middle make the band
_FLOOR_LIMIT, _SLOW_LIMIT = 1.25, 50.0
_UNTIL_MM, _UNTIL_SEEDS = 0.0055, range(10)
_STROKE_MM, _SLOW_MM_S = 12.0, 0.25  # the bench case
_STEP_MM, _STEP_SETTLE_S = 0.010, 0.050
_BENCH_CASE = BenchSettings(coarse_speed_mm_s=20.0, acceleration_mm_s2=200.0)
_LEVEL, _GATE = "level-18", "gate-8"

CASES = (
    Case(label="18 mm, default", sensor=_LEVEL, target="steel", speeds_mm_s=(1, 4)),
    Case(label="18 mm, default", sensor=_LEVEL, target="pvc", speeds_mm_s=(1, 4)),
    Case(label="18 mm, planned", sensor=_LEVEL, target="steel", speeds_mm_s=()),
    Case(label="18 mm, planned", sensor=_LEVEL, target="pvc", speeds_mm_s=()),
    Case(
        label="18 mm, bench case",
        sensor=_LEVEL,
        target="pvc",
        speeds_mm_s=(_SLOW_MM_S,),
        options="&noise_um=10&delay_ms=10",
        settings=_BENCH_CASE,
    ),
    Case(label="8 mm, default", sensor=_GATE, target="steel", speeds_mm_s=(1, 4)),
    Case(label="8 mm, planned", sensor=_GATE, target="steel", speeds_mm_s=()),
)


def _with_speeds(case: Case) -> Case:
    if case.speeds_mm_s:
        return case
    rig, order = connected(replace(case, speeds_mm_s=(1.0,)), 1)
    speeds = planned_speeds(rig.mover.traits, case.settings, order.sensor)
    return replace(case, speeds_mm_s=speeds)


def floors(timed: Timed, settings: BenchSettings) -> dict[float, tuple[float, float]]:
    """Return the floors of a sweep at each speed, for the band that the run shows.

    The first leaves ramps out, the second does not.
    """
    good = [s for s in timed.result.run.sweeps if not s.void]
    scale = timed.bench.axis.steps_per_mm
    on = np.array([s.operate.position_steps for s in good if s.operate]) / scale
    off = np.array([s.release.position_steps for s in good if s.release]) / scale
    speeds = np.array([s.speed_mm_s for s in good])
    sds = [float(fit_speed(speeds, places).residual_sd) for places in (on, off)]
    band_mm = 2.0 * _SPREAD * float(np.mean(sds))

    def at(speed: float) -> tuple[float, float]:
        without_s, ramped_s = (
            floor_s(
                float(np.mean((on - off)[speeds == speed])),
                band_mm,
                slow_mm_s=speed,
                fast_mm_s=settings.coarse_speed_mm_s,
                acceleration_mm_s2=settings.acceleration_mm_s2,
                settle_s=settings.settle_s,
            )
            for floor_s in (pair_floor_s, ramped_pair_floor_s)
        )
        return without_s, ramped_s

    return {float(speed): at(float(speed)) for speed in np.unique(speeds)}


def ratios(
    case: Case, *, sweeps: int, seed: int
) -> dict[float, tuple[float, float, float]]:
    """Return floors and mean time of a sweep at each speed, the first of each left out.

    The first has to find how much the delay shifts the edge; it counts in the time of
    a whole run.
    """
    timed = timed_run(case, sweeps=sweeps, seed=seed)
    good = [s.speed_mm_s for s in timed.result.run.sweeps if not s.void]
    taken: defaultdict[float, list[float]] = defaultdict(list)
    for speed, pair_s in zip(good, timed.pairs_s, strict=True):
        taken[speed].append(pair_s)
    return {
        speed: (*floor_s, float(np.mean(taken[speed][1:])))
        for speed, floor_s in floors(timed, case.settings).items()
    }


def _pair_rows() -> list[tuple[Cell, ...]]:
    rows: list[tuple[Cell, ...]] = []
    for case in map(_with_speeds, CASES):
        runs = [ratios(case, sweeps=_SWEEPS, seed=seed) for seed in _SEEDS]
        both = []
        for speed in case.speeds_mm_s:
            times_s = np.mean([run[float(speed)] for run in runs], axis=0)
            both.append(times_s)
            rows.append(_row(case, f"{speed:g}", *times_s))
        if len(both) > 1:
            rows.append(_row(case, "in turn", *np.mean(both, axis=0)))
    return rows


def _row(
    case: Case, speed: str, floor_s: float, ramped_s: float, took_s: float
) -> tuple[Cell, ...]:
    head = (case.label, case.target, speed)
    times = map(float, (floor_s, ramped_s, took_s))
    over_ms = float(1000.0 * (took_s - ramped_s))
    return (*head, *times, float(took_s / floor_s), float(took_s / ramped_s), over_ms)


def step_and_settle_s(settings: BenchSettings) -> float:
    """Return the time of a sweep in steps with a rest after each, words left out."""
    one_s = move_s(_STEP_MM, _SLOW_MM_S, settings.acceleration_mm_s2) + _STEP_SETTLE_S
    return 2.0 * math.ceil(_STROKE_MM / _STEP_MM) * one_s


def _run_rows() -> list[tuple[Cell, ...]]:
    """Quick sweeps, coarse pass included, against slower ways to ten sweeps."""
    slow, slow_s = full_slow_run(
        CASES[0], speed_mm_s=_SLOW_MM_S, stroke_mm=_STROKE_MM, sweeps=10, seed=1
    )
    closed_s = 10.0 * 2.0 * _STROKE_MM / _SLOW_MM_S
    steps_s = 10.0 * step_and_settle_s(CASES[0].settings)
    # As if somebody had told the delay: then it leaves no uncertainty
    sensor = replace(slow.header.sensor, switching_frequency_hz=None)
    told = replace(slow, header=replace(slow.header, sensor=sensor))
    planned = _with_speeds(CASES[2])
    rows: list[tuple[Cell, ...]] = []
    for case, sweeps in ((CASES[0], 10), (planned, 10), (planned, 20)):
        timed = timed_run(case, sweeps=sweeps, seed=1)
        speeds = ", ".join(f"{speed:g}" for speed in case.speeds_mm_s)
        took_s, own_um = timed.sweeping_s, expanded_um(timed.result.run)
        times = (took_s, slow_s, closed_s, steps_s, slow_s / took_s)
        rows.append(
            (speeds, sweeps, *times, own_um, expanded_um(slow), expanded_um(told))
        )
    return rows


def _until_rows() -> list[tuple[Cell, ...]]:
    """Time to an uncertainty of the operate point, noise of 8 um."""
    rows: list[tuple[Cell, ...]] = []
    for case in (CASES[0], _with_speeds(CASES[2]), CASES[5], _with_speeds(CASES[6])):
        noisy = replace(case, options="&noise_um=8")
        runs = [
            timed_run(noisy, sweeps=200, seed=seed, until_mm=_UNTIL_MM)
            for seed in _UNTIL_SEEDS
        ]
        reached = sum(not run.result.remarks for run in runs)
        sweeps = float(np.mean([len(run.pairs_s) for run in runs]))
        took_s = float(np.mean([run.sweeping_s for run in runs]))
        speeds = ", ".join(f"{speed:g}" for speed in case.speeds_mm_s)
        rows.append((case.label, speeds, f"{reached}/{len(runs)}", sweeps, took_s))
    return rows


def _plan_rows() -> list[tuple[Cell, ...]]:
    """A pair of a plan, ten sweeps, from touch-off to homing again."""
    rows: list[tuple[Cell, ...]] = []
    for case in (CASES[0], CASES[1], CASES[5]):
        timed = timed_run(case, sweeps=10, seed=1)
        whole_s = timed.whole_s
        rest_s = whole_s - sum(timed.pairs_s)
        ramped = [both[1] for both in floors(timed, case.settings).values()]
        floor_s = 10.0 * float(np.mean(ramped))
        slow_s = 10.0 * 2.0 * _STROKE_MM / _SLOW_MM_S
        steps_s = 10.0 * step_and_settle_s(case.settings)
        head = (case.label, case.target, whole_s, sum(timed.pairs_s), rest_s + floor_s)
        rows.append((*head, rest_s + slow_s, rest_s + steps_s))
    return rows


def _claims(pairs: list[tuple[Cell, ...]], runs: list[tuple[Cell, ...]]) -> list[Claim]:
    claims = []
    for kind in dict.fromkeys(str(row[0]) for row in pairs):
        own = [row for row in pairs if row[0] == kind]
        whole = [row for row in own if row[2] == "in turn" or row[2] == f"{_SLOW_MM_S}"]
        worst = max(whole, key=_ratio)
        single = max(own, key=_ratio)
        claims.append(
            Claim(
                claim=f"{kind}: a sweep takes at most {_FLOOR_LIMIT} of the floor with "
                f"ramps, mean over the speeds of a run",
                measured=f"{worst[7]:.3f} at worst ({worst[1]}), {worst[6]:.3f} of the "
                f"floor without; a single speed {single[7]:.3f} ({single[1]}, "
                f"{single[2]} mm/s)",
                met=_ratio(worst) <= _FLOOR_LIMIT,
            )
        )
    ten = [row for row in runs if row[1] == 10]
    quicker = min(float(str(row[6])) for row in ten)
    better = all(float(str(row[7])) <= float(str(row[8])) for row in ten)
    claims.append(
        Claim(
            claim=f"ten sweeps at least {_SLOW_LIMIT:g} times quicker than full slow "
            f"sweeps, at equal or better uncertainty",
            measured=f"{quicker:.0f} times, uncertainty "
            f"{'no worse' if better else 'WORSE'}",
            met=quicker >= _SLOW_LIMIT and better,
        )
    )
    return claims


def _comparisons(
    pairs: list[tuple[Cell, ...]], runs: list[tuple[Cell, ...]]
) -> Iterator[Comparison]:
    for row in pairs:
        if row[2] in ("in turn", f"{_SLOW_MM_S}"):
            what = f"a sweep, {row[0]}, {row[1]}"
            for beside, at in (("floor with ramps", 7), ("floor without", 6)):
                yield Comparison(what=what, beside=beside, ratio=float(str(row[at])))
    for speeds, sweeps, took_s, slow_s, _, steps_s, *_ in runs:
        what = f"coarse pass and {sweeps} sweeps at {speeds} mm/s, 18 mm, steel"
        took = float(str(took_s))
        for beside, other_s in (
            ("ten sweeps slowly over the whole stroke", slow_s),
            ("ten sweeps in steps with a rest after each, as by hand", steps_s),
        ):
            ratio = took / float(str(other_s))
            yield Comparison(what=what, beside=beside, ratio=ratio)


def _ratio(row: tuple[Cell, ...]) -> float:
    return float(str(row[7]))


@benchmark("time", "bench time of a sweep and of a run against floor and slower ways")
def bench_time() -> Report:
    """Time sweeps on the simulated rig's clock."""
    pairs, runs = _pair_rows(), _run_rows()
    return Report(
        tables=(
            Table(
                title="A sweep once its band is known, settled on both sides",
                columns=(
                    "sensor",
                    "target",
                    "mm/s",
                    "floor s",
                    "with ramps s",
                    "took s",
                    "of the floor",
                    "with ramps",
                    "ms beyond",
                ),
                rows=pairs,
            ),
            Table(
                title="Coarse pass and sweeps against ten sweeps of slower ways, 18 mm "
                "sensor against steel",
                columns=(
                    *("mm/s", "sweeps", "took s", "slow stroke s", "closed form s"),
                    *("step and settle s", "times quicker", "U um", "U slow um"),
                    "same, delay told um",
                ),
                rows=runs,
            ),
            Table(
                title="A pair of a plan, ten sweeps, touch-off and homing included",
                columns=(
                    *("sensor", "target", "took s", "of it sweeps s"),
                    *("sweeps at floor s", "slow strokes s", "step and settle s"),
                ),
                rows=_plan_rows(),
            ),
            Table(
                title=f"To {1000.0 * _UNTIL_MM:g} um of expanded uncertainty, noise "
                f"8 um, coarse pass included, against steel",
                columns=("sensor", "mm/s", "reached", "sweeps", "took s"),
                rows=_until_rows(),
            ),
        ),
        claims=tuple(_claims(pairs, runs)),
        comparisons=tuple(_comparisons(pairs, runs)),
        notes=_NOTES,
    )


_NOTES = (
    "The floor goes fast to half a band before the edge, at once slowly to its middle, "
    "and settles; it leaves out braking from the quick way, the run-up, braking beyond "
    "the edge and the words on the wire.",
    "The floor with ramps lets an axis brake beyond the edge that it met at the speed "
    "of the sweep and meet the next at that speed, in the least time; speeds in turn "
    "take no less than each alone. At 10 mm/s the ramp is longer than the travel of an "
    "8 mm sensor, so no axis of this acceleration comes near the floor without.",
    f"Band: {2 * _SPREAD:g} standard deviations of a sweep about its line over speed. "
    f"{_SWEEPS} sweeps, mean over {len(_SEEDS)} seeds.",
    "Slow strokes at one speed do not know the delay: what the data sheet allows is in "
    "their uncertainty. Were it told, ten of them would be a little better than ten "
    "quick sweeps; twenty quick ones are better than that, and in a sixtieth of the "
    "time.",
    "The line runs at 250000 baud, as the link asks of every controller that can. "
    "Each order costs 3 ms of words besides its motion (6.5 ms at 115200), two or four "
    "of them a sweep. The 8 mm sensor's travel is a sixth of a millimetre, so its "
    "floor is short. Of what a sweep at 1 mm/s takes beyond it a third is words, the "
    "rest the random start and a band not known better than 10 um. At 4 mm/s the whole "
    "way is gone at that speed, since two more stops would cost more.",
    "The last table: where nothing is declared of the bench, its own share of the "
    "uncertainty is above the goal, and a run says so as soon as its sweeps show it.",
)
