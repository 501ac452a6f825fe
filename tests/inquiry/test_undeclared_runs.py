"""Runs from before benches were declared keep what they stated of probe and axis.

tests/records/kept/schema_5.sqlite was made by the software of its time: two runs on the
simulated rig, of six and of three sweeps.
"""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest

from rig.inquiry.recomputation import Recomputation
from rig.model.figures import Figure
from rig.records import Reader, Store, Writer, open_records

KEPT = Path(__file__).parents[1] / "records" / "kept" / "schema_5.sqlite"
NOON = datetime(2026, 11, 28, 12, tzinfo=UTC)
POINTS = ("operate", "release", "differential_travel", "differential_travel_percent")


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    path = tmp_path / "earlier.sqlite"
    shutil.copy(KEPT, path)
    with open_records(path) as opened:
        yield opened


def test_such_a_run_says_that_nothing_of_its_bench_was_kept(store: Store) -> None:
    runs = list(Reader(store).iter_runs())

    assert len(runs) == 2
    assert {run.header.conditions.bench for run in runs} == {None}
    assert Writer(store).bench_in_force(runs[0].header.conditions.rig_id).values == ()


def test_its_points_come_out_as_they_did_from_both_ways(store: Store) -> None:
    reader = Reader(store)
    ids = [run.run_id for run in reader.runs()]
    before = reader.latest_computations(ids)

    for _ in Recomputation(store, computed_at=NOON).of_all():
        pass
    together = Reader(store).latest_computations(ids)
    Recomputation(store, computed_at=NOON).of_runs(ids)
    alone = Reader(store).latest_computations(ids)

    for run_id in ids:
        for name in POINTS:
            old, new, own = (
                getattr(found[run_id].figures, name)
                for found in (before, together, alone)
            )
            assert new == own
            assert new.value == pytest.approx(old.value, abs=1e-12)
            if len(reader.run(run_id).sweeps) > 3:
                assert new.expanded_uncertainty == pytest.approx(
                    old.expanded_uncertainty, rel=1e-9
                )
            else:
                # Three sweeps leave too few degrees of freedom for one
                assert new.expanded_uncertainty is None
            assert lines(new) == lines(old)


def lines(figure: Figure) -> dict[str, float]:
    return {
        line.name: pytest.approx(abs(line.sensitivity * line.standard_uncertainty))
        for line in figure.budget
    }
