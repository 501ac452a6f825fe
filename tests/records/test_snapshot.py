"""A snapshot of the records: everything read from it is of one moment."""

from __future__ import annotations

from types import ModuleType

import pytest

from rig.errors import RecordsError
from rig.records import Reader, Store, Writer, open_records

ON_SERVER_TOO = True


@pytest.fixture
def run_id(writer: Writer, samples: ModuleType) -> str:
    header = samples.header()
    writer.begin_run(header)
    writer.add_sweep(header.run_id, samples.sweep(0))
    writer.end_run(header.run_id, ended_at=samples.NOON)
    writer.add_figures(header.run_id, samples.figures(7.9), computed_at=samples.NOON)
    found: str = header.run_id
    return found


def test_what_is_written_in_the_meantime_is_not_seen(
    store: Store, location: str, samples: ModuleType, run_id: str
) -> None:
    with store.snapshot() as moment:
        reader = Reader(moment)
        before = reader.latest_computations([run_id])[run_id]
        with open_records(location) as other:
            Writer(other).add_figures(
                run_id, samples.figures(8.1), computed_at=samples.NOON
            )
            Writer(other).begin_run(samples.header(7))
        after = reader.latest_computations([run_id])[run_id]
        runs = [run.header.run_id for run in reader.iter_runs(runs_at_once=1)]

    assert before == after
    assert after.figures.operate.value == 7.9
    assert runs == [run_id]


def test_the_records_themselves_go_on(
    store: Store, writer: Writer, samples: ModuleType, run_id: str
) -> None:
    with store.snapshot():
        writer.add_figures(run_id, samples.figures(8.1), computed_at=samples.NOON)

    assert Reader(store).latest_computations([run_id])[run_id].figures == (
        samples.figures(8.1)
    )


def test_a_snapshot_is_not_written(store: Store, samples: ModuleType) -> None:
    with store.snapshot() as moment, pytest.raises(RecordsError) as refused:
        Writer(moment).begin_run(samples.header())

    assert "snapshot" in str(refused.value)
