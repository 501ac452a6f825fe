"""A bench hands in to a server: everything, once, in order, whatever dies meanwhile."""

from __future__ import annotations

import shutil
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path
from types import ModuleType

import pytest

from rig.errors import RecordsError
from rig.inquiry.handing_in import hand_in_records, hand_in_state
from rig.inquiry.verification import verify_records
from rig.records import PlanState, Reader, Store, Writer, open_records
from rig.records.attempt_book import AttemptBook
from rig.records.bench_rights import admit, bench_location
from rig.records.hand_in import hand_in
from rig.records.place_checks import PlaceCheckBook
from rig.records.schema import metadata
from tests.database_server import DatabaseServer
from tests.records.full_records import enter_what_people_enter

# PINs stay on the bench; the version is the server's own
NOT_HANDED_IN = {"operator_pins", "pin_trials", "records_schema"}
KEPT = Path(__file__).parent / "kept"


@pytest.fixture(scope="module")
def admitted(database_server: DatabaseServer) -> str:
    name = database_server.new_database()
    admit(database_server.url(name), "north-3")
    return name


@pytest.fixture
def url(database_server: DatabaseServer, admitted: str) -> str:
    """A server that admitted one bench, which handed in nothing yet."""
    return database_server.url(database_server.new_database(admitted))


@pytest.fixture
def server(url: str) -> Iterator[Store]:
    location = bench_location(url, "north-3")
    with open_records(location, create=False, handing_in=True) as server:
        yield server


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[Store]:
    with open_records(tmp_path / "bench.sqlite") as bench:
        yield bench


def measure(store: Store, number: int, samples: ModuleType, *, sweeps: int = 3) -> str:
    """Put a whole run on record, with its attempt and figures."""
    writer, header = Writer(store), samples.header(number)
    attempt = samples.attempt(number)
    AttemptBook(store).begin(attempt)
    writer.begin_run(header)
    for index in range(sweeps):
        writer.add_sweep(header.run_id, samples.sweep(index))
    writer.end_run(header.run_id, ended_at=samples.NOON, home_shift_steps=0)
    writer.add_figures(header.run_id, samples.figures(), computed_at=samples.NOON)
    AttemptBook(store).end(attempt, samples.ATTEMPT_END)
    return str(header.run_id)


def rows(store: Store) -> dict[str, list[str]]:
    with store.reading() as connection:
        return {
            table.name: sorted(
                repr(tuple(row)) for row in connection.execute(table.select())
            )
            for table in metadata.sorted_tables
            if table.name not in NOT_HANDED_IN
        }


def test_every_row_of_every_table_is_there_value_for_value(
    bench: Store, server: Store, samples: ModuleType
) -> None:
    run_id = measure(bench, 0, samples)
    enter_what_people_enter(bench, run_id, samples)
    PlaceCheckBook(bench).add(samples.place_check([run_id]))

    hand_in(bench, server)

    there, here = rows(server), rows(bench)
    assert there == here
    assert verify_records(server) == verify_records(bench)
    assert verify_records(server).intact
    # Nothing is in these here; kept files of earlier versions have some of it
    empty = {name for name, found in here.items() if not found}
    assert empty <= {
        "figures",
        "run_conditions",
        "datum_checks",
        "hand_readings",
        "rigs",
        "lot_decisions",
        "switching_states",
        "product_approvals",
    }


@pytest.mark.parametrize("version", ["schema_4", "schema_10", "schema_13"])
def test_what_earlier_versions_put_on_record_is_handed_in_too(
    server: Store, tmp_path: Path, version: str
) -> None:
    path = tmp_path / "earlier.sqlite"
    shutil.copy(KEPT / f"{version}.sqlite", path)
    with open_records(path) as bench:
        hand_in(bench, server)

        assert rows(server) == rows(bench)
        assert verify_records(server) == verify_records(bench)


def test_what_was_handed_in_is_not_handed_in_again(
    bench: Store, server: Store, samples: ModuleType
) -> None:
    measure(bench, 0, samples)
    first = hand_in(bench, server)
    before = rows(server)

    second = hand_in(bench, server)

    assert (first.links, second.links) == (first.last, 0)
    assert rows(server) == before


def test_a_run_is_handed_in_piece_by_piece_while_it_goes_on(
    bench: Store, server: Store, samples: ModuleType
) -> None:
    writer, header, plan = Writer(bench), samples.header(), samples.plan()
    steps: list[Callable[[], object]] = [
        lambda: writer.begin_plan(plan),
        lambda: writer.begin_run(header),
        lambda: writer.add_conditions(header.run_id, 1, samples.conditions()),
        *(
            lambda index=index: writer.add_sweep(header.run_id, samples.sweep(index))
            for index in range(3)
        ),
        lambda: writer.end_run(header.run_id, ended_at=samples.NOON, void="slipped"),
        lambda: writer.set_plan_state(plan.plan_id, PlanState.DONE),
    ]

    for step in steps:
        step()
        hand_in(bench, server)
        assert rows(server) == rows(bench)

    assert verify_records(server).intact


