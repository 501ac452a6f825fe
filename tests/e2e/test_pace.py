"""The same run at real pace through a port and at fast pace in process.

Noise is drawn for each look while the axis moves, so how fast the host is cannot
change it: the latched edges are the same to the step.
"""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor

import pytest

from rig.model.settings import BenchSettings
from rig.model.sweeps import Run
from rig.procedures.carry_out_run import RunResult

from .conftest import Measure

# What a real axis would not do: quick, so that the run takes seconds at real pace
QUICK = BenchSettings(
    search_speed_mm_s=2.0, touch_speed_mm_s=1.0, acceleration_mm_s2=400.0, touches=2
)


def edges_of(run: Run) -> list[tuple[object, ...]]:
    return [
        (edge.level, edge.position_steps, edge.approaching, sweep.void)
        for sweep in run.sweeps
        for edge in sweep.edges
    ]


@pytest.mark.alone
@pytest.mark.long
def test_a_port_at_real_pace_gives_the_edges_of_the_process_at_fast_pace(
    measure: Measure, serve: Callable[..., str]
) -> None:
    """Two rigs at once, since most of the time is waiting."""
    by_name = {
        "sim://?sensor=capacitive&seed=7&noise_um=6": ("level-18", False),
        "sim://?sensor=inductive&seed=8&noise_um=3": ("gate-8", True),
    }

    def both(name: str) -> tuple[RunResult, RunResult]:
        sensor, tcp = by_name[name]
        where = serve(name, tcp=tcp)
        real, fast = (
            measure(rig, sensor, "steel", speeds_mm_s=(4.0, 8.0), settings=QUICK)
            for rig in (where, name)
        )
        return real, fast

    with ThreadPoolExecutor() as threads:
        results = list(threads.map(both, by_name))

    for real, fast in results:
        at_port, in_process = (r.run.header.conditions for r in (real, fast))
        assert at_port.datum.position_steps == in_process.datum.position_steps
        assert at_port.backlash == in_process.backlash
        assert edges_of(real.run) == edges_of(fast.run)
        assert len(edges_of(real.run)) == 12
        assert real.figures == fast.figures


def test_other_seeds_give_other_edges(measure: Measure) -> None:
    runs = [
        edges_of(measure(f"sim://?seed={seed}", "level-18", "steel").run)
        for seed in (7, 7, 8)
    ]

    assert runs[0] == runs[1]
    assert runs[0] != runs[2]
