"""The campaign in a short form: edges from the rig, and coverage that could fail."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from scipy.stats import binom

from firmware_protocol import Receiver
from firmware_protocol.checksum import check_digits
from firmware_protocol.messages import EdgeNotice, LookAnswer
from rig.analysis.run.quantities import run_quantities
from sim.bench import Bench
from sim.device import Controller
from sim.machine import Machine
from sim.machine import Mounting as OnTheBench
from sim.population import draw_specimen, draw_world
from sim.presets import SENSORS, TARGETS
from sim.traits import Traits
from tests.campaigns.benches import Benches, draw_benches
from tests.campaigns.coverage import REDUCTION, Tally, campaign
from tests.campaigns.edges import mount, sweep, touch, truths
from tests.campaigns.knowledge import (
    ALL_KNOWN,
    CLASSES_DECLARED,
    INDICATOR,
    NOTHING_DECLARED,
    Read,
    State,
)

BENCHES = 400
COMPARED = 24
DISTANCES = (
    "operate",
    "release",
    "differential_travel",
    "differential_travel_percent",
    REDUCTION,
)
OTHERS = (
    "threshold_operate",
    "threshold_release",
    "response_time_operate",
    "response_time_release",
)


def still(machine: Machine) -> Machine:
    """Return a machine whose contacts do not scatter."""
    return replace(machine, probe_noise_mm=0.0, home_noise_mm=0.0)


class Rig:
    """A simulated rig whose orders are given by hand, in mm."""

    def __init__(self, number: int) -> None:
        machine = still(draw_world(number, number).machine)
        specimen = draw_specimen(number, "")
        sensor = replace(specimen.of(SENSORS["capacitive"]), noise_sigma_mm=0.0)
        mounting = OnTheBench(
            sensor=sensor, target=TARGETS["steel"], habits=specimen.habits
        )
        self.scale = machine.steps_per_mm
        self.machine = machine
        traits = Traits(
            steps_per_mm=self.scale,
            travel_low_steps=self.scale // 4,
            travel_high_steps=40 * self.scale,
            speed_limit_steps_s=25 * self.scale,
            acceleration_limit_steps_s2=500 * self.scale,
            start_speed_steps_s=3 * self.scale,
        )
        self._controller = Controller(Bench(machine, mounting), traits=traits)
        self._receiver = Receiver()
        self._heard: list[Any] = []
        self._number = 0
        self._ask("hail 1")
        self.order(f"home {10 * self.scale} {self.scale // 4}")
        self._ask(f"fence {self.scale} {39 * self.scale}")

    def _ask(self, words: str, seconds: float = 0.05) -> None:
        self._number = self._number % 200 + 1
        body = f"q{self._number} {words}".encode()
        line = b"&" + body + b" " + check_digits(body) + b"\n"
        self._controller.receive(line)
        self._controller.advance(seconds)
        self._heard += self._receiver.feed(self._controller.take_output())

    def order(self, words: str) -> None:
        self._ask(words)
        while True:
            self._ask("look")
            looks = [each for each in self._heard if isinstance(each, LookAnswer)]
            if looks[-1].state not in ("moving", "seeking"):
                return

    def go(self, place_mm: float, speed_mm_s: float, *, edges: int = 0) -> None:
        steps, speed = round(place_mm * self.scale), round(speed_mm_s * self.scale)
        self.order(f"go {steps} {speed} {200 * self.scale} {edges} {self.scale // 2}")

    def edges(self, source: str) -> list[EdgeNotice]:
        return [
            each
            for each in self._heard
            if isinstance(each, EdgeNotice) and each.source == source
        ]

    def touch(self) -> tuple[int, int]:
        face_mm, speed = self.machine.face_mm, round(0.25 * self.scale)
        self.go(face_mm - 0.7, 5.0)
        self.order(f"touch {round((face_mm + 0.6) * self.scale)} {speed}")
        self.go(face_mm - 0.9, 0.25)
        closed, opened = self.edges("probe")[-2:]
        return closed.position, opened.position

    def sweep(self) -> tuple[int, int]:
        face_mm = self.machine.face_mm
        self.go(face_mm - 11.0, 10.0)
        self.go(face_mm - 1.0, 1.0, edges=1)
        self.go(face_mm - 14.0, 1.0, edges=1)
        on, off = self.edges("out")[-2:]
        return on.position, off.position


def quiet(benches: Benches) -> Benches:
    worlds = (replace(world, machine=still(world.machine)) for world in benches.worlds)
    return replace(benches, worlds=tuple(worlds))


def test_edges_from_arrays_are_those_of_the_simulated_rig() -> None:
    rng = np.random.default_rng(3)
    benches = quiet(draw_benches(range(COMPARED)))
    mounted = mount(benches, "capacitive", "steel")
    nothing = np.full(COMPARED, 1e-9)
    mounted = replace(
        mounted,
        noise_operate_mm=nothing,
        noise_release_mm=nothing,
        offset_operate_mm=nothing,
        offset_release_mm=nothing,
    )

    touched = touch(benches, rng)
    swept = sweep(benches, mounted, touched, 1, rng)

    differences = []
    for number in range(COMPARED):
        rig = Rig(number)
        mine = (
            touched.closings[number, 0],
            touched.openings[number, 0],
            swept.operate[number, 0],
            swept.release[number, 0],
        )
        differences.append(np.subtract((*rig.touch(), *rig.sweep()), mine))
    # A step for the phase of the look, and 1 um for what warmth does meanwhile
    scale = benches.of("steps_per_mm")[:, np.newaxis]
    assert np.all(np.abs(differences) <= 1.0 + 1e-3 * scale)
    # Without its errors a bench would be many steps away
    plain = 2.0 * np.sqrt(np.mean((scale * benches.of("screw_mm")[:, np.newaxis]) ** 2))
    assert np.sqrt(np.mean(np.square(differences))) < 0.1 * plain


def low_and_high(runs: int) -> tuple[float, float]:
    """Shares within which chance leaves a true 95 %, but for one time in a thousand."""
    low, high = (float(binom.ppf(p, runs, 0.95)) / runs for p in (5e-4, 0.9995))
    return low, high


@pytest.fixture(scope="module")
def benches() -> Benches:
    return draw_benches(range(BENCHES))


def shares(tallies: list[Tally], figures: tuple[str, ...]) -> dict[str, float]:
    return {
        f"{tally.pair}: {tally.figure}": tally.share
        for tally in tallies
        if tally.figure in figures
    }


def test_with_the_bench_known_all_stated_uncertainties_cover(benches: Benches) -> None:
    tallies = list(campaign([ALL_KNOWN], benches, sweeps=[10]))

    found = shares(tallies, DISTANCES + OTHERS)

    low, high = low_and_high(BENCHES)
    # A little of what moves by itself, and of the step grid, is left on either side
    assert low > 0.90
    assert len(found) == 4 * 8 + 2
    assert all(low - 0.01 <= share <= max(high, 0.99) for share in found.values()), {
        name: share for name, share in found.items() if not low - 0.01 <= share <= high
    }


@pytest.mark.parametrize(
    "state",
    [NOTHING_DECLARED, CLASSES_DECLARED, INDICATOR],
    ids=lambda state: state.name,
)
def test_what_a_person_can_know_gives_an_uncertainty_that_covers(
    benches: Benches, state: State
) -> None:
    tallies = list(campaign([state], benches, sweeps=[10]))

    found = shares(tallies, DISTANCES)

    low, _ = low_and_high(BENCHES)
    assert len(found) == 4 * 4 + 2
    assert all(share >= low for share in found.values()), found


def test_declaring_what_the_makers_say_narrows_what_it_can(benches: Benches) -> None:
    plain, declared = (
        {
            (tally.pair, tally.figure): tally.half_width
            for tally in campaign([state], benches, sweeps=[10])
            if tally.figure in DISTANCES
        }
        for state in (NOTHING_DECLARED, CLASSES_DECLARED)
    )

    assert len(plain) == 4 * 4 + 2
    ratios = {each: declared[each] / plain[each] for each in plain}
    # Half a lead apart, a known lead asks for root 2 more than an unknown one
    assert np.median(list(ratios.values())) < 0.95, ratios
    assert max(ratios.values()) < 1.42, ratios
    short = [
        ratio
        for (pair, name), ratio in ratios.items()
        if pair.startswith("inductive") and "travel" in name
    ]
    assert len(short) == 4
    assert max(short) < 0.85, ratios


def test_errors_of_the_bench_that_no_budget_has_are_found(benches: Benches) -> None:
    """The campaign would see a product that takes every bench for perfect."""

    def careless(some: Benches, touched: Any, swept: Any) -> Read:
        none = ALL_KNOWN.read(some, touched, swept).knowns
        plain = NOTHING_DECLARED.read(some, touched, swept)
        knowns = replace(plain.knowns, bench=none.bench)
        return replace(plain, knowns=knowns)

    state = State(name="careless", read=careless, shared=frozenset())

    found = shares(list(campaign([state], benches, sweeps=[10])), DISTANCES)

    assert max(found.values()) < 0.80


MakeDocuments = Callable[[int], list[dict[str, Any]]]


@pytest.fixture(scope="module")
def documents(tmp_path_factory: pytest.TempPathFactory) -> list[dict[str, Any]]:
    records = tmp_path_factory.mktemp("campaign") / "records.sqlite"
    done = subprocess.run(
        [sys.executable, "-m", "tests.campaigns.end_to_end", str(records), "0", "6"],
        stdout=subprocess.PIPE,
        text=True,
        check=True,
        cwd=Path(__file__).parents[2],
    )
    return [json.loads(line) for line in done.stdout.splitlines()]


def test_benches_are_measured_from_end_to_end(documents: list[dict[str, Any]]) -> None:
    pairs = {document["pair"] for document in documents}

    assert len(documents) == 12
    assert pairs == {
        "level-18, steel",
        "level-18, pvc",
        "gate-8, steel",
        "gate-8, aluminium",
    }
    assert not any("refused" in document for document in documents)
    assert {document["sweeps"] for document in documents} == {10}
    assert sum(REDUCTION in document["figures"] for document in documents) == 6


def test_errors_end_to_end_are_those_of_the_arrays(
    documents: list[dict[str, Any]],
) -> None:
    """Bench by bench: what is wrong of both is the bench, and only scatter differs."""
    benches = draw_benches(range(6))
    rng = np.random.default_rng(5)
    touched = touch(benches, rng)
    ratios, sizes = [], []
    for document in documents:
        kind, target = {
            "level-18, steel": ("capacitive", "steel"),
            "level-18, pvc": ("capacitive", "pvc"),
            "gate-8, steel": ("inductive", "steel"),
            "gate-8, aluminium": ("inductive", "aluminium"),
        }[document["pair"]]
        mounted = mount(benches, kind, target)
        swept = sweep(benches, mounted, touched, 10, rng)
        true = truths(benches, mounted, 10)
        read = NOTHING_DECLARED.read(benches, touched, swept)
        found = run_quantities(
            read.operate_steps, read.release_steps, swept.speeds_mm_s, read.knowns
        )
        scatter = ALL_KNOWN.read(benches, touched, swept)
        by_chance = run_quantities(
            scatter.operate_steps,
            scatter.release_steps,
            swept.speeds_mm_s,
            scatter.knowns,
        )
        bench = document["bench"]
        for name in ("operate", "release", "differential_travel"):
            error = getattr(found, name).value[bench] - getattr(true, name)[bench]
            chance = getattr(by_chance, name).expanded().expanded_uncertainty[bench]
            difference = document["figures"][name]["error"] - error
            ratios.append(difference / (chance / 2.0))
            sizes.append(error / (chance / 2.0))

    # Both scatter, so root 2 is expected of a difference of two
    assert np.sqrt(np.mean(np.square(ratios))) < 2.0
    assert np.sqrt(np.mean(np.square(sizes))) > 2.5
