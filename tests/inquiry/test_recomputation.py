"""Figures of many runs at once are those of each run alone, bit for bit."""

from __future__ import annotations

import json
import math
import random
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from rig.errors import RecordsError
from rig.inquiry.recomputation import Recomputation, pages_in_processes
from rig.model.bench_declaration import (
    NOTHING_DECLARED,
    BenchDeclaration,
    ValueSource,
    knowledge_of,
)
from rig.model.calibration import AxisCalibration
from rig.model.mounted import (
    BacklashSource,
    OutputKind,
    Sensor,
)
from rig.model.sweeps import Conditions, DatumCheck, RunHeader, Sweep, Timetable
from rig.records import Reader, Store, Writer, make_run_id, open_records
from tests import builders
from tests.declared_benches import FINE_BENCH, declared_bench

pytestmark = pytest.mark.long

NOON = datetime(2026, 11, 25, 12, tzinfo=UTC)
LATER = NOON + timedelta(days=1)
SPEEDS = ((1.0,), (1.0, 4.0), (1.0, 4.0), (1.0, 4.0), (0.8, 1.6, 3.2), (2.5, 2.5))
RUNS = 300
# Not kept yet, nothing declared, lead known or not, sources of every kind
BENCHES = (
    None,
    *(
        knowledge_of(declaration, touch_speed_mm_s=0.25)
        for declaration in (
            NOTHING_DECLARED,
            FINE_BENCH,
            declared_bench(ValueSource.MAKER, periodic_um=4.0, delay_ms=5.0),
            declared_bench(lead_mm=0.0, periodic_um=4.0),
            BenchDeclaration(
                screw_class="ISO 3408-3 P5", screw_class_source=ValueSource.MAKER
            ),
        )
    ),
)


