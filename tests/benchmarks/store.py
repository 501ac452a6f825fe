"""Sweeps a second written with a commit each, and rows a second exported."""

from __future__ import annotations

import random
import tempfile
import time
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

from rig.catalogue.catalogue import load_catalogue
from rig.inquiry.judged_rows import WORKED_OUT
from rig.model.settings import BenchSettings
from rig.model.sweeps import Run
from rig.procedures.carry_out_run import carry_out_run
from rig.procedures.run_context import RunContext
from rig.procedures.run_order import RunOrder
from rig.records import Reader, Writer, open_records
from rig.records.entries import make_run_id
from rig.records.export import ExportFormat, ExportTable, export_table
from rig.wiring import connect
from tests.benchmarks.registry import Cell, Claim, Report, Table, benchmark

_SIZES = (100, 1_000, 10_000)  # sweeps
_SWEEPS_PER_RUN = 10


def _one_run(folder: Path) -> Run:
    """Return a real run of the simulated rig, to be written again and again."""
    settings, catalogue = BenchSettings(), load_catalogue()
    rig = connect("sim://?seed=1", settings)
    order = RunOrder(
        sensor=catalogue.sensor("level-18"),
        target=catalogue.target("steel"),
        sweeps=_SWEEPS_PER_RUN,
        speeds_mm_s=(1.0, 4.0),
    )
    with open_records(folder / "one.sqlite") as store:
        context = RunContext.on(rig.mover, settings, store, lambda _: None)
        return carry_out_run(context.touch_off(), order, context).run


def _written(path: Path, run: Run, sweeps: int) -> float:
    """Write so many sweeps with a commit each; return them by second on the clock."""
    ids = random.Random(sweeps)
    with open_records(path) as store:
        writer = Writer(store)
        began_s = time.perf_counter()
        for number in range(sweeps // _SWEEPS_PER_RUN):
            started_at = run.header.started_at + timedelta(seconds=number)
            run_id = make_run_id(started_at, ids)
            writer.begin_run(replace(run.header, run_id=run_id))
            for sweep in run.sweeps:
                writer.add_sweep(run_id, sweep)
            writer.end_run(run_id, ended_at=run.header.started_at, home_shift_steps=0)
        return sweeps / (time.perf_counter() - began_s)


def _exported(records: Path, folder: Path, file_format: ExportFormat) -> float:
    """Export all edges; return rows by second on the clock."""
    with open_records(records, read_only=True) as store:
        began_s = time.perf_counter()
        rows = export_table(
            Reader(store),
            ExportTable.EDGES,
            folder / f"edges.{file_format}",
            file_format=file_format,
            worked_out=WORKED_OUT,
        )
        return rows / (time.perf_counter() - began_s)


@benchmark("records", "sweeps written with a commit each, rows exported")
def measure() -> Report:
    """Write and export records of three sizes."""
    rows: list[tuple[Cell, ...]] = []
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        run = _one_run(folder)
        for sweeps in _SIZES:
            records = folder / f"{sweeps}.sqlite"
            written = _written(records, run, sweeps)
            exported = [_exported(records, folder, kind) for kind in ExportFormat]
            rows.append((sweeps, written, *exported))
    writing = [float(row[1] or 0.0) for row in rows]
    ratio = max(writing) / min(writing)
    return Report(
        tables=(
            Table(
                title="records on disk, synchronous = FULL",
                columns=(
                    "sweeps",
                    "written a second",
                    *(f"edges a second to {kind}" for kind in ExportFormat),
                ),
                rows=rows,
            ),
        ),
        claims=(
            Claim(
                claim="cost of writing a sweep within a factor 2 over two decades",
                measured=f"{ratio:.2f}",
                met=ratio < 2.0,
            ),
        ),
        notes=("By the clock on the wall: the disk is what a commit waits for.",),
    )
