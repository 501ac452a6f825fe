"""Measures simulated benches drawn by seed, from the port to the figures on record.

python drawn_benches.py RECORDS FIRST COUNT     one JSON document a line, one a seed

Each document holds what was drawn and, for each figure, how far it is from the truth
that the simulated rig tells and what uncertainty was stated. In µm.
"""

from __future__ import annotations

import json
import os
import random
import sys
from dataclasses import replace
from datetime import UTC, datetime

import numpy as np

from rig.analysis.run.run_figures import run_figures
from rig.catalogue.catalogue import load_catalogue
from rig.inquiry.declared_bench import declare_bench
from rig.model.bench_declaration import (
    BenchDeclaration,
    ValueSource,
    declared_value,
)
from rig.model.figures import Figure
from rig.model.mounted import Backlash, BacklashSource
from rig.model.settings import BenchSettings
from rig.model.sweeps import Run
from rig.procedures.carry_out_run import carry_out_run
from rig.procedures.run_context import RunContext
from rig.procedures.run_order import RunOrder
from rig.records import Store, open_records
from rig.wiring import connect

FAST_MM_S = 4.0
_DRAW = 20260  # of the draws here; the rig's own noise has the seed itself
# What these benches are: bare contacts, a screw of 1 um, nothing else amiss
_DECLARED = {
    "screw.lead_mm": 2.0,
    "screw.periodic_um": 1.0,
    "screw.linear_um_per_mm": 0.0,
    "screw.backlash_change_um": 0.0,
    "probe.repeatability_um": 2.0,
    "probe.offset_um": 0.0,
    "probe.pretravel_um": 0.0,
    "probe.delay_ms": 0.0,
    "probe.hysteresis_um": 0.0,
    "alignment.cosine_deg": 0.0,
    "alignment.tilt_um": 0.0,
    "plate.flatness_um": 0.0,
    "face.flatness_um": 0.0,
    "thermal.expansion_per_k": 0.0,
}


def draw(seed: int) -> dict[str, float]:
    """Return what differs from bench to bench.

    The probe's error has the deviation that is declared for it. The
    sensitivity moves the switching points, so that they meet the screw's periodic
    error in any phase; at the rated distance of the preset it cancels.
    """
    chance = np.random.default_rng([_DRAW, seed])
    return {
        "backlash_um": chance.uniform(0.0, 100.0),
        "delay_ms": chance.uniform(0.0, 10.0),
        "zero_um": chance.normal(0.0, 2.0),
        "noise_um": chance.uniform(1.0, 8.0),
        "sensitivity": chance.uniform(0.8, 1.25),
        "screw_um": _DECLARED["screw.periodic_um"],
        "probe_um": 0.5,
    }


def distance(figure: Figure, truth_mm: float | None) -> dict[str, float]:
    assert truth_mm is not None
    assert figure.expanded_uncertainty is not None
    assert figure.coverage_factor is not None
    return {
        "error": 1000.0 * (figure.value - truth_mm),
        "expanded": 1000.0 * figure.expanded_uncertainty,
        "standard": 1000.0 * figure.expanded_uncertainty / figure.coverage_factor,
    }


def without_backlash(run: Run) -> Run:
    """Return the same edges, read as if there were no lost motion."""
    none = Backlash(
        value_mm=0.0,
        standard_uncertainty_mm=0.0,
        degrees_of_freedom=0.0,
        n=0,
        source=BacklashSource.NOT_MEASURED,
    )
    conditions = replace(run.header.conditions, backlash=none)
    return replace(run, header=replace(run.header, conditions=conditions))


def at_one_speed(run: Run) -> Run:
    """Return the edges of the fast sweeps alone: nothing to extrapolate with."""
    fast = tuple(s for s in run.sweeps if s.speed_mm_s == FAST_MM_S)
    return replace(run, sweeps=fast)


def measure(seed: int, store: Store) -> dict[str, object]:
    drawn = draw(seed)
    options = "&".join(f"{name}={value!r}" for name, value in drawn.items())
    settings = BenchSettings()
    rig = connect(f"sim://?seed={seed}&{options}", settings)
    declare_bench(
        store,
        rig.mover.traits.rig_id,
        BenchDeclaration(
            values=tuple(
                declared_value(key, value, ValueSource.CERTIFICATE)
                for key, value in _DECLARED.items()
            )
        ),
        author="",
        now=datetime.now(UTC),
        whole=True,
    )
    catalogue = load_catalogue()
    order = RunOrder(
        sensor=catalogue.sensor("level-18"),
        target=catalogue.target("steel"),
        sweeps=10,
        speeds_mm_s=(1.0, FAST_MM_S),
    )
    context = replace(
        RunContext.on(rig.mover, settings, store, lambda _: None),
        chance=random.Random(seed),
    )
    result = carry_out_run(context.touch_off(), order, context)
    run = context.reader.run(result.run.header.run_id)
    figures = run_figures(run)
    assert rig.simulation is not None
    truth = rig.simulation.truth()
    assert truth.observed_operate_mm is not None
    assert truth.observed_release_mm is not None
    travel_mm = truth.observed_release_mm - truth.observed_operate_mm
    return {
        **drawn,
        "seed": seed,
        "sweeps": len(run.sweeps),
        "operate": distance(figures.operate, truth.observed_operate_mm),
        "release": distance(figures.release, truth.observed_release_mm),
        "travel": distance(figures.differential_travel, travel_mm),
        "travel_without_backlash": distance(
            run_figures(without_backlash(run)).differential_travel, travel_mm
        ),
        "travel_at_one_speed": distance(
            run_figures(at_one_speed(run)).differential_travel, travel_mm
        ),
    }


def main(records: str, first: int, count: int) -> None:
    with open_records(records) as store:
        for seed in range(first, first + count):
            line = json.dumps(measure(seed, store)) + "\n"
            os.write(1, line.encode())


if __name__ == "__main__":
    main(sys.argv[1], int(sys.argv[2]), int(sys.argv[3]))
