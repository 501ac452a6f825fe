"""Measures benches of the population through link and procedures, one a number.

python -m tests.campaigns.end_to_end FOLDER FIRST COUNT SWEEPS   a JSON document a run

Every other bench has the capacitive sensor, the rest the inductive one; each is swept
against the target that it is rated on and against one that it sees weakly, once in each
state of knowledge that a person can have. FOLDER takes the records of each state. For
each figure: how far it is from the truth in the middle of the sweeps, and what
uncertainty is stated (null if none); mm, %, ms or 1.
"""

from __future__ import annotations

import json
import os
import random
import sys
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from rig.analysis.edges.shared_causes import shared_contributions
from rig.analysis.numbers.ratio import ratio
from rig.catalogue.catalogue import load_catalogue
from rig.errors import BenchError
from rig.model.figures import Figure, RunFigures
from rig.model.settings import BenchSettings
from rig.model.sweeps import Run
from rig.procedures.carry_out_run import carry_out_run
from rig.procedures.events import Event, SweepEnded
from rig.procedures.run_context import RunContext
from rig.procedures.run_order import RunOrder
from rig.records import Store, open_records
from rig.wiring import Rig, Simulation, connect
from sim.machine import Truth
from tests.campaigns.told_to_records import TELL

PAIRS = (("level-18", ("steel", "pvc")), ("gate-8", ("steel", "aluminium")))
SPEEDS_MM_S = (1.0, 4.0)
REDUCTION = "reduction_factor"


@dataclass
class _Watched:
    """The truth at the end of each sweep."""

    simulation: Simulation
    truths: list[Truth] = field(default_factory=list)

    def tell(self, event: Event) -> None:
        if isinstance(event, SweepEnded):
            self.truths.append(self.simulation.truth())

    def middle(self) -> Truth:
        return self.truths[len(self.truths) // 2]


def true_values(truth: Truth) -> dict[str, float]:
    """Return the true value of each figure."""
    on, off = truth.observed_operate_mm, truth.observed_release_mm
    assert on is not None
    assert off is not None
    assert truth.threshold_operate_mm is not None
    assert truth.threshold_release_mm is not None
    return {
        "operate": on,
        "release": off,
        "differential_travel": off - on,
        "differential_travel_percent": 100.0 * (off - on) / on,
        "threshold_operate": truth.threshold_operate_mm,
        "threshold_release": truth.threshold_release_mm,
        "first_passage_bias_operate": on - truth.threshold_operate_mm,
        "first_passage_bias_release": truth.threshold_release_mm - off,
        "response_time_operate": 1e3 * truth.delay_on_s,
        "response_time_release": 1e3 * truth.delay_off_s,
    }


def measure(number: int, store: Store, sweeps: int) -> list[dict[str, Any]]:
    """Measure one bench against both targets, with what the records know of it."""
    settings = BenchSettings()
    rig = connect(f"sim://?bench={number}&seed={number}", settings)
    try:
        return _measure(rig, settings, number, store, sweeps)
    finally:
        rig.close()


def _measure(
    rig: Rig, settings: BenchSettings, number: int, store: Store, sweeps: int
) -> list[dict[str, Any]]:
    catalogue = load_catalogue()
    simulation = rig.simulation
    assert simulation is not None
    sensor_name, targets = PAIRS[number % len(PAIRS)]
    sensor = catalogue.sensor(sensor_name)
    done: list[tuple[Run, RunFigures, dict[str, float]]] = []
    documents: list[dict[str, Any]] = []
    for name in targets:
        target = catalogue.target(name)
        simulation.mount(sensor, target)
        watched = _Watched(simulation)
        context = replace(
            RunContext.on(rig.mover, settings, store, watched.tell),
            chance=random.Random(number),
        )
        order = RunOrder(
            sensor=sensor, target=target, sweeps=sweeps, speeds_mm_s=SPEEDS_MM_S
        )
        document: dict[str, Any] = {"bench": number, "pair": f"{sensor_name}, {name}"}
        documents.append(document)
        try:
            result = carry_out_run(context.touch_off(), order, context)
        except BenchError as exc:
            document["refused"] = str(exc)
            continue
        true = true_values(watched.middle())
        document["sweeps"] = len(result.run.sweeps)
        document["figures"] = {
            figure: _distance(getattr(result.figures, figure), value)
            for figure, value in true.items()
        }
        done.append((result.run, result.figures, true))
    if len(done) == len(targets):
        (strong, strong_figures, strong_true), (weak, weak_figures, weak_true) = done
        factor = ratio(
            weak_figures.operate,
            strong_figures.operate,
            shared=shared_contributions(
                weak.header.conditions, strong.header.conditions
            ),
        )
        documents[-1]["figures"][REDUCTION] = _distance(
            factor, weak_true["operate"] / strong_true["operate"]
        )
    return documents


def _distance(figure: Figure, truth: float) -> dict[str, float | None]:
    return {
        "error": figure.value - truth,
        "expanded": figure.expanded_uncertainty,
    }


def main(folder: str, first: int, count: int, sweeps: int) -> None:
    for name, tell in TELL.items():
        records = str(Path(folder) / f"{name} {first}.sqlite")
        with open_records(records) as store:
            for number in range(first, first + count):
                tell(store, number)
                for document in measure(number, store, sweeps):
                    line = json.dumps({"state": name} | document)
                    os.write(1, f"{line}\n".encode())


if __name__ == "__main__":
    main(sys.argv[1], *map(int, sys.argv[2:]))
