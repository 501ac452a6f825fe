"""One way to recompute one file of records, in a process of its own; prints JSON.

A process of its own, so that its peak of memory is that of this way alone.
"""

from __future__ import annotations

# ruff: noqa: T201 -- the parent reads the result from standard output
import json
import resource
import sys
import time
from collections.abc import Callable

import numpy as np

from rig.analysis.edges.budget import Knowns
from rig.analysis.run.many_runs import ManyRuns, many_quantities
from rig.analysis.run.quantities import Quantity, RunQuantities, run_quantities
from rig.records import open_records
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
FIGURES = (
    "operate",
    "release",
    "differential_travel",
    "differential_travel_percent",
    "bias_operate",
    "bias_release",
    "threshold_operate",
    "threshold_release",
    "response_time_operate",
    "response_time_release",
)


def figures_of(quantities: RunQuantities) -> float:
    """Work out every figure's expanded uncertainty too; a sum, to compare ways by."""
    total = 0.0
    for name in FIGURES:
        quantity: Quantity = getattr(quantities, name)
        total += float(np.sum(quantity.value))
        total += float(np.sum(quantity.expanded().expanded_uncertainty))
    return total


def many_of(block: EdgeBlock) -> ManyRuns:
    """Hand a page of the records over to the analysis."""
    return ManyRuns(
        sweeps=block.sweeps,
        speed_mm_s=block.speed_mm_s,
        operate_steps=block.operate_steps,
        release_steps=block.release_steps,
        knowns=Knowns(**{name: getattr(block, name) for name in KNOWNS}),
        switching_frequency_hz=block.switching_frequency_hz,
    )


def in_bulk(path: str) -> dict[str, float]:
    """Read pages of arrays and work runs out together."""
    total = reading = 0.0
    with open_records(path, read_only=True) as store:
        began = time.process_time()
        for block in edge_blocks(store):
            reading += time.process_time() - began
            for together in many_quantities(many_of(block)):
                total += figures_of(together.quantities)
            began = time.process_time()
        reading += time.process_time() - began
    return {"total": total, "reading_s": reading}


def by_pandas(path: str) -> dict[str, float]:
    """Put all sweeps into one frame and apply the same formulas to each group."""
    import pandas as pd

    began = time.process_time()
    with open_records(path, read_only=True) as store:
        blocks = list(edge_blocks(store))
    parts = []
    for block in blocks:
        columns = {"run": np.repeat(block.run_ids, block.sweeps)}
        columns |= {
            name: getattr(block, name)
            for name in ("speed_mm_s", "operate_steps", "release_steps")
        }
        columns |= {
            name: np.repeat(getattr(block, name), block.sweeps) for name in KNOWNS
        }
        parts.append(pd.DataFrame(columns))
    frame = pd.concat(parts, ignore_index=True)
    reading = time.process_time() - began

    def one_run(group: pd.DataFrame) -> float:
        knowns = Knowns(**{name: float(group[name].iloc[0]) for name in KNOWNS})
        return figures_of(
            run_quantities(
                group["operate_steps"].to_numpy(),
                group["release_steps"].to_numpy(),
                group["speed_mm_s"].to_numpy(),
                knowns,
            )
        )

    used = [name for name in frame.columns if name != "run"]
    total = float(frame.groupby("run", sort=False)[used].apply(one_run).sum())
    return {"total": total, "reading_s": reading}


def by_pandas_briefly(path: str) -> dict[str, float]:
    """Apply the least that can be called figures: three lines over speed a group."""
    import pandas as pd
    from scipy.special import stdtrit

    began = time.process_time()
    with open_records(path, read_only=True) as store:
        blocks = list(edge_blocks(store))
    frame = pd.concat(
        [
            pd.DataFrame(
                {
                    "run": np.repeat(block.run_ids, block.sweeps),
                    "speed": block.speed_mm_s,
                    "operate": -block.operate_steps / 1600.0,
                    "release": -block.release_steps / 1600.0,
                }
            )
            for block in blocks
        ],
        ignore_index=True,
    )
    reading = time.process_time() - began

    def one_run(group: pd.DataFrame) -> float:
        total = 0.0
        v = group["speed"].to_numpy()
        for points in (
            group["operate"].to_numpy(),
            group["release"].to_numpy(),
            (group["release"] - group["operate"]).to_numpy(),
        ):
            (slope, at_rest), *_ = np.linalg.lstsq(
                np.column_stack([v, np.ones_like(v)]), points, rcond=None
            )
            sd = np.std(points - at_rest - slope * v, ddof=2)
            total += at_rest + stdtrit(v.size - 2, 0.975) * sd / np.sqrt(v.size)
        return total

    used = ["speed", "operate", "release"]
    total = float(frame.groupby("run", sort=False)[used].apply(one_run).sum())
    return {"total": total, "reading_s": reading}


def bytes_alone(path: str) -> dict[str, float]:
    """Read the file and do nothing with it."""
    size = 0
    with open(path, "rb", buffering=0) as file:
        while part := file.read(1 << 20):
            size += len(part)
    return {"total": float(size), "reading_s": 0.0}


WAYS: dict[str, Callable[[str], dict[str, float]]] = {
    "bulk": in_bulk,
    "pandas": by_pandas,
    "pandas-brief": by_pandas_briefly,
    "bytes": bytes_alone,
}


def main(way: str, path: str) -> None:
    """Carry one way out and print what it took."""
    # The table of the noise bias is worked out once a process, whatever the size
    run_quantities([0.0, 1.0], [0.0, 1.0], [1.0, 1.0], _nothing())
    base = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    wall, processor = time.perf_counter(), time.process_time()
    found = WAYS[way](path)
    found |= {
        "wall_s": time.perf_counter() - wall,
        "processor_s": time.process_time() - processor,
        "grown_mb": (resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - base) / 1024,
    }
    print(json.dumps(found))


def _nothing() -> Knowns:
    zeros = dict.fromkeys(KNOWNS, 1.0)
    return Knowns(**zeros)


if __name__ == "__main__":
    main(sys.argv[1], sys.argv[2])
