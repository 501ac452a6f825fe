"""Do the stated uncertainties hold on benches that nobody tuned for?

Edges are made here from a screw, a probe and a plate that the analysis does not know,
with the screw's error at the true place of the nut; no code is shared with it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import UTC, datetime

import numpy as np
import numpy.typing as npt
import pytest

from rig.analysis.edges.bench_causes import bench_causes
from rig.analysis.edges.budget import Knowns
from rig.analysis.edges.shared_causes import shared_contributions
from rig.analysis.edges.touch import (
    backlash_from_contacts,
    datum_from_touches,
    without_probe_delay,
)
from rig.analysis.numbers.ratio import ratio
from rig.analysis.run.figure_blocks import figure_blocks
from rig.analysis.run.quantities import Quantity, RunQuantities, run_quantities
from rig.model.bench_declaration import (
    NOTHING_DECLARED,
    BenchKnowledge,
    ValueSource,
    knowledge_of,
)
from rig.model.figures import Figure
from tests import builders
from tests.declared_benches import LEAD_MM, declared_bench

Array = npt.NDArray[np.float64]
STEPS_PER_MM = 1600.0
SPEEDS = np.tile([1.0, 4.0], 5)
TOUCH_MM_S, SEARCH_MM_S = 0.25, 2.0
THEN = datetime(2026, 1, 1, tzinfo=UTC)
RUNS = 2000
NOISE_MM = 0.003
LEAST, MOST = 0.90, 0.99  # of an interval that is stated as 95 %


@dataclass(frozen=True, kw_only=True)
class World:
    """Benches as they are, one an element."""

    amplitude_mm: Array
    phase: Array
    slope: Array
    probe_mm: Array
    delay_s: Array
    hysteresis_mm: Array
    backlash_mm: Array
    backlash_change_mm: Array

    def error_mm(self, place_mm: Array) -> Array:
        turned = 2.0 * np.pi * place_mm / LEAD_MM + self.phase
        return self.amplitude_mm * np.sin(turned) + self.slope * place_mm


def benches(
    rng: np.random.Generator,
    *,
    screw_um: float,
    probe_um: float = 2.0,
    slope_um_per_mm: float = 0.0,
    delay_ms: float = 0.0,
    hysteresis_um: float = 0.0,
    change_um: float = 0.0,
) -> World:
    def within(bound: float) -> Array:
        return 1e-3 * rng.uniform(-bound, bound, RUNS)

    return World(
        amplitude_mm=np.full(RUNS, 1e-3 * screw_um),
        phase=rng.uniform(0.0, 2.0 * np.pi, RUNS),
        slope=within(slope_um_per_mm),
        probe_mm=1e-3 * probe_um * rng.standard_normal(RUNS),
        delay_s=np.full(RUNS, 1e-3 * delay_ms),
        hysteresis_mm=np.full(RUNS, 1e-3 * hysteresis_um),
        backlash_mm=rng.uniform(0.02, 0.08, RUNS),
        backlash_change_mm=within(change_um),
    )


def command_steps(world: World, true_mm: Array) -> Array:
    """Count on approach at which the target stands at a true place."""
    place = true_mm.copy()
    for _ in range(8):
        place = true_mm - world.error_mm(place)
    return place * STEPS_PER_MM


@dataclass(frozen=True, kw_only=True)
class Measured:
    found: RunQuantities
    operate_mm: Array
    release_mm: Array


def measure(
    rng: np.random.Generator,
    world: World,
    known: BenchKnowledge,
    *,
    operate_mm: Array,
    travel_mm: Array,
    thicker_mm: float = 0.0,
    delay_measured: bool = False,
) -> Measured:
    face = 30.0 - thicker_mm + np.zeros(RUNS)
    lost = world.backlash_mm * STEPS_PER_MM
    late = TOUCH_MM_S * world.delay_s * STEPS_PER_MM
    touches = rng.normal(0.0, 0.3, (2, 5, RUNS))
    closed = command_steps(world, face + world.probe_mm)
    opened = command_steps(world, face + world.probe_mm - world.hysteresis_mm)
    closings = np.ceil(closed + late + rng.uniform(0, 1, RUNS) + touches[0])
    openings = np.floor(opened - lost - late + rng.uniform(0, 1, RUNS) + touches[1])
    first = rng.uniform(0, 1, RUNS) + rng.normal(0.0, 0.3, RUNS)
    at_speed = SEARCH_MM_S * world.delay_s * STEPS_PER_MM
    search = np.ceil(closed + at_speed + first)
    touched_off = [
        without_probe_delay(
            datum_from_touches(
                closings[:, run],
                steps_per_mm=STEPS_PER_MM,
                probe_uncertainty_mm=0.0,
                found_at=THEN,
            ),
            backlash_from_contacts(
                closings[:, run], openings[:, run], steps_per_mm=STEPS_PER_MM
            ),
            float(search[run]),
            steps_per_mm=STEPS_PER_MM,
            search_mm_s=SEARCH_MM_S,
            touch_mm_s=TOUCH_MM_S if delay_measured else SEARCH_MM_S,
        )
        for run in range(RUNS)
    ]
    datums, backlashes = zip(*touched_off, strict=True)
    on_true = command_steps(world, face - operate_mm)
    used = (world.backlash_mm + world.backlash_change_mm) * STEPS_PER_MM
    off_true = command_steps(world, face - operate_mm - travel_mm) - used
    tau = 0.002
    noise = rng.normal(0.0, NOISE_MM * STEPS_PER_MM, (2, RUNS, SPEEDS.size))
    run_on = SPEEDS * tau * STEPS_PER_MM
    on = np.ceil(on_true[:, np.newaxis] + run_on + noise[0])
    off = np.floor(off_true[:, np.newaxis] - run_on + noise[1])
    knowns = Knowns(
        steps_per_mm=STEPS_PER_MM,
        axis_mm=0.0,
        datum_steps=np.array([datum.position_steps for datum in datums]),
        datum_mm=np.array([datum.standard_uncertainty_mm for datum in datums]),
        datum_dof=np.array([datum.degrees_of_freedom for datum in datums]),
        probe_mm=0.0,
        backlash_mm=np.array([each.value_mm for each in backlashes]),
        backlash_uncertainty_mm=np.array(
            [each.standard_uncertainty_mm for each in backlashes]
        ),
        backlash_dof=np.array([each.degrees_of_freedom for each in backlashes]),
        late_mm=np.array([datum.late_uncertainty_mm or 0.0 for datum in datums]),
        bench=bench_causes(known, screw=True),
    )
    return Measured(
        found=run_quantities(on, off, SPEEDS, knowns),
        operate_mm=operate_mm,
        release_mm=operate_mm + travel_mm,
    )


def covered(quantity: Quantity, truth: Array) -> float:
    error = np.abs(quantity.value - truth)
    return float(np.mean(error <= quantity.expanded().expanded_uncertainty))


def coverage(measured: Measured) -> dict[str, float]:
    on, off = measured.operate_mm, measured.release_mm
    q = measured.found
    return {
        "operate": covered(q.operate, on),
        "release": covered(q.release, off),
        "H": covered(q.differential_travel, off - on),
        "H %": covered(q.differential_travel_percent, 100.0 * (off - on) / on),
    }


UNDECLARED = knowledge_of(NOTHING_DECLARED, touch_speed_mm_s=TOUCH_MM_S)


def declared(
    source: ValueSource = ValueSource.CERTIFICATE, **changes: float
) -> BenchKnowledge:
    return knowledge_of(declared_bench(source, **changes), touch_speed_mm_s=TOUCH_MM_S)


def drawn_points(rng: np.random.Generator) -> dict[str, Array]:
    return {
        "operate_mm": rng.uniform(2.0, 8.0, RUNS),
        "travel_mm": rng.uniform(0.3, 1.0, RUNS),
    }


@pytest.mark.long
@pytest.mark.parametrize("screw_um", [1.0, 3.0, 5.0, 10.0])
@pytest.mark.parametrize("source", [ValueSource.CERTIFICATE, ValueSource.MAKER])
def test_a_screw_at_its_declared_bound_is_covered(
    screw_um: float, source: ValueSource
) -> None:
    rng = np.random.default_rng(int(screw_um))
    world = benches(rng, screw_um=screw_um)

    known = declared(source, periodic_um=screw_um)
    shares = coverage(measure(rng, world, known, **drawn_points(rng)))

    assert all(LEAST <= share <= MOST for share in shares.values()), shares


@pytest.mark.parametrize("screw_um", [1.0, 3.0, 5.0, 10.0])
def test_an_undeclared_bench_is_covered_whatever_its_screw(screw_um: float) -> None:
    rng = np.random.default_rng(int(screw_um))
    world = benches(
        rng,
        screw_um=screw_um,
        probe_um=5.0,
        slope_um_per_mm=0.4,
        delay_ms=10.0,
        hysteresis_um=2.0,
        change_um=2.0,
    )

    shares = coverage(
        measure(rng, world, UNDECLARED, delay_measured=True, **drawn_points(rng))
    )

    # Of benches that all have the worst of usual screws the travel keeps less than
    # what is stated of all benches
    least = 0.80 if screw_um == 10.0 else LEAST
    assert shares["operate"] >= LEAST
    assert shares["release"] >= LEAST
    assert all(share >= least for share in shares.values()), shares


def test_a_screw_beyond_its_declared_bound_is_not_covered() -> None:
    rng = np.random.default_rng(5)
    world = benches(rng, screw_um=5.0)

    shares = coverage(
        measure(rng, world, declared(periodic_um=1.0), **drawn_points(rng))
    )

    assert shares["release"] < 0.75
    assert shares["H"] < 0.75


@pytest.mark.long
@pytest.mark.parametrize("travel_mm", [0.1, 0.5, 1.0, 1.9])
def test_a_periodic_error_enters_the_travel_by_the_travel_itself(
    travel_mm: float,
) -> None:
    rng = np.random.default_rng(6)
    world = benches(rng, screw_um=10.0)
    points = {"operate_mm": np.full(RUNS, 5.0), "travel_mm": np.full(RUNS, travel_mm)}

    found = measure(rng, world, declared(periodic_um=10.0), **points)

    travel = found.found.differential_travel
    lines = [term for term in travel.terms if "periodic" in term.name]
    variance = sum(np.square(term.effect) for term in lines)
    turn = 2.0 * np.pi * travel.value / LEAD_MM
    expected = 2.0 / 3.0 * 0.010**2 * (1.0 - np.cos(turn))
    np.testing.assert_allclose(variance, expected, rtol=1e-9)
    assert covered(travel, points["travel_mm"]) >= LEAST


@pytest.mark.long
@pytest.mark.parametrize(
    ("fault", "declaration"),
    [
        ({"delay_ms": 10.0}, {"delay_ms": 10.0}),
        ({"hysteresis_um": 5.0}, {"hysteresis_um": 5.0}),
        ({"change_um": 5.0}, {"backlash_change_um": 5.0}),
        ({"slope_um_per_mm": 1.0}, {"linear_um_per_mm": 1.0}),
    ],
)
def test_what_a_bench_has_is_covered_once_it_is_declared(
    fault: dict[str, float], declaration: dict[str, float]
) -> None:
    rng = np.random.default_rng(9)
    world = benches(rng, screw_um=0.0, **fault)
    points = drawn_points(rng)

    known = coverage(measure(rng, world, declared(**declaration), **points))
    unknown = coverage(measure(rng, world, declared(), **points))

    assert all(share >= LEAST for share in known.values()), known
    assert min(unknown.values()) < 0.85, unknown


@pytest.mark.long
@pytest.mark.parametrize("screw_um", [1.0, 5.0, 10.0])
def test_a_reduction_factor_is_covered(screw_um: float) -> None:
    rng = np.random.default_rng(20)
    # The offset of the probe is one and the same under both targets
    world = benches(rng, screw_um=screw_um, slope_um_per_mm=0.5)
    known = declared(
        periodic_um=screw_um,
        linear_um_per_mm=0.5,
        offset_um=2.0 * math.sqrt(3.0),
        repeatability_um=0.0,
    )
    points = drawn_points(rng)
    factor = rng.uniform(0.2, 0.9, RUNS)
    other = {
        "operate_mm": factor * points["operate_mm"],
        "travel_mm": 0.5 * points["travel_mm"],
    }
    steel = operate_figures(measure(rng, world, known, **points))
    plastic = operate_figures(measure(rng, world, known, **other, thicker_mm=2.3))
    here, there = (builders.conditions(bench=known, datum={"n": n}) for n in (5, 6))

    shared = shared_contributions(here, there)
    found = [
        ratio(one, two, shared=shared) for one, two in zip(plastic, steel, strict=True)
    ]

    errors = np.abs([one.value for one in found] - factor)
    share = float(np.mean(errors <= [one.expanded_uncertainty for one in found]))
    assert LEAST <= share <= MOST
    (linear,) = (line for line in found[0].budget if line.name.startswith("linear"))
    assert linear.sensitivity == pytest.approx(0.0, abs=1e-12)


def operate_figures(measured: Measured) -> list[Figure]:
    names = [str(k) for k in range(RUNS)]
    blocks = figure_blocks(names, measured.found, SPEEDS.size, [()] * RUNS)
    by_name = {
        name: figures.operate
        for block in blocks
        for name, figures in zip(block.run_ids, block.figures(), strict=True)
    }
    return [by_name[name] for name in names]


def test_declaring_the_screw_narrows_the_travel() -> None:
    rng = np.random.default_rng(1)
    world = benches(rng, screw_um=1.0)
    points = drawn_points(rng)

    wide, narrow = (
        float(
            np.median(
                measure(rng, world, known, **points)
                .found.differential_travel.expanded()
                .expanded_uncertainty
            )
        )
        for known in (UNDECLARED, declared(periodic_um=1.0))
    )

    assert narrow < 0.4 * wide
