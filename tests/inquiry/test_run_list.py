"""The list of runs decides as the runs themselves, however long it is."""

from __future__ import annotations

import shutil
from datetime import UTC, datetime
from pathlib import Path

import pytest

from rig.analysis.limits.verdict import GUARDED
from rig.analysis.standard.run_against_standard import standard_of_run
from rig.inquiry import run_list as run_list_module
from rig.inquiry.part_verdict import DELAY
from rig.inquiry.recomputation import Recomputation
from rig.inquiry.run_list import run_list, run_rows
from rig.records import Reader, RunFilter, Store, open_records
from tests.benchmarks._stored_runs import fill

KEPT = Path(__file__).parents[1] / "records" / "kept" / "schema_7.sqlite"
RUNS = 7


def recomputed(store: Store) -> None:
    ids = [run.run_id for run in Reader(store).runs()]
    Recomputation(store, computed_at=datetime(2026, 11, 26, tzinfo=UTC)).of_runs(ids)


def decided_one_by_one(store: Store) -> dict[str, dict[str, str]]:
    reader = Reader(store)
    latest = reader.latest_computations([run.run_id for run in reader.runs()])
    found = {}
    for run_id, computation in latest.items():
        standard = standard_of_run(reader.run(run_id), computation.figures, GUARDED)
        verdicts = dict(standard.verdicts)
        if standard.delay is not None:
            verdicts[DELAY] = standard.delay
        found[run_id] = {symbol: one.decision for symbol, one in verdicts.items()}
    return found


@pytest.mark.long
def test_the_list_decides_as_the_verdicts_of_each_run(tmp_path: Path) -> None:
    path = tmp_path / "records.sqlite"
    shutil.copy(KEPT, path)
    with open_records(path) as store:
        recomputed(store)

        listed = {row.run_id: row.verdicts for row in run_rows(store, RunFilter())}

        one_by_one = decided_one_by_one(store)
    assert {run_id: listed[run_id] for run_id in one_by_one} == one_by_one
    assert any(one_by_one.values())
    assert any(DELAY in decisions for decisions in one_by_one.values())


def test_a_long_list_is_worked_out_by_pages_and_is_whole(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    fill(tmp_path / "records.sqlite", RUNS)
    with open_records(tmp_path / "records.sqlite") as store:
        recomputed(store)
        at_once = run_list(store, RunFilter())
        monkeypatch.setattr(run_list_module, "_ROWS_AT_ONCE", 3)

        by_pages = run_list(store, RunFilter())

    assert by_pages == at_once
    assert len(by_pages.runs) == RUNS
    assert all(row.operate_mm is not None for row in by_pages.runs)
