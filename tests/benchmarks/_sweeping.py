"""Sweeps on the simulated rig, timed by its own clock, for the benchmarks."""

from __future__ import annotations

import random
import tempfile
from dataclasses import dataclass, replace
from pathlib import Path

from rig.analysis.run.run_figures import run_figures
from rig.catalogue.catalogue import load_catalogue
from rig.model.settings import BenchSettings
from rig.model.sweeps import Run
from rig.procedures.carry_out_run import RunResult, carry_out_run
from rig.procedures.edges import output_edges
from rig.procedures.events import Event, Located, RunBegan, SweepEnded
from rig.procedures.ready_bench import Bench
from rig.procedures.run_context import RunContext
from rig.procedures.run_order import RunOrder
from rig.procedures.touch_off import touch_off
from rig.records import open_records
from rig.wiring import Rig, connect
from tests import builders

DEFAULT = BenchSettings()


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """What is swept, and how.

    Attributes:
        label: For tables.
        sensor: In the catalogue that comes with the software.
        target: Likewise.
        speeds_mm_s: In turn.
        options: Of the simulated rig.
        settings: How the bench is driven.
    """

    label: str
    sensor: str
    target: str
    speeds_mm_s: tuple[float, ...]
    options: str = ""
    settings: BenchSettings = DEFAULT


@dataclass(frozen=True, slots=True, kw_only=True)
class Timed:
    """A run with the times of its parts.

    Attributes:
        result: The run.
        bench: It was taken on.
        rig: Likewise.
        pairs_s: Time of each good sweep, in order.
        until_located_s: From the beginning of the run until the band was found.
        voids: Sweeps that were void.
        whole_s: Touch-off, coarse pass, sweeps and homing again: a pair of a plan.
    """

    result: RunResult
    bench: Bench
    rig: Rig
    pairs_s: tuple[float, ...]
    until_located_s: float
    voids: int
    whole_s: float

    @property
    def sweeping_s(self) -> float:
        """Coarse pass and all sweeps."""
        return self.until_located_s + sum(self.pairs_s)


def connected(case: Case, seed: int) -> tuple[Rig, RunOrder]:
    """Return a simulated rig with what a case asks for mounted, and no sweeps yet."""
    rig = connect(f"sim://?seed={seed}{case.options}", case.settings)
    catalogue = load_catalogue()
    sensor, target = catalogue.sensor(case.sensor), catalogue.target(case.target)
    assert rig.simulation is not None
    rig.simulation.mount(sensor, target)
    order = RunOrder(
        sensor=sensor, target=target, sweeps=1, speeds_mm_s=case.speeds_mm_s
    )
    return rig, order


def timed_run(
    case: Case, *, sweeps: int, seed: int, until_mm: float | None = None
) -> Timed:
    """Carry out a run and time its parts by the rig's clock."""
    rig, order = connected(case, seed)
    link = rig.mover.link
    marks: list[tuple[float, Event]] = []

    def tell(event: Event) -> None:
        if isinstance(event, RunBegan | Located | SweepEnded):
            marks.append((link.now_s(), event))

    began_s = link.now_s()
    bench = touch_off(rig.mover, case.settings, tell)
    order = replace(order, sweeps=sweeps, until_mm=until_mm)
    with (
        tempfile.TemporaryDirectory() as folder,
        open_records(str(Path(folder) / "records.sqlite")) as store,
    ):
        context = RunContext.on(rig.mover, case.settings, store, tell)
        result = carry_out_run(
            bench, order, replace(context, chance=random.Random(seed))
        )
    times = [at for at, _ in marks]
    pairs = [
        now - before
        for before, (now, event) in zip(times, marks[1:], strict=False)
        if isinstance(event, SweepEnded) and not event.sweep.void
    ]
    return Timed(
        result=result,
        bench=bench,
        rig=rig,
        pairs_s=tuple(pairs),
        until_located_s=times[1] - times[0],
        voids=len(result.run.sweeps) - len(pairs),
        whole_s=link.now_s() - began_s,
    )


def full_slow_run(
    case: Case, *, speed_mm_s: float, stroke_mm: float, sweeps: int, seed: int
) -> tuple[Run, float]:
    """Sweep slowly over the whole stroke both ways, as on a slide by hand.

    Returns:
        The run with its edges, and its time by the rig's clock.
    """
    rig, _ = connected(case, seed)
    bench = touch_off(rig.mover, case.settings, lambda _: None)
    timed = replace(case, speeds_mm_s=(speed_mm_s,))
    header = timed_run(timed, sweeps=2, seed=seed).result.run.header
    far = bench.nearest_steps - rig.mover.steps(stroke_mm)
    rig.mover.go(far, case.settings.coarse_speed_mm_s)
    began_s = rig.mover.link.now_s()
    done = []
    for index in range(sweeps):
        into = rig.mover.go(bench.nearest_steps, speed_mm_s)
        out = rig.mover.go(far, speed_mm_s)
        edges = (
            *output_edges(into, approaching=True),
            *output_edges(out, approaching=False),
        )
        done.append(builders.sweep(index, edges, speed_mm_s=speed_mm_s))
    took_s = rig.mover.link.now_s() - began_s
    conditions = replace(header.conditions, datum=bench.datum, backlash=bench.backlash)
    header = replace(header, conditions=conditions, sweeps_wanted=sweeps)
    return Run(header=header, sweeps=tuple(done)), took_s


def expanded_um(run: Run) -> float:
    """Return the expanded uncertainty of a run's operate point."""
    expanded = run_figures(run).operate.expanded_uncertainty
    assert expanded is not None
    return 1000.0 * expanded
