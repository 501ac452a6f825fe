"""Records of earlier versions, made by the software of their time, stay as they are.

tests/records/kept/schema_1.sqlite and those after it hold invented measurements on the
simulated rig: single runs, plans (one stopped half way), a timetable, a calibration,
lots, a study, readings by hand, from the second on notes, in the third a run with a
goal. The fourth holds six runs, and a lot decided on three of them, the fifth two runs.
The sixth is the third as that version upgraded it, with a declared bench and a run on
it. The seventh holds what had no outcome yet: three parts with figures, a sensor that
never switched, one that chattered, one that lost steps, a plan that stopped at a target
that the sensor does not see; and a check of the screw at five places whose bound was
declared, with a run on it. The eighth holds what no product was named for: runs of
two kinds of sensor, one of them at 35 °C and one on another target, a sensor that never
switched, a lot of the one kind accepted on runs of the other, and a lot with limits of
its own that is not decided.
The ninth holds what was decided before changes had a trail: a lot accepted, an open one
with a part that failed and then conformed, three refused, a calibration, a declared
bench, a note that stands and one withdrawn. The tenth holds an approved product, runs
of five parts of which one then died, a lot not accepted, and one that is not decided.
The eleventh holds six runs by two operators, a lot whose parts are undecided, and a
study that is filled and has no tolerance. The twelfth holds six runs of parts and a lot
decided on three of them, from before what decides was chained. The thirteenth holds
five runs of parts, three of them in a lot that is not decided, and a sensor that never
switched, from before a supply was switched and a temperature measured. The fourteenth
holds five runs of parts, two of them in an open lot, and a supply switched off and on,
from before places were taken from a linear scale. The fifteenth
holds five runs, one of them to its verdict for a lot, and a plan that stopped in its
second pair, all of the version before and upgraded by that one, from before it was kept
that a run or a plan is for its verdicts alone.
"""

from __future__ import annotations

import shutil
import sqlite3
from contextlib import closing
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from types import ModuleType

import pytest

from rig.records import Reader, Writer, open_records
from rig.records.attempt_book import AttemptBook
from rig.records.availability_book import AvailabilityBook
from rig.records.chained_tables import BY_ROWS, links_of_rows, links_of_sweeps
from rig.records.document_book import DocumentBook, DocumentKind, DocumentOrder
from rig.records.place_checks import PlaceCheckBook
from rig.records.product_book import ProductBook
from rig.records.schema import SCHEMA_VERSION
from rig.records.schema_chain import CHAIN_BEGAN
from tests.products import specification

KEPT = Path(__file__).parent / "kept"
EARLIER = (
    "schema_1.sqlite",
    "schema_2.sqlite",
    "schema_3.sqlite",
    "schema_4.sqlite",
    "schema_6.sqlite",
    "schema_7.sqlite",
    "schema_8.sqlite",
    "schema_9.sqlite",
    "schema_10.sqlite",
    "schema_11.sqlite",
    "schema_12.sqlite",
    "schema_13.sqlite",
    "schema_14.sqlite",
    "schema_15.sqlite",
)
WITHOUT_GOALS = EARLIER[:2]  # versions that did not keep the goal of a run
WITHOUT_PLACES = EARLIER[:5]  # and those that kept no check of a screw
WITHOUT_PRODUCTS = EARLIER[:7]  # and those that knew no product
WITHOUT_SWITCHINGS = EARLIER[:12]  # and those that switched no supply
Rows = dict[str, list[tuple[object, ...]]]


@pytest.fixture(params=EARLIER)
def earlier(request: pytest.FixtureRequest, path: Path) -> Path:
    shutil.copy(KEPT / request.param, path)
    return path


def _columns(path: Path) -> dict[str, list[str]]:
    with closing(sqlite3.connect(path)) as tool:
        names = tool.execute("SELECT name FROM sqlite_master WHERE type = 'table'")
        return {
            table: [row[1] for row in tool.execute(f"PRAGMA table_info({table})")]
            for (table,) in names.fetchall()
        }


def _rows(path: Path, columns: dict[str, list[str]]) -> Rows:
    """Return the values of these columns of every row, by table."""
    found: Rows = {}
    with closing(sqlite3.connect(path)) as tool:
        for table, names in columns.items():
            if table != "records_schema":
                chosen = ", ".join(f'"{name}"' for name in names)
                rows = tool.execute(f"SELECT {chosen} FROM {table}").fetchall()
                found[table] = sorted(rows, key=repr)
    return found


def _guards(path: Path) -> dict[str, str]:
    with closing(sqlite3.connect(path)) as tool:
        found = tool.execute("SELECT name, sql FROM sqlite_master WHERE type='trigger'")
        return dict(found.fetchall())


