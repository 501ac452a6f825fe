"""Time to summarise 1,000 parts on 10 materials with 10 sweeps each; run by hand.

python tests/benchmarks/summarise_batch.py
"""

from __future__ import annotations

import sys
import time

import numpy as np

from rig.analysis.budget import Knowns
from rig.analysis.quantities import run_quantities
from rig.analysis.sweep_table import summarise_sweeps, table_of_sweeps
from rig.analysis.verdict import Limits

KNOWNS = Knowns(
    steps_per_mm=1600.0,
    axis_mm=0.002,
    datum_steps=80_000.0,
    datum_mm=0.001,
    datum_dof=4.0,
    probe_mm=0.002,
    backlash_mm=0.0,
    backlash_uncertainty_mm=0.001,
    backlash_dof=4.0,
)
SPEEDS_MM_S = np.array([1.0, 2.0] * 5)


def main() -> None:
    """Print the seconds of the first call and of the best of five."""
    rng = np.random.default_rng(1)
    parts = [f"part {i}" for i in range(1000)]
    materials = [f"material {i}" for i in range(10)]
    centres = 8.0 / (1.0 + np.arange(10.0)) + rng.normal(0.0, 0.05, (1000, 1))
    gaps = centres[:, :, np.newaxis] + rng.normal(0.0, 0.003, (1000, 10, 10))
    operate_steps = np.rint(80_000.0 - 1600.0 * gaps)
    release_steps = operate_steps - 320.0
    limits = {
        name: Limits(lower=0.9 * at, upper=1.1 * at, unit="mm", source="benchmark")
        for name, at in zip(materials, centres.mean(axis=0), strict=True)
    }
    from_edges, from_points = [], []
    for _ in range(6):
        begin = time.perf_counter()
        quantities = run_quantities(operate_steps, release_steps, SPEEDS_MM_S, KNOWNS)
        middle = time.perf_counter()
        table = table_of_sweeps(
            parts,
            materials,
            quantities.operate_at_rest,
            standard=materials[0],
            shared_mm=0.002,
        )
        summaries = summarise_sweeps(table, limits=limits)
        end = time.perf_counter()
        from_edges.append(end - begin)
        from_points.append(end - middle)
    for words, seconds in (
        ("from latched steps", from_edges),
        ("from operate points", from_points),
    ):
        sys.stdout.write(
            f"{len(summaries)} materials, {summaries[0].n} parts, {table.n} sweeps"
            f" {words}: first {seconds[0]:.3f} s, best {min(seconds[1:]):.3f} s\n"
        )


if __name__ == "__main__":
    main()
