"""`gapsweep recompute` of up to 1,000,000 sweeps, writing included, as a process."""

from __future__ import annotations

import sqlite3
import tempfile
from contextlib import closing
from pathlib import Path

from tests.benchmarks._stored_runs import SWEEPS_PER_RUN, fill
from tests.benchmarks._whole_process import COMMAND, Taken, taken
from tests.benchmarks.registry import Claim, Comparison, Report, Table, benchmark

SIZES = (10_000, 100_000, 1_000_000)  # sweeps
LIMIT_S = 10.0
TIMES_QUICKER = 20.0
# Costs are linear if ten times the sweeps take ten times as long, within this factor
LINEAR_WITHIN = 1.25
_MEMORY_MB = 20.0  # growth over the last decade that a page's worth of chance allows

# The same without pages of arrays; each run is read and worked out by itself
_ONE_AT_A_TIME = """
import sys
from datetime import UTC, datetime
from rig.inquiry.recomputation import Recomputation
from rig.records import Reader, open_records
with open_records(sys.argv[1]) as store:
    ids = [run.run_id for run in Reader(store).runs()]
    Recomputation(store, computed_at=datetime.now(UTC)).of_runs(ids)
"""
# As somebody would who has the records and a library for tables: mean, scatter and
# delay of each run, without a budget, a verdict or a noise-free threshold
_BY_TABLES = """
import json, sqlite3, sys
import numpy as np
import pandas as pd
found = []
with sqlite3.connect(sys.argv[1]) as database:
    runs = pd.read_sql("SELECT run_id, conditions FROM runs", database)
    for run_id, text in runs.itertuples(index=False):
        known = json.loads(text)
        edges = pd.read_sql(
            "SELECT sweep_index, approaching, position_steps, speed_mm_s FROM edges"
            " JOIN sweeps USING (run_id, sweep_index) WHERE run_id = ?",
            database,
            params=(run_id,),
        )
        away = known["datum"]["position_steps"] - edges["position_steps"]
        edges["gap_mm"] = away / known["axis"]["steps_per_mm"]
        wide = edges.pivot(index="sweep_index", columns="approaching", values="gap_mm")
        speeds = edges.groupby("sweep_index")["speed_mm_s"].first()
        slopes = [np.polyfit(speeds, wide[way], 1) for way in wide]
        found.append((run_id, wide.mean(), wide.std(), wide.sem(), slopes))
pd.DataFrame(found).to_csv(sys.argv[1] + ".csv")
"""


def _computed(path: Path) -> int:
    with closing(sqlite3.connect(path)) as database:
        (found,) = database.execute("SELECT count(*) FROM figure_numbers").fetchone()
    return int(found)


@benchmark("recompute", "figures of 1,000,000 sweeps from raw edges, on record again")
def recompute() -> Report:
    """Run the command over three sizes, each in a process of its own."""
    by_command: dict[int, Taken] = {}
    written = 0
    with tempfile.TemporaryDirectory() as folder:
        for sweeps in SIZES:
            path = Path(folder) / f"{sweeps}.sqlite"
            fill(path, sweeps // SWEEPS_PER_RUN)
            by_command[sweeps] = taken(COMMAND, "recompute", "--records", str(path))
            written = _computed(path)
        smallest = str(Path(folder) / f"{SIZES[0]}.sqlite")
        alone = taken(_ONE_AT_A_TIME, smallest)
        by_tables = taken(_BY_TABLES, smallest)
    rows = [("command", size, one) for size, one in by_command.items()]
    rows.append(("one run at a time", SIZES[0], alone))
    rows.append(("each run with pandas", SIZES[0], by_tables))
    return Report(
        tables=(
            Table(
                title="From raw edges to figures on record",
                columns=(
                    "way",
                    "sweeps",
                    "wall s",
                    "processor s",
                    "us a sweep",
                    "peak of memory MB",
                ),
                rows=[
                    (
                        way,
                        size,
                        one.wall_s,
                        one.processor_s,
                        1e6 * one.processor_s / size,
                        one.memory_mb,
                    )
                    for way, size, one in rows
                ],
            ),
        ),
        claims=_claims(by_command, alone, written),
        comparisons=(
            Comparison(
                what=f"a sweep of {SIZES[-1]:,} to figures on record, start included",
                beside="mean, scatter and delay of each run with pandas, no budget",
                ratio=by_command[SIZES[-1]].processor_s
                / SIZES[-1]
                / (by_tables.processor_s / SIZES[0]),
            ),
        ),
        notes=(
            f"Runs of {SWEEPS_PER_RUN} sweeps. The command as a process, its start"
            " included; what it prints goes nowhere. Other work on the machine"
            " lengthens the wall time and, where cores share parts, the processor's."
            " The largest is worked out in several processes.",
        ),
    )


def _claims(
    by_command: dict[int, Taken], alone: Taken, written: int
) -> tuple[Claim, ...]:
    small, middle, large = (by_command[size] for size in SIZES)
    # What the start costs is taken off by the difference of two sizes
    first = (middle.wall_s - small.wall_s) / (SIZES[1] - SIZES[0])
    second = (large.wall_s - middle.wall_s) / (SIZES[2] - SIZES[1])
    growth = large.memory_mb - middle.memory_mb
    quicker = alone.processor_s / SIZES[0] / (large.processor_s / SIZES[-1])
    return (
        Claim(
            claim=f"{SIZES[-1]:,} sweeps in under {LIMIT_S:g} s by the command",
            measured=f"{large.wall_s:.2f} s, {large.processor_s:.2f} s of processor",
            met=large.wall_s < LIMIT_S,
        ),
        Claim(
            claim="figures of every run are on record",
            measured=f"{written:,} runs",
            met=written == SIZES[-1] // SWEEPS_PER_RUN,
        ),
        Claim(
            claim="memory does not grow with the records",
            measured=f"{growth:+.1f} MB from {SIZES[1]:,} to {SIZES[2]:,} sweeps",
            met=growth <= _MEMORY_MB,
        ),
        Claim(
            claim="time at most linear over two decades",
            measured=f"a further sweep takes {second / first:.2f} times as long",
            met=second / first <= LINEAR_WITHIN,
        ),
        Claim(
            claim=f"{TIMES_QUICKER:g} times quicker a sweep than one run at a time",
            measured=f"{quicker:.0f} times, starts included",
            met=quicker >= TIMES_QUICKER,
        ),
    )