def test_an_upgrade_keeps_every_value_of_every_row(earlier: Path) -> None:
    columns = _columns(earlier)
    before = _rows(earlier, columns)
    assert all(before[table] for table in ("runs", "edges", "lot_parts"))
    # Figures stand in columns of numbers from the fourth version on
    assert before["figures"] or before["figure_numbers"]

    with open_records(earlier):
        pass

    assert _rows(earlier, columns) == before


def test_an_upgrade_says_which_version_the_records_are_of(earlier: Path) -> None:
    with open_records(earlier):
        pass

    with closing(sqlite3.connect(earlier)) as tool:
        versions = tool.execute("SELECT version FROM records_schema").fetchall()
    assert max(versions) == (SCHEMA_VERSION,)
    assert len(versions) == len(set(versions)) > 1


def test_upgraded_records_have_the_tables_and_guards_of_new_ones(
    earlier: Path, tmp_path: Path
) -> None:
    new = tmp_path / "new.sqlite"
    for path in (earlier, new):
        with open_records(path):
            pass

    assert {t: set(c) for t, c in _columns(earlier).items()} == {
        t: set(c) for t, c in _columns(new).items()
    }
    assert _guards(earlier) == _guards(new)


def test_after_an_upgrade_the_edges_of_every_run_fit_their_checksum(
    earlier: Path,
) -> None:
    with open_records(earlier) as store:
        reader = Reader(store)
        ended = [run for run in reader.runs() if run.ended_at is not None]

        assert len(ended) >= 5
        assert all(reader.verify(run.run_id).intact for run in ended)


@pytest.mark.parametrize("read_only", [False, True])
@pytest.mark.parametrize("earlier", WITHOUT_GOALS, indirect=True)
def test_a_run_of_earlier_records_has_no_label_and_no_goal(
    earlier: Path, read_only: bool
) -> None:
    with open_records(earlier, read_only=read_only) as store:
        runs = list(Reader(store).iter_runs())

    assert len(runs) > 5
    assert {(run.header.label, run.header.until_mm) for run in runs} == {("", None)}


@pytest.mark.parametrize("earlier", ["schema_3.sqlite"], indirect=True)
def test_a_goal_on_record_stays(earlier: Path) -> None:
    with open_records(earlier) as store:
        goals = [run.header.until_mm for run in Reader(store).iter_runs()]

    assert [goal for goal in goals if goal is not None] == [0.02]


def test_figures_of_earlier_records_are_read_before_and_after_an_upgrade(
    earlier: Path, samples: ModuleType
) -> None:
    with open_records(earlier, read_only=True) as store:
        reader = Reader(store)
        ids = [run.run_id for run in reader.runs()]
        before = reader.latest_computations(ids)
    with open_records(earlier) as store:
        Writer(store).add_figures(ids[0], samples.figures(), computed_at=samples.NOON)
        reader = Reader(store)
        after = reader.latest_computations(ids)
        history = reader.computations(ids[0])

    assert len(before) >= 5
    assert {k: v for k, v in after.items() if k != ids[0]} == {
        k: v for k, v in before.items() if k != ids[0]
    }
    assert history[-2] == before[ids[0]]
    assert history[-1].figures == samples.figures()


def test_reading_earlier_records_alters_nothing(earlier: Path) -> None:
    before = earlier.read_bytes()

    with open_records(earlier, read_only=True) as store:
        assert Reader(store).runs()

    assert earlier.read_bytes() == before


def test_a_run_on_upgraded_records_keeps_its_label_and_goal(
    earlier: Path, samples: ModuleType
) -> None:
    header = replace(samples.header(), label="trimmer: after", until_mm=0.015)

    with open_records(earlier) as store:
        Writer(store).begin_run(header)
    with open_records(earlier) as store:
        assert Reader(store).run(header.run_id).header == header


def test_runs_and_plans_of_earlier_records_are_for_all_their_sweeps(
    earlier: Path,
) -> None:
    for read_only in (True, False):
        with open_records(earlier, read_only=read_only) as store:
            reader = Reader(store)
            assert not any(run.header.for_verdict for run in reader.iter_runs())
            assert not any(plan.for_verdict for plan in reader.plans())


def test_on_upgraded_records_it_is_kept_what_ends_runs_and_plans(
    earlier: Path, samples: ModuleType
) -> None:
    header = replace(samples.header(), for_verdict=True)
    plan = replace(samples.plan(), for_verdict=True)

    with open_records(earlier) as store:
        Writer(store).begin_run(header)
        Writer(store).begin_plan(plan)
    with open_records(earlier) as store:
        assert Reader(store).run(header.run_id).header == header
        assert Reader(store).plan(plan.plan_id) == plan


