"""Many benches measure and hand in at once while their server is killed.

Each bench writes into a file of its own and hands in again and again; a server that is
away is no reason to wait. At the end what was handed in is held against the files.
"""

from __future__ import annotations

import threading
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

from rig.errors import RecordsError
from rig.inquiry.handing_in import hand_in_records
from rig.inquiry.verification import verify_records
from rig.records import Store, Writer, open_records
from rig.records.bench_rights import admit, bench_location
from rig.records.schema import metadata
from tests import builders
from tests.builders import NOON
from tests.database_server import DatabaseServer
from tests.patience import PATIENCE_S

_NOT_HANDED_IN = {"operator_pins", "pin_trials", "records_schema"}
_SWEEPS_PER_RUN = 50


@dataclass(frozen=True, slots=True, kw_only=True)
class HandingInTally:
    """What came of it.

    Attributes:
        benches: Number of benches.
        written: Sweeps that the benches have on record.
        kills: How often the server was killed.
        failed: How often a bench could not hand in for that.
        there: Sweeps on the server, by whatever row.
        distinct: Different sweeps on the server.
        lost: Rows of any table that a bench has and the server has not.
        doubled: Rows of any table that the server has more often than the bench.
        again: Links that were handed in when every bench did so once more, twice.
        intact: Benches whose chain is whole on the server.
    """

    benches: int
    written: int
    kills: int
    failed: int
    there: int
    distinct: int
    lost: int
    doubled: int
    again: int
    intact: int


def hand_in_through_kills(
    server: DatabaseServer, folder: Path, *, benches: int, sweeps: int, kills: int
) -> HandingInTally:
    """Let benches write and hand in, and kill the server as they do.

    Args:
        server: A server that runs.
        folder: Where the records of the benches go.
        benches: How many write at once.
        sweeps: How many sweeps each writes; a multiple of 50.
        kills: How often the server is killed, spread over the sweeps.
    """
    database = server.new_database()
    names = [f"bench-{number}" for number in range(benches)]
    for name in names:
        admit(server.url(database), name)
    stores = [open_records(folder / f"{name}.sqlite") for name in names]
    written, failed = _Counter(), _Counter()
    all_written = threading.Event()

    def write(number: int) -> None:
        for run in range(sweeps // _SWEEPS_PER_RUN):
            _write_run(stores[number], number, run, written)

    def hand_in(number: int) -> int:
        found = hand_in_records(
            stores[number],
            server=server.url(database),
            bench=names[number],
            now=lambda: NOON,
        )
        return found.links_handed_in or 0

    def hand_in_all_along(number: int) -> None:
        while not all_written.is_set():
            try:
                hand_in(number)
            except RecordsError:
                failed.add()
                # The first of these is the next kill or the end of writing
                all_written.wait(0.05)

    killed, total = 0, benches * sweeps
    with ThreadPoolExecutor(2 * benches) as threads:
        writing = [threads.submit(write, number) for number in range(benches)]
        handing = [
            threads.submit(hand_in_all_along, number) for number in range(benches)
        ]
        for kill in range(kills):
            written.wait_for(total * (kill + 1) // (kills + 1))
            server.kill()
            killed += 1
            # Offline for as long as the next sweeps take, and a try to hand in
            written.wait_for(min(total, written.count + total // (8 * (kills + 1))))
            failed.wait_for(failed.count + 1)
            server.start()
        for one in writing:
            one.result()
        all_written.set()
        for one in handing:
            one.result()
    for number in range(benches):
        hand_in(number)
    again = sum(hand_in(number) for _ in range(2) for number in range(benches))
    locations = [bench_location(server.url(database), name) for name in names]
    found = _held_against(stores, locations)
    for store in stores:
        store.close()
    return HandingInTally(
        benches=benches,
        written=written.count,
        kills=killed,
        failed=failed.count,
        again=again,
        **found,
    )


class _Counter:
    """Counts from many threads, and lets one wait for a count."""

    def __init__(self) -> None:
        self.count = 0
        self._changed = threading.Condition()

    def add(self) -> None:
        with self._changed:
            self.count += 1
            self._changed.notify_all()

    def wait_for(self, count: int) -> None:
        with self._changed:
            come = self._changed.wait_for(lambda: self.count >= count, PATIENCE_S)
        assert come, f"{self.count} of {count} came"


def _write_run(store: Store, bench: int, run: int, written: _Counter) -> None:
    writer = Writer(store)
    started_at = NOON + timedelta(minutes=run)
    run_id = f"20261125-{run:06d}-{bench:03d}-00aa"
    writer.begin_run(builders.header(run_id=run_id, started_at=started_at))
    for index in range(_SWEEPS_PER_RUN):
        edges = [
            builders.edge(
                1000 * index + place, level=approaching, approaching=approaching
            )
            for place, approaching in enumerate((True, False))
        ]
        writer.add_sweep(run_id, builders.sweep(index, edges))
        written.add()
    writer.end_run(run_id, ended_at=datetime.now(UTC))


def _held_against(stores: list[Store], locations: list[str]) -> dict[str, int]:
    """Return what the server has beside what the benches have, row by row."""
    found = dict.fromkeys(("there", "distinct", "lost", "doubled", "intact"), 0)
    for store, location in zip(stores, locations, strict=True):
        with open_records(location, create=False) as there:
            for table in metadata.sorted_tables:
                if table.name in _NOT_HANDED_IN:
                    continue
                here, handed_in = _rows(store, table.name), _rows(there, table.name)
                found["lost"] += len(set(here) - set(handed_in))
                found["doubled"] += len(handed_in) - len(set(handed_in))
                found["doubled"] += len(set(handed_in) - set(here))
                if table.name == "sweeps":
                    found["there"] += len(handed_in)
                    found["distinct"] += len(set(handed_in))
            found["intact"] += verify_records(there).intact
    return found


def _rows(store: Store, table: str) -> list[str]:
    with store.reading() as connection:
        query = metadata.tables[table].select()
        return [repr(tuple(row)) for row in connection.execute(query)]
