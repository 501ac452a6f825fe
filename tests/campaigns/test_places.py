"""One sensor at several places on drawn benches: what is stated covers what is so."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import binom

from rig.analysis.axis.place_fit import PlaceFit, place_fit
from rig.analysis.axis.place_readings import place_readings
from rig.analysis.edges.bench_causes import BenchCauses, bench_causes
from rig.errors import InputError
from rig.model.bench_declaration import (
    BenchDeclaration,
    ValueSource,
    declared_value,
    knowledge_of,
)
from rig.model.bench_items import LEAD, PERIODIC
from sim.machine import Machine
from sim.population import Specimen
from tests.campaigns.benches import Benches, draw_benches
from tests.campaigns.coverage import campaign
from tests.campaigns.edges import TOUCH_MM_S, Swept, Touched, mount
from tests.campaigns.knowledge import NOTHING_DECLARED, Read, State
from tests.campaigns.places import swept_places

pytestmark = pytest.mark.long

BENCHES = 400
FEWER = slice(0, 200)
TURNS = np.array([0.0, 4.0, 2.0, 6.0, 1.0, 5.0, 3.0, 7.0]) / 8.0


def fits(benches: Benches, kind: str, seed: int) -> list[PlaceFit | None]:
    """What is found on each bench; None where it is refused."""
    rng = np.random.default_rng(seed)
    mounted = mount(benches, kind, "steel")
    found: list[PlaceFit | None] = []
    for world, places in zip(
        benches.worlds, swept_places(benches, mounted, TURNS, rng), strict=True
    ):
        machine = world.machine
        try:
            reading = place_readings(
                places, lead_mm=machine.screw_lead_mm, step_mm=1 / machine.steps_per_mm
            )
            found.append(place_fit(reading))
        except InputError:
            found.append(None)
    return found


def changed(
    benches: Benches,
    machine: Callable[[Machine], Machine],
    specimen: Callable[[Specimen], Specimen] = lambda one: one,
) -> Benches:
    """The same benches, made otherwise."""
    worlds = tuple(replace(w, machine=machine(w.machine)) for w in benches.worlds)
    return Benches(
        worlds=worlds, specimens=tuple(specimen(one) for one in benches.specimens)
    )


@pytest.fixture(scope="module")
def benches() -> Benches:
    return draw_benches(range(BENCHES))


@pytest.fixture(scope="module", params=["capacitive", "inductive"])
def found(request: pytest.FixtureRequest, benches: Benches) -> list[PlaceFit | None]:
    return fits(benches, request.param, 1)


def test_amplitude_and_phase_lie_within_what_is_stated(
    benches: Benches, found: list[PlaceFit | None]
) -> None:
    # The phase is that at home, which the switch makes where the carriage comes down
    home = benches.of("home_mm")[:, np.newaxis]
    home_mm = benches.turned_to_mm(home, np.zeros((BENCHES, 1)), up=False)[:, 0]

    amplitudes, seconds, phases = [], [], []
    for world, at_mm, fit in zip(benches.worlds, home_mm, found, strict=True):
        if fit is None:
            continue
        machine = world.machine
        first = fit.first.amplitude
        amplitudes.append(
            abs(first.value - machine.screw_mm) <= first.expanded_uncertainty
        )
        if fit.second is not None:
            half = fit.second.amplitude
            seconds.append(
                abs(half.value - machine.screw_second_mm) <= half.expanded_uncertainty
            )
        if fit.first.phase.expanded_uncertainty is not None:
            turned = 2.0 * math.pi * at_mm / machine.screw_lead_mm
            off = math.radians(fit.first.phase.value)
            off -= machine.screw_phase_rad + turned
            away = abs(math.degrees(math.remainder(off, 2.0 * math.pi)))
            phases.append(away <= fit.first.phase.expanded_uncertainty)

    assert len(amplitudes) >= 0.98 * BENCHES
    assert len(phases) > 0.35 * BENCHES
    assert len(seconds) > 0.5 * BENCHES
    for within in (amplitudes, seconds, phases):
        assert 0.90 <= np.mean(within) <= 0.99


def test_most_checks_tell_the_screw_well_below_what_is_assumed(
    found: list[PlaceFit | None],
) -> None:
    firsts = [fit.first for fit in found if fit is not None]

    expanded = [first.amplitude.expanded_uncertainty for first in firsts]
    # 10 um are assumed without it
    assert np.median(expanded) < 0.0025
    assert np.mean([first.told for first in firsts]) > 0.6


@pytest.mark.parametrize("kind", ["capacitive", "inductive"])
@pytest.mark.parametrize("wrong", ["scale", "drift", "both"])
def test_neither_scale_nor_drift_pass_for_a_periodic_error(
    benches: Benches, kind: str, wrong: str
) -> None:
    linear = 0.01 if wrong != "drift" else 0.0
    warm_up = 0.01 if wrong != "scale" else 0.0  # 80 um of 8 mm while it warms up

    def straight(machine: Machine) -> Machine:
        return replace(machine, screw_mm=0.0, screw_second_mm=0.0, screw_linear=linear)

    def cold(specimen: Specimen) -> Specimen:
        habits = replace(specimen.habits, warm_up=warm_up, warm_time_s=1800.0)
        return replace(specimen, habits=habits)

    found = [
        fit
        for fit in fits(changed(benches.some(FEWER), straight, cold), kind, 3)
        if fit is not None
    ]

    assert len(found) >= 190
    told = sum(fit.first.told for fit in found)
    # 5 % by right, and what a drift that bends leaves beside its line
    assert told <= binom.ppf(0.999, len(found), 0.06)


def test_runs_that_rest_on_the_bound_cover_and_are_narrower(benches: Benches) -> None:
    """Lead and the check's bound declared, all else assumed."""
    some = benches.some(FEWER)
    bounds = {
        world.number: 10.0 if fit is None else 1e3 * fit.bound_mm
        for world, fit in zip(some.worlds, fits(some, "inductive", 1), strict=True)
    }

    def measured(benches: Benches, touched: Touched, swept: Swept) -> Read:
        plain = NOTHING_DECLARED.read(benches, touched, swept)
        rows = []
        for world in benches.worlds:
            numbers = {
                LEAD: world.machine.screw_lead_mm,
                PERIODIC: bounds[world.number],
            }
            declared = BenchDeclaration(
                values=tuple(
                    declared_value(key, value, ValueSource.MEASURED)
                    for key, value in numbers.items()
                )
            )
            known = knowledge_of(declared, touch_speed_mm_s=TOUCH_MM_S)
            rows.append(bench_causes(known, screw=True).table(()))
        causes = BenchCauses.from_table(np.stack(rows))
        return replace(plain, knowns=replace(plain.knowns, bench=causes))

    state = State(name="places", read=measured, shared=NOTHING_DECLARED.shared)
    wide, narrow = (
        {
            (tally.pair, tally.figure): tally
            for tally in campaign([each], some, sweeps=[10])
            if tally.figure in ("operate", "release", "differential_travel")
        }
        for each in (NOTHING_DECLARED, state)
    )

    assert len(narrow) == 12
    least = float(binom.ppf(5e-4, 200, 0.95)) / 200.0
    for key, tally in narrow.items():
        assert tally.share >= least, key
        assert tally.half_width < wide[key].half_width