@pytest.mark.parametrize("column", ["label", "until_mm", "for_verdict"])
def test_label_and_goal_of_a_run_cannot_be_altered(earlier: Path, column: str) -> None:
    with open_records(earlier):
        pass

    with (
        closing(sqlite3.connect(earlier, isolation_level=None)) as tool,
        pytest.raises(sqlite3.IntegrityError, match="kept for ever"),
    ):
        tool.execute(f"UPDATE runs SET {column} = 1")


@pytest.mark.parametrize("earlier", WITHOUT_PLACES, indirect=True)
@pytest.mark.parametrize("read_only", [False, True])
def test_earlier_records_have_no_check_of_a_screw(
    earlier: Path, read_only: bool
) -> None:
    with open_records(earlier, read_only=read_only) as store:
        assert PlaceCheckBook(store).every() == []


@pytest.mark.parametrize("earlier", WITHOUT_PLACES, indirect=True)
def test_a_check_of_a_screw_is_added_to_upgraded_records(
    earlier: Path, samples: ModuleType
) -> None:
    with open_records(earlier) as store:
        entry = samples.place_check([run.run_id for run in Reader(store).runs()][:5])
        PlaceCheckBook(store).add(entry)
    with open_records(earlier, read_only=True) as store:
        assert PlaceCheckBook(store).every() == [entry]


@pytest.mark.parametrize("earlier", ["schema_7.sqlite"], indirect=True)
@pytest.mark.parametrize("read_only", [False, True])
def test_a_check_of_a_screw_on_record_keeps_its_runs(
    earlier: Path, read_only: bool
) -> None:
    with open_records(earlier, read_only=read_only) as store:
        (entry,) = PlaceCheckBook(store).every()
        runs = [Reader(store).run(one.run_id) for one in entry.readings]

    assert len(runs) == 5
    assert {run.header.sensor.name for run in runs} == {entry.sensor}


@pytest.mark.parametrize("earlier", ["schema_7.sqlite"], indirect=True)
@pytest.mark.parametrize("read_only", [True, False])
def test_runs_from_before_outcomes_were_kept_have_no_attempts(
    earlier: Path, read_only: bool
) -> None:
    with open_records(earlier, read_only=read_only) as store:
        runs, attempts = Reader(store).runs(), AttemptBook(store).attempts()

    assert len(runs) == 14
    assert attempts == []


@pytest.mark.parametrize("earlier", ["schema_7.sqlite"], indirect=True)
def test_records_from_before_outcomes_keep_every_value_and_take_attempts(
    earlier: Path, samples: ModuleType
) -> None:
    columns = _columns(earlier)
    before = _rows(earlier, columns)
    begun = samples.attempt()

    with open_records(earlier) as store:
        AttemptBook(store).begin(begun)
        AttemptBook(store).end(begun, samples.ATTEMPT_END)

    assert _rows(earlier, columns) == before
    with open_records(earlier, read_only=True) as store:
        assert AttemptBook(store).attempts() == [
            replace(begun, end=samples.ATTEMPT_END)
        ]


@pytest.mark.parametrize("read_only", [True, False])
@pytest.mark.parametrize("earlier", WITHOUT_PRODUCTS, indirect=True)
def test_earlier_records_have_no_product(earlier: Path, read_only: bool) -> None:
    with open_records(earlier, read_only=read_only) as store:
        runs, attempts = Reader(store).iter_runs(), AttemptBook(store).attempts()

        assert {run.header.product for run in runs} == {None}
        assert {one.product for one in attempts} <= {None}
        assert ProductBook(store).versions() == []


@pytest.mark.parametrize("earlier", WITHOUT_PRODUCTS, indirect=True)
def test_upgraded_records_take_a_product_and_a_run_and_an_attempt_of_it(
    earlier: Path, samples: ModuleType
) -> None:
    with open_records(earlier) as store:
        book = ProductBook(store)
        book.enter([specification()], author="A. Novak", now=samples.NOON)
        version = book.approve("CL-18-8", 1, approver="B. Weiss", now=samples.NOON)
        header = replace(samples.header(), product=version)
        Writer(store).begin_run(header)
        AttemptBook(store).begin(replace(samples.attempt(), product=version))
    with open_records(earlier, read_only=True) as store:
        assert ProductBook(store).versions() == [version]
        assert Reader(store).run(header.run_id).header == header
        attempts = AttemptBook(store).attempts()
        assert version in [one.product for one in attempts]


@pytest.mark.parametrize("read_only", [True, False])
def test_earlier_records_have_no_document(earlier: Path, read_only: bool) -> None:
    with open_records(earlier, read_only=read_only) as store:
        assert DocumentBook(store).every() == []


def test_upgraded_records_take_a_document(earlier: Path) -> None:
    order = DocumentOrder(
        kind=DocumentKind.CERTIFICATE,
        number="",
        subject_kind="part",
        subject="P-1",
        title="Measurement certificate",
        customer="",
        customer_order="",
        replaces="",
        simulated=True,
        issued_at=datetime(2026, 11, 28, tzinfo=UTC),
    )
    with open_records(earlier) as store:
        issued = DocumentBook(store).issue(order, lambda number: f"page {number}")
    with open_records(earlier, read_only=True) as store:
        assert DocumentBook(store).every() == [issued]