def test_two_at_once_hand_in_once(
    bench: Store, server: Store, url: str, samples: ModuleType
) -> None:
    measure(bench, 0, samples)
    location = bench_location(url, "north-3")
    with open_records(location, create=False, handing_in=True) as other:
        # The second comes while the first is about to say that it is done
        hand_in(bench, server, after_part=lambda *_: hand_in(bench, other))

    assert rows(server) == rows(bench)


def test_a_server_that_dies_has_a_part_as_a_whole_or_not_at_all(
    database_server: DatabaseServer,
    bench: Store,
    server: Store,
    samples: ModuleType,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr("rig.records.hand_in._LINKS_AT_ONCE", 4)
    for number in range(3):
        measure(bench, number, samples)
    parts: list[int] = []

    def die(done: int, _last: int) -> None:
        parts.append(done)
        if len(parts) == 2:
            database_server.kill()

    with pytest.raises(RecordsError) as caught:
        hand_in(bench, server, after_part=die)
    database_server.start()
    with server.reading() as connection:
        count = connection.exec_driver_sql("SELECT count(*) FROM chain").scalar_one()
    second = hand_in(bench, server)

    assert caught.value.exit_status == 4
    assert count == parts[-1] == 8
    assert second.links == second.last - 8
    assert rows(server) == rows(bench)
    assert verify_records(server).intact


def test_records_of_another_bench_are_refused_under_its_name(
    bench: Store, server: Store, tmp_path: Path, samples: ModuleType
) -> None:
    measure(bench, 0, samples)
    hand_in(bench, server)
    before = rows(server)
    with open_records(tmp_path / "other.sqlite") as other:
        for number in (1, 2):
            measure(other, number, samples)

        with pytest.raises(RecordsError, match="not the beginning of the records"):
            hand_in(other, server)

    assert rows(server) == before


def test_a_copy_from_before_is_refused_and_said_to_be_one(
    bench: Store, url: str, tmp_path: Path, samples: ModuleType
) -> None:
    from rig.records.backup import back_up

    measure(bench, 0, samples)
    copy = tmp_path / "copy.sqlite"
    back_up(bench, copy)
    measure(bench, 1, samples)
    hand_in_records(bench, server=url, bench="north-3", now=lambda: samples.NOON)

    with (
        open_records(copy) as earlier,
        pytest.raises(RecordsError, match="older than what was handed in"),
    ):
        hand_in_records(earlier, server=url, bench="north-3", now=lambda: samples.NOON)


@pytest.mark.parametrize(
    "change",
    [
        "UPDATE edges SET position_steps = position_steps + 1 WHERE ordinal = 0",
        "UPDATE runs SET part = 'another'",
        "UPDATE runs SET void = 'second thoughts'",
        "DELETE FROM outcomes",
    ],
)
def test_what_was_altered_on_the_bench_is_not_handed_in(
    bench: Store, server: Store, samples: ModuleType, change: str
) -> None:
    measure(bench, 0, samples)
    with closing(sqlite3.connect(bench.where, isolation_level=None)) as tool:
        guards = tool.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'")
        for (name,) in guards.fetchall():
            tool.execute(f"DROP TRIGGER {name}")
        assert tool.execute(change).rowcount

    with pytest.raises(RecordsError, match="not as they were written"):
        hand_in(bench, server)

    assert not any(rows(server).values())


def test_what_waits_is_known_without_the_server(
    database_server: DatabaseServer,
    bench: Store,
    url: str,
    samples: ModuleType,
) -> None:
    measure(bench, 0, samples)
    assert hand_in_state(bench).runs_waiting == 1
    handed = hand_in_records(
        bench, server=url, bench="north-3", now=lambda: samples.NOON
    )
    for number in (1, 2):
        measure(bench, number, samples)

    state = hand_in_state(bench)

    assert (handed.runs_waiting, handed.links_waiting) == (0, 0)
    assert state.bench == "north-3"
    assert state.runs_waiting == 2
    assert state.links_waiting == 2 * handed.last_link
    # Where and as whom is noted: the second time nobody has to say it
    again = hand_in_records(bench, server="", bench="", now=lambda: samples.NOON)
    assert again.links_handed_in == state.links_waiting
    with open_records(again.server, create=False) as there:
        assert len(Reader(there).runs()) == 3


def test_the_note_beside_the_records_has_no_password(
    database_server: DatabaseServer, bench: Store, url: str, samples: ModuleType
) -> None:
    measure(bench, 0, samples)
    with_password = url.replace("owner@", "owner:open-sesame@")

    state = hand_in_records(
        bench, server=with_password, bench="north-3", now=lambda: samples.NOON
    )

    note = Path(f"{bench.where}-server.json")
    assert "open-sesame" not in note.read_text() + state.server
    note.write_text(note.read_text()[:20])
    with pytest.raises(RecordsError, match="is damaged"):
        hand_in_state(bench)