class _Drawn:
    """Invented runs of every kind, the same ones each time."""

    def __init__(self) -> None:
        self.chance = random.Random(20)

    def some(self, share: float) -> bool:
        return self.chance.random() < share

    def sensor(self) -> Sensor:
        return builders.sensor(
            output=self.chance.choice(list(OutputKind)),
            switching_frequency_hz=self.chance.choice([None, 25.0, 50.0]),
        )

    def calibration(self) -> AxisCalibration | None:
        if self.some(0.5):
            return None
        farthest = self.chance.choice([60.0, 60.0, 12.0])
        return AxisCalibration(
            calibration_id="calibration-1",
            rig_id="bench-1",
            certificate="K 17",
            positions_mm=(0.0, 0.3 * farthest, farthest),
            corrections_mm=(0.0, 0.0041, -0.0023),
            standard_uncertainty_mm=(0.001, 0.0013, 0.0009),
            calibrated_on=date(2026, 1, 1),
            due_on=self.chance.choice([date(2027, 1, 1), date(2026, 10, 1)]),
        )

    def conditions(self) -> Conditions:
        measured = self.some(0.7)
        return builders.conditions(
            simulated=self.some(0.8),
            datum={
                "position_steps": 20_000.0 + self.chance.random(),
                "standard_uncertainty_mm": self.chance.choice([0.0, 0.0005]),
            },
            backlash={
                "value_mm": 0.04 if measured else 0.0,
                "standard_uncertainty_mm": (
                    0.0008 if measured or self.some(0.5) else 0.0
                ),
                "degrees_of_freedom": self.chance.choice([4.0, float("inf")]),
                "source": (
                    BacklashSource.PROBE if measured else BacklashSource.NOT_MEASURED
                ),
            },
            calibration=self.calibration(),
            # Most like one another, as on record, so that there is something to share
            bench=self.chance.choices(BENCHES, (30, 1, 1, 1, 1, 1))[0],
        )

    def sweeps(self, sensor: Sensor, speeds: tuple[float, ...]) -> Iterator[Sweep]:
        n = self.chance.choice([1, 2, 3, 5, 10, 10, 10, 10, 10, 17])
        scatter = self.chance.choice([0.0, 0.0, 2.0, 6.0, 4000.0])
        drift = self.chance.choice([0.0, 0.0, 5.0])
        jump = self.chance.choice([0, 0, 64])
        on = self.chance.choice([13_600, 13_600, 19_999])
        off = on - self.chance.choice([864, 20, -30])
        share_void, share_chatter = self.chance.choice(
            [(0.0, 0.0), (0.2, 0.0), (0, 0.1)]
        )
        for index in range(n):
            moved = round(drift * index) + (jump if index >= n // 2 else 0)
            yield self.sweep(
                index,
                round(self.chance.gauss(on + moved, scatter)),
                round(self.chance.gauss(off + moved, scatter)),
                speeds[index % len(speeds)],
                level=sensor.output is OutputKind.NORMALLY_OPEN,
                void=self.some(share_void),
                chatter=self.some(share_chatter),
            )

    def sweep(
        self,
        index: int,
        on: int,
        off: int,
        speed: float,
        *,
        level: bool,
        void: bool,
        chatter: bool,
    ) -> Sweep:
        places = [(on, level, True), (off, not level, False)]
        if chatter:
            places[1:1] = [(on + 1, not level, True), (on + 2, level, True)]
        if void and self.some(0.5):
            places = places[:1]
        edges = [
            builders.edge(at, level=level, approaching=approaching, number=k, time_us=k)
            for k, (at, level, approaching) in enumerate(places)
        ]
        return builders.sweep(
            index,
            edges,
            speed_mm_s=speed,
            void="an edge came where none was expected." if void else "",
            ended_at=NOON + timedelta(seconds=index),
        )

    def write(self, writer: Writer, number: int) -> None:
        started_at = NOON + timedelta(seconds=number)
        sensor, speeds = self.sensor(), self.chance.choice(SPEEDS)
        sweeps = list(self.sweeps(sensor, speeds))
        timetable = Timetable(hours=8.0, readings=2) if self.some(0.05) else None
        header = builders.header(
            run_id=make_run_id(started_at, self.chance),
            sensor=sensor,
            sweeps_wanted=max(len(sweeps), 2),
            speeds_mm_s=speeds,
            conditions=self.conditions(),
            started_at=started_at,
            timetable=timetable,
        )
        writer.begin_run(header)
        again = self.some(0.1)
        if again:
            writer.add_conditions(header.run_id, 1, self.conditions())
        for sweep in sweeps:
            late = again and sweep.index > len(sweeps) // 2
            writer.add_sweep(header.run_id, replace(sweep, conditions_index=int(late)))
        for index, check in enumerate(self.checks(header, len(sweeps), again)):
            writer.add_datum_check(header.run_id, index, check)
        if not self.some(0.03):
            writer.end_run(
                header.run_id,
                ended_at=LATER,
                void="stopped" if self.some(0.03) else "",
                home_shift_steps=self.chance.choice([0, 0, None, None, 9, 64]),
                home_repeatability_mm=self.chance.choice([None, 0.0002, 0.004]),
            )

    def checks(
        self, header: RunHeader, sweeps: int, again: bool
    ) -> Iterator[DatumCheck]:
        datum = header.conditions.datum
        for _ in range(self.chance.choice([0, 1, 1, 1, 2])):
            yield DatumCheck(
                sweeps_before=self.chance.choice([sweeps, sweeps, 1]),
                position_steps=datum.position_steps + self.chance.gauss(0.0, 3.0),
                standard_uncertainty_mm=self.chance.choice([0.0005, 0.001]),
                degrees_of_freedom=self.chance.choice([2.0, math.inf]),
                n=3,
                touched_at=LATER,
                conditions_index=int(again and self.some(0.5)),
            )


@pytest.fixture(scope="module")
def records(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("records") / "varied.sqlite"
    drawn = _Drawn()
    with open_records(path) as store:
        writer = Writer(store)
        for number in range(RUNS):
            drawn.write(writer, number)
    return path


@pytest.fixture
def store(records: Path) -> Iterator[Store]:
    with open_records(records) as store:
        yield store


def _newest_rows(store: Store) -> dict[str, tuple[Any, ...]]:
    """Everything that is on record of the newest figures of each run, as it stands."""
    query = """
        SELECT run_id, analysis_version, software_version, computed_at, warnings,
               form_id, hex(numbers)
        FROM computations JOIN figure_numbers USING (computation_id)
        WHERE computation_id IN (
            SELECT max(computation_id) FROM computations GROUP BY run_id
        )
    """
    with store.reading() as connection:
        return {row[0]: tuple(row) for row in connection.exec_driver_sql(query)}


@pytest.fixture(scope="module")
def alone(records: Path) -> dict[str, tuple[Any, ...]]:
    """What is stored when the figures of each run are worked out by itself."""
    with open_records(records) as store:
        ended = [run.run_id for run in Reader(store).runs() if run.ended_at is not None]
        Recomputation(store, computed_at=NOON).of_runs(ended)
        return _newest_rows(store)


@pytest.mark.parametrize(
    ("runs_at_once", "processes"), [(9, 1), (9, 2), (2000, 1)], ids=str
)
def test_what_is_stored_is_what_each_run_alone_would_store(
    store: Store,
    alone: dict[str, tuple[Any, ...]],
    runs_at_once: int,
    processes: int,
) -> None:
    work = Recomputation(store, computed_at=NOON)
    pages = list(work.of_all(runs_at_once=runs_at_once, processes=processes))

    together = _newest_rows(store)
    assert len(alone) > 0.8 * RUNS
    assert together == alone
    done = [run_id for page in pages for run_id in page.run_ids]
    assert done == sorted(done) == sorted(alone)


def test_a_process_that_cannot_open_the_records_is_said_in_one_sentence(
    tmp_path: Path,
) -> None:
    nowhere = str(tmp_path / "none.sqlite")

    with pytest.raises(RecordsError, match="could not begin, or was ended"):
        list(pages_in_processes(nowhere, [("a", "b")], NOON, 2))


def test_the_runs_are_varied_enough_to_tell(store: Store) -> None:
    work = Recomputation(store, computed_at=NOON)
    pages = list(work.of_all())
    said = {
        words for page in pages for run in page.runs() for words in run.figures.warnings
    }
    together = sum(
        len(b.run_ids) for p in pages for b in p.blocks if len(b.run_ids) > 1
    )

    for words in (
        "over the run: steps were lost",
        "repeats of it explain",
        "The face was not touched again",
        "from the datum when it was touched again",
        "not touched again",
        "sweeps are not used; the first reason: an edge came",
        "The output chattered",
        "The timetable is not",
        "under 2 datums",
        "Backlash was not measured",
        "and their uncertainty leaves it out",
        "was due on 2026-10-01",
        "it is not applied",
        "no calibration",
        "so the switching delay is not removed",
        "bounds it",
        "comes out negative",
        "less than 5 times the noise",
        "The operate points scatter by more",
        "drifts by",
        "may have lost steps there",
    ):
        assert any(words in sentence for sentence in said), words
    assert together > RUNS // 6


def test_most_runs_of_the_usual_kind_are_worked_out_together(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refused(*_: object, **__: object) -> None:
        raise AssertionError("a plain run was worked out by itself")

    drawn = _Drawn()
    with open_records(tmp_path / "plain.sqlite") as store:
        writer = Writer(store)
        for number in range(30):
            started_at = NOON + timedelta(seconds=number)
            sensor = drawn.sensor()
            header = builders.header(
                run_id=make_run_id(started_at, drawn.chance),
                sensor=sensor,
                sweeps_wanted=6,
                speeds_mm_s=(1.0, 4.0),
                conditions=drawn.conditions(),
                started_at=started_at,
            )
            writer.begin_run(header)
            for index in range(6):
                level = sensor.output is OutputKind.NORMALLY_OPEN
                sweep = drawn.sweep(
                    index,
                    13_600 + drawn.chance.randrange(9),
                    12_736,
                    (1.0, 4.0)[index % 2],
                    level=level,
                    void=index == number,
                    chatter=False,
                )
                writer.add_sweep(header.run_id, sweep)
            writer.end_run(header.run_id, ended_at=LATER, home_shift_steps=0)
        monkeypatch.setattr("rig.inquiry.recomputation.run_figures", refused)

        (page,) = Recomputation(store, computed_at=NOON).of_all()

    assert len(page.run_ids) == 30


def test_runs_without_figures_are_named_with_the_reason(store: Store) -> None:
    pages = Recomputation(store, computed_at=NOON).of_all()
    reasons = {run_id: why for page in pages for run_id, why in page.passed_over}

    for summary in Reader(store).runs():
        if summary.void:
            assert reasons[summary.run_id] == "has no figures: it is void"
        elif summary.ended_at is None and summary.good_sweeps:
            assert "passed over" in reasons[summary.run_id]
    assert {"void", "passed over"} <= {why.split()[-1] for why in reasons.values()} | {
        "passed over"
    }


def test_a_run_that_cannot_be_put_together_keeps_no_other_from_its_figures(
    tmp_path: Path,
) -> None:
    drawn = _Drawn()
    with open_records(tmp_path / "scales.sqlite") as store:
        writer = Writer(store)
        ids = []
        for number in range(3):
            started_at = NOON + timedelta(seconds=number)
            sensor = drawn.sensor()
            conditions = drawn.conditions()
            header = builders.header(
                run_id=make_run_id(started_at, drawn.chance),
                sensor=sensor,
                sweeps_wanted=2,
                speeds_mm_s=(1.0,),
                conditions=conditions,
                started_at=started_at,
            )
            ids.append(header.run_id)
            writer.begin_run(header)
            if number == 1:
                axis = replace(conditions.axis, steps_per_mm=800.0)
                other = replace(conditions, axis=axis)
                writer.add_conditions(header.run_id, 1, other)
            level = sensor.output is OutputKind.NORMALLY_OPEN
            for index in range(3):
                sweep = drawn.sweep(
                    index, 13_600, 12_736, 1.0, level=level, void=False, chatter=False
                )
                writer.add_sweep(header.run_id, sweep)
            writer.end_run(header.run_id, ended_at=LATER)

        (page,) = Recomputation(store, computed_at=NOON).of_all()

    assert page.run_ids == [ids[0], ids[2]]
    ((run_id, why),) = page.passed_over
    assert run_id == ids[1]
    assert "two scales" in why


def test_figures_come_back_from_the_records_as_they_were_worked_out(
    store: Store,
) -> None:
    (page,) = Recomputation(store, computed_at=NOON).of_all()
    reader = Reader(store)

    for run in page.runs():
        assert reader.latest_figures(run.run_id) == run.figures


def test_warnings_are_kept_word_for_word(store: Store) -> None:
    (page,) = Recomputation(store, computed_at=NOON).of_all()
    rows = _newest_rows(store)

    for run in page.runs():
        assert tuple(json.loads(rows[run.run_id][4])) == run.figures.warnings


def _write_part(
    writer: Writer, drawn: _Drawn, part: str, number: int, scatter_steps: float
) -> str:
    """Put a run of ten sweeps of a part on record; its flanks scatter on their own."""
    started_at = NOON + timedelta(seconds=number)
    sensor = builders.sensor()
    header = builders.header(
        run_id=make_run_id(started_at, drawn.chance),
        sensor=sensor,
        part=part,
        sweeps_wanted=10,
        speeds_mm_s=(1.0, 4.0),
        started_at=started_at,
    )
    writer.begin_run(header)
    for index in range(10):
        sweep = drawn.sweep(
            index,
            round(drawn.chance.gauss(13_600, scatter_steps)),
            round(drawn.chance.gauss(12_736, scatter_steps)),
            (1.0, 4.0)[index % 2],
            level=sensor.output is OutputKind.NORMALLY_OPEN,
            void=False,
            chatter=False,
        )
        writer.add_sweep(header.run_id, sweep)
    writer.end_run(header.run_id, ended_at=LATER, home_shift_steps=0)
    return header.run_id


def test_noise_is_pooled_by_part_and_said_so(tmp_path: Path) -> None:
    drawn = _Drawn()
    with open_records(tmp_path / "parts.sqlite") as store:
        writer = Writer(store)
        quiet = [_write_part(writer, drawn, "A", k, 1.0) for k in range(3)]
        noisy = [_write_part(writer, drawn, "B", 3 + k, 15.0) for k in range(3)]
        mixed = [
            _write_part(writer, drawn, "C", 6 + k, scatter)
            for k, scatter in enumerate((1.0, 1.0, 15.0))
        ]
        work = Recomputation(store, computed_at=LATER, pool_noise=True)
        page = work.of_runs([*quiet, *noisy, *mixed])
        newest = {id_: Reader(store).latest_figures(id_) for id_ in page.run_ids}

    bias = {id_: found.first_passage_bias_operate for id_, found in newest.items()}
    assert {bias[id_].pooled_runs for id_ in (*quiet, *noisy)} == {3}
    assert {bias[id_].pooled_runs for id_ in mixed} == {0}
    # A noisy part makes a quiet one no noisier
    assert max(bias[id_].value for id_ in quiet) < 0.002
    assert min(bias[id_].value for id_ in noisy) > 0.008
    (said,) = work.unpooled
    assert "part C" in said
    assert "do not scatter alike" in said