@pytest.mark.parametrize("version", range(1, CHAIN_BEGAN))
def test_records_of_every_earlier_version_are_chained_by_an_upgrade(
    version: int, path: Path
) -> None:
    shutil.copy(KEPT / f"schema_{version}.sqlite", path)

    with open_records(path) as store, store.reading() as connection:
        rows = [one for table in BY_ROWS for one in links_of_rows(connection, table)]
        rows += links_of_sweeps(connection)

    with closing(sqlite3.connect(path)) as tool:
        query = "SELECT kind, subject, place, digest FROM chain ORDER BY link"
        chained = {tuple(key): digest for *key, digest in tool.execute(query)}
        ended = tool.execute(
            "SELECT count(*) FROM runs WHERE ended_at IS NOT NULL"
        ).fetchone()
        computed = tool.execute("SELECT count(*) FROM computations").fetchone()
        counts = dict(
            tool.execute("SELECT kind, count(*) FROM chain GROUP BY kind").fetchall()
        )
    assert {(o.kind, o.subject, o.place): o.digest for o in rows} == {
        key: digest
        for key, digest in chained.items()
        if key[0] not in ("run ended", "earlier figures")
    }
    assert counts["run ended"] == ended[0] > 0
    assert counts["earlier figures"] == computed[0] > 0


@pytest.mark.parametrize("name", ["schema_13.sqlite", "schema_14.sqlite"])
def test_an_upgrade_leaves_a_chain_as_it_is(name: str, path: Path) -> None:
    shutil.copy(KEPT / name, path)
    with closing(sqlite3.connect(path)) as tool:
        before = tool.execute("SELECT * FROM chain ORDER BY link").fetchall()

    with open_records(path) as store, store.reading() as connection:
        rows = [one for table in BY_ROWS for one in links_of_rows(connection, table)]
        rows += links_of_sweeps(connection)

    with closing(sqlite3.connect(path)) as tool:
        after = tool.execute("SELECT * FROM chain ORDER BY link").fetchall()
    linked = {
        (kind, subject, place): digest for _, kind, subject, place, digest, _ in before
    }
    assert len(before) > 30
    assert after == before
    assert {(o.kind, o.subject, o.place): o.digest for o in rows} == {
        key: digest
        for key, digest in linked.items()
        if key[0] not in ("run ended", "figures added")
    }


@pytest.mark.parametrize("read_only", [True, False])
@pytest.mark.parametrize("name", WITHOUT_SWITCHINGS)
def test_earlier_records_have_no_switchings_and_no_measured_temperature(
    name: str, path: Path, read_only: bool
) -> None:
    shutil.copy(KEPT / name, path)
    with open_records(path, read_only=read_only) as store:
        runs = list(Reader(store).iter_runs())

        assert AvailabilityBook(store).every() == []
    assert runs
    for run in runs:
        for one in run.conditions:
            assert one.measured_temperature_c is None
            assert one.ambient_c == one.temperature_c


def test_upgraded_records_take_switchings(earlier: Path, samples: ModuleType) -> None:
    entry = samples.availability()
    with open_records(earlier) as store:
        before = AvailabilityBook(store).every()
        AvailabilityBook(store).add(entry)
    with open_records(earlier, read_only=True) as store:
        after = AvailabilityBook(store).every()
    assert [one for one in after if one not in before] == [entry]
    assert len(after) == len(before) + 1


@pytest.mark.parametrize("read_only", [True, False])
def test_earlier_records_have_no_places_by_a_scale(
    earlier: Path, read_only: bool
) -> None:
    with open_records(earlier, read_only=read_only) as store:
        runs = list(Reader(store).iter_runs())

    assert runs
    for run in runs:
        assert all(c.axis.scale_counts_per_mm is None for c in run.conditions)
        assert all(c.datum.scale_steps is None for c in run.conditions)
        assert all(c.scale_steps is None for c in run.datum_checks)
        assert all(e.scale is None for sweep in run.sweeps for e in sweep.edges)


@pytest.mark.parametrize("version", range(1, SCHEMA_VERSION))
def test_runs_of_earlier_records_are_put_in_the_order_of_the_clock(
    version: int, path: Path
) -> None:
    shutil.copy(KEPT / f"schema_{version}.sqlite", path)
    open_records(path).close()

    with closing(sqlite3.connect(path)) as tool:
        found = tool.execute("SELECT started_at, sequence FROM runs").fetchall()
    places = [place for _, place in sorted(found)]
    assert places == sorted(places)
    assert len(set(places)) == len(places)
