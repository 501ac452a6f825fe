"""Time to summarise 1,000 parts on 10 materials with 10 sweeps each; run by hand.

python tests/benchmarks/summarise_batch.py
"""

from __future__ import annotations

import sys
import time

import numpy as np

from rig.analysis.sweep_table import summarise_sweeps, table_of_sweeps
from rig.analysis.verdict import Limits


def main() -> None:
    """Print the seconds of the first call and of the best of five."""
    rng = np.random.default_rng(1)
    parts = [f"part {i}" for i in range(1000)]
    materials = [f"material {i}" for i in range(10)]
    centres = 8.0 / (1.0 + np.arange(10.0)) + rng.normal(0.0, 0.05, (1000, 1))
    operate_mm = centres[:, :, np.newaxis] + rng.normal(0.0, 0.003, (1000, 10, 10))
    limits = {
        name: Limits(lower=0.9 * at, upper=1.1 * at, unit="mm", source="benchmark")
        for name, at in zip(materials, centres.mean(axis=0), strict=True)
    }
    seconds = []
    for _ in range(6):
        begin = time.perf_counter()
        table = table_of_sweeps(
            parts, materials, operate_mm, standard=materials[0], shared_mm=0.002
        )
        summaries = summarise_sweeps(table, limits=limits)
        seconds.append(time.perf_counter() - begin)
    sys.stdout.write(
        f"{len(summaries)} materials, {summaries[0].n} parts, {table.n} sweeps:"
        f" first {seconds[0]:.3f} s, best of five {min(seconds[1:]):.3f} s\n"
    )


if __name__ == "__main__":
    main()
