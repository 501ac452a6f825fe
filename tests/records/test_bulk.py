from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest

from rig.analysis.edges.budget import Knowns
from rig.analysis.run.many_runs import ManyRuns, many_quantities
from rig.analysis.run.run_figures import run_figures
from rig.model.sweeps import Edge, Sweep
from rig.records.bulk import EdgeBlock, edge_blocks

KNOWNS = (
    "steps_per_mm",
    "axis_mm",
    "datum_steps",
    "datum_mm",
    "datum_dof",
    "probe_mm",
    "backlash_mm",
    "backlash_uncertainty_mm",
    "backlash_dof",
)
# Names of the arrays, and of the same figures of a single run
FIGURES = {
    "operate": "operate",
    "release": "release",
    "differential_travel": "differential_travel",
    "differential_travel_percent": "differential_travel_percent",
    "bias_operate": "first_passage_bias_operate",
    "bias_release": "first_passage_bias_release",
    "threshold_operate": "threshold_operate",
    "threshold_release": "threshold_release",
    "response_time_operate": "response_time_operate",
    "response_time_release": "response_time_release",
}


def many(block: EdgeBlock) -> ManyRuns:
    return ManyRuns(
        sweeps=block.sweeps,
        speed_mm_s=block.speed_mm_s,
        operate_steps=block.operate_steps,
        release_steps=block.release_steps,
        knowns=Knowns(**{name: getattr(block, name) for name in KNOWNS}),
        switching_frequency_hz=block.switching_frequency_hz,
    )


def a_sweep(
    samples, rng: np.random.Generator, index: int, speed: float, *, edges: int = 2
) -> Sweep:
    """A sweep with its operate edge first and its release edge last."""
    on, off = rng.integers(19_000, 19_020), rng.integers(18_000, 18_020)
    places = np.linspace(int(on), int(off), edges)
    every = tuple(
        Edge(
            number=k,
            level=k % 2 == 1,
            position_steps=round(place),
            time_us=k,
            approaching=k < edges / 2,
        )
        for k, place in enumerate(places)
    )
    return Sweep(
        index=index,
        speed_mm_s=speed,
        operate=every[0],
        release=every[-1],
        edges=every,
        void="",
        ended_at=samples.NOON,
    )


@pytest.fixture
def filled(writer, samples):
    """Thirty runs of three kinds, and one each of those that give no figures."""
    rng = np.random.default_rng(3)
    good = []
    for number in range(30):
        frequency = (None, 50.0, 50.0)[number % 3]
        sensor = replace(samples.LEVEL_SENSOR, switching_frequency_hz=frequency)
        speeds = ((0.8, 1.6), (1.0,), (1.6, 0.8))[number % 3]
        head = samples.header(number, sensor=sensor, speeds_mm_s=speeds)
        writer.begin_run(head)
        for i in range(6 + number % 2):
            chatter = 4 if number == 4 else 2
            new = a_sweep(samples, rng, i, speeds[i % len(speeds)], edges=chatter)
            if i == 2:
                new = replace(new, void="the edge came where none was expected")
            writer.add_sweep(head.run_id, new)
        writer.end_run(head.run_id, ended_at=samples.NOON + timedelta(hours=1))
        good.append(head.run_id)
    for number, kind in enumerate(("void", "open", "empty", "again"), start=100):
        head = samples.header(number)
        writer.begin_run(head)
        if kind == "again":
            writer.add_conditions(head.run_id, 1, samples.conditions(note="again"))
        if kind != "empty":
            writer.add_sweep(head.run_id, a_sweep(samples, rng, 0, 0.8))
        if kind != "open":
            why = "stopped" if kind == "void" else ""
            writer.end_run(head.run_id, ended_at=samples.NOON, void=why)
    return good, samples.header(103).run_id


@pytest.mark.parametrize("runs_at_once", [1, 7, 1000])
def test_pages_hold_every_run_with_figures_once(store, filled, runs_at_once) -> None:
    good, again = filled

    blocks = list(edge_blocks(store, runs_at_once=runs_at_once))

    assert [name for block in blocks for name in block.run_ids] == good
    assert [name for block in blocks for name in block.taken_up_again] == [again]
    assert max(len(block.run_ids) for block in blocks) <= runs_at_once


def test_figures_of_many_runs_are_those_of_each_alone(store, reader, filled) -> None:
    good, _ = filled

    singles = {name: run_figures(reader.run(name)) for name in good}
    compared = 0
    for block in edge_blocks(store, runs_at_once=20):
        for together in many_quantities(many(block)):
            for name, single_name in FIGURES.items():
                quantity = getattr(together.quantities, name)
                for place, run in enumerate(together.runs):
                    figure = getattr(singles[block.run_ids[run]], single_name)
                    if quantity is None:
                        assert figure is None
                        continue
                    expanded = quantity.expanded().expanded_uncertainty[place]
                    compared += 1

                    assert quantity.value[place] == pytest.approx(
                        figure.value, rel=0.0, abs=1e-12
                    )
                    assert expanded == pytest.approx(
                        figure.expanded_uncertainty, rel=1e-12, abs=1e-12
                    )
    assert compared == 8 * len(good) + 2 * 20


def test_sweeps_that_do_not_add_up_are_refused(store, filled) -> None:
    block = next(edge_blocks(store))
    short = replace(block, sweeps=block.sweeps + 1)

    with pytest.raises(ValueError, match="do not add up"):
        next(many_quantities(many(short)))


def test_empty_records_give_no_page(store) -> None:
    assert list(edge_blocks(store)) == []
