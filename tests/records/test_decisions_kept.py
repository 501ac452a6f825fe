"""Lots, studies, calibrations and hand readings: as entered, and never altered."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

from rig.errors import RecordsError
from rig.model.calibration import AxisCalibration
from rig.model.mounted import DataSheetLimit
from rig.model.sweeps import Timetable
from rig.records import PlanEntry, Reader, RunFilter, Store, Writer
from rig.records.calibrations import AxisReading, CalibrationBook, CalibrationEntry
from rig.records.hand_readings import HandBook, HandReading
from rig.records.lot_book import LotBook
from rig.records.lot_entries import LotEntry, LotPart, StoredDecision
from rig.records.schema_decisions import DECISION_TABLES
from rig.records.studies import StudyBook, StudyEntry, StudyReading, StudyRow

ON_SERVER_TOO = True


@pytest.fixture
def lot(samples: ModuleType) -> LotEntry:
    return LotEntry(
        lot_id="20261125-120000-000-00bb",
        product="level-18",
        supplier="one",
        size=90,
        terms={"method": "attributes", "aql_percent": 6.5, "lower": None},
        resubmitted=False,
        operator="incoming inspection",
        begun_at=samples.NOON,
    )


def part(samples: ModuleType, number: str, **changes: Any) -> LotPart:
    given = LotPart(
        part=number,
        decision="conforms",
        reason="8.0 mm ± 0.01 mm conforms",
        value=8.0,
        expanded_uncertainty=0.01,
        unit="mm",
        run_id="",
        simulated=False,
        entered_at=samples.NOON,
    )
    return replace(given, **changes)


def decision(samples: ModuleType, lot: LotEntry) -> StoredDecision:
    return StoredDecision(
        lot_id=lot.lot_id,
        accepted=True,
        sentence="accepted",
        document={"counts": {"conforms": 2}},
        simulated=False,
        decided_at=samples.NOON,
    )


@pytest.fixture
def calibration() -> AxisCalibration:
    return AxisCalibration(
        calibration_id="20261125-120000-000-00cc",
        rig_id="bench-2",
        certificate="AX-7",
        calibrated_on=date(2026, 11, 20),
        due_on=date(2027, 11, 20),
        positions_mm=(0.0, 15.0, 0.1 + 29.9),
        corrections_mm=(0.0, 0.1 + 0.2, -0.004),
        standard_uncertainty_mm=(1e-17, 0.001, 0.002),
    )


def calibration_entry(
    calibration: AxisCalibration, samples: ModuleType
) -> CalibrationEntry:
    return CalibrationEntry(
        calibration=calibration,
        readings=(
            AxisReading(target_mm=0.0, direction="up", deviation_mm=0.1 + 0.2),
            AxisReading(target_mm=0.0, direction="down", deviation_mm=-0.02),
        ),
        instrument_uncertainty_mm=0.0006,
        entered_at=samples.NOON,
    )


@pytest.fixture
def study(samples: ModuleType) -> StudyEntry:
    rows = tuple(
        StudyRow(order=k, trial=k, appraiser="A", part=f"P{k}") for k in (1, 2)
    )
    return StudyEntry(
        study_id="20261125-120000-000-00dd",
        title="spring study",
        figure="operate",
        unit="mm",
        seed=7,
        rows=rows,
        begun_at=samples.NOON,
    )


def study_reading(samples: ModuleType, order: int, value: float) -> StudyReading:
    return StudyReading(
        order=order,
        value=value,
        unit="mm",
        run_id="",
        simulated=False,
        entered_at=samples.NOON,
    )


def hand_reading(samples: ModuleType, person: str, **changes: Any) -> HandReading:
    given = HandReading(
        person=person,
        sensor="level-18",
        part="P1",
        target="steel",
        figure="operate",
        value_mm=8.1,
        source="class.csv, line 2",
        entered_at=samples.NOON,
    )
    return replace(given, **changes)


@pytest.fixture
def everything(
    store: Store,
    samples: ModuleType,
    lot: LotEntry,
    study: StudyEntry,
    calibration: AxisCalibration,
) -> None:
    lots = LotBook(store)
    lots.begin(lot)
    lots.add_part(lot.lot_id, part(samples, "P1"))
    lots.decide(decision(samples, lot), lot, {"severity": "normal"})
    StudyBook(store).begin(study)
    StudyBook(store).add_readings(
        study.study_id, [study_reading(samples, 1, 8.0), study_reading(samples, 2, 8.1)]
    )
    CalibrationBook(store).add(calibration_entry(calibration, samples))
    HandBook(store).add([hand_reading(samples, "Ann")])


@pytest.fixture
def other_tool(path: Path, everything: None) -> Iterator[sqlite3.Connection]:
    with closing(sqlite3.connect(path, isolation_level=None)) as connection:
        yield connection


@pytest.mark.parametrize("name", [table.name for table in DECISION_TABLES])
def test_nothing_decided_is_deleted_altered_or_replaced(
    other_tool: sqlite3.Connection, name: str
) -> None:
    column = other_tool.execute(f"SELECT name FROM pragma_table_info('{name}')")
    first = column.fetchone()[0]
    before = other_tool.execute(f"SELECT * FROM {name}").fetchall()
    assert before

    for act, words in (
        (f"DELETE FROM {name}", "kept for ever"),
        (f"UPDATE {name} SET {first} = {first}", "never altered"),
        (f"INSERT OR REPLACE INTO {name} SELECT * FROM {name}", "already"),
    ):
        with pytest.raises(sqlite3.IntegrityError, match=words):
            other_tool.execute(act)

    assert other_tool.execute(f"SELECT * FROM {name}").fetchall() == before


def test_a_lot_comes_back_as_it_was_begun(
    store: Store, samples: ModuleType, lot: LotEntry
) -> None:
    book = LotBook(store)
    book.begin(lot)

    assert book.lot(lot.lot_id) == lot
    assert book.all_lots() == [lot]
    assert book.parts(lot.lot_id) == []
    assert book.decision(lot.lot_id) is None


def test_the_last_reading_of_a_part_counts_and_the_first_one_stays(
    store: Store, samples: ModuleType, lot: LotEntry
) -> None:
    book = LotBook(store)
    book.begin(lot)
    first = part(samples, "P1", decision="undecided")
    other = part(samples, "P2", value=None, expanded_uncertainty=None, unit="")
    again = part(samples, "P1", simulated=True)

    for one in (first, other, again):
        book.add_part(lot.lot_id, one)

    assert book.readings(lot.lot_id) == [first, other, again]
    assert book.parts(lot.lot_id) == [again, other]


def test_a_decided_lot_takes_no_part_and_no_second_decision(
    store: Store, samples: ModuleType, lot: LotEntry
) -> None:
    book = LotBook(store)
    book.begin(lot)
    made = decision(samples, lot)
    book.decide(made, lot, {"severity": "normal"})

    with pytest.raises(RecordsError, match="takes no further part"):
        book.add_part(lot.lot_id, part(samples, "P1"))
    with pytest.raises(RecordsError, match="in lot_decisions already"):
        book.decide(made, lot, {"severity": "tightened"})

    assert book.decision(lot.lot_id) == made
    # The second state was not kept either
    assert book.switching_state("level-18", "one") == {"severity": "normal"}


def test_the_last_switching_state_of_a_product_and_supplier_is_in_force(
    store: Store, samples: ModuleType
) -> None:
    book = LotBook(store)

    book.add_state("level-18", "one", {"severity": "tightened"}, samples.NOON)
    book.add_state("level-18", "two", {"severity": "reduced"}, samples.NOON)
    book.add_state("level-18", "one", {"severity": "normal"}, samples.NOON)

    assert book.switching_state("level-18", "one") == {"severity": "normal"}
    assert book.switching_state("level-18", "two") == {"severity": "reduced"}
    assert book.switching_state("gate-8", "one") is None


def test_a_part_of_no_lot_and_of_no_run_is_refused(
    store: Store, samples: ModuleType, lot: LotEntry
) -> None:
    book = LotBook(store)
    with pytest.raises(RecordsError, match="not on record"):
        book.add_part("no such lot", part(samples, "P1"))
    book.begin(lot)

    with pytest.raises(RecordsError, match="not on record"):
        book.add_part(lot.lot_id, part(samples, "P1", run_id="no such run"))


def test_a_calibration_comes_back_digit_for_digit(
    store: Store, samples: ModuleType, calibration: AxisCalibration
) -> None:
    entry = calibration_entry(calibration, samples)

    CalibrationBook(store).add(entry)

    assert CalibrationBook(store).every() == [entry]
    assert CalibrationBook(store).every("another rig") == []
    assert Writer(store).calibration_in_force("bench-2") == calibration
    assert Writer(store).calibration_in_force("another rig") is None


def test_a_later_calibration_leaves_an_earlier_run_alone(
    store: Store,
    writer: Writer,
    reader: Reader,
    samples: ModuleType,
    calibration: AxisCalibration,
) -> None:
    book = CalibrationBook(store)
    book.add(calibration_entry(calibration, samples))
    conditions = replace(samples.conditions(), calibration=calibration)
    header = samples.header(conditions=conditions)
    writer.begin_run(header)

    later = calibration_entry(
        replace(calibration, calibration_id="later", certificate="AX-8"), samples
    )
    book.add(replace(later, entered_at=samples.NOON + timedelta(days=1)))

    assert reader.run(header.run_id).header == header
    in_force = writer.calibration_in_force("bench-2")
    assert in_force is not None
    assert in_force.certificate == "AX-8"


def test_a_study_comes_back_with_the_last_reading_of_each_row(
    store: Store, samples: ModuleType, study: StudyEntry
) -> None:
    book = StudyBook(store)
    book.begin(study)
    book.add_readings(study.study_id, [study_reading(samples, 1, 8.0)])
    last = study_reading(samples, 1, 8.2)

    book.add_readings(study.study_id, [last])

    assert book.study(study.study_id) == study
    assert book.readings(study.study_id) == {1: last}


def test_a_reading_of_no_row_is_refused_with_all_that_came_with_it(
    store: Store, samples: ModuleType, study: StudyEntry
) -> None:
    book = StudyBook(store)
    book.begin(study)

    with pytest.raises(RecordsError, match="not on record"):
        book.add_readings(
            study.study_id,
            [study_reading(samples, 1, 8.0), study_reading(samples, 99, 8.1)],
        )

    assert book.readings(study.study_id) == {}


def test_hand_readings_come_back_by_sensor_part_target_and_figure(
    store: Store, samples: ModuleType
) -> None:
    book = HandBook(store)
    ann = hand_reading(samples, "Ann")
    book.add(
        [
            ann,
            hand_reading(samples, "Bob", part="P2"),
            hand_reading(samples, "Cy", figure="release"),
        ]
    )

    found = book.readings(
        sensor="level-18", target="steel", part="P1", figure="operate"
    )

    assert found == [ann]


@pytest.mark.parametrize("timetable", [None, Timetable(hours=8.0, readings=17)])
def test_part_timetable_and_data_sheet_come_back_with_run_and_plan(
    writer: Writer, reader: Reader, samples: ModuleType, timetable: Timetable | None
) -> None:
    limits = (
        DataSheetLimit(symbol="s_r", lower=0.95, upper=1.05),
        DataSheetLimit(symbol="H", upper=0.1 + 0.05),
    )
    sensor = replace(samples.LEVEL_SENSOR, data_sheet_limits=limits)
    plan: PlanEntry = samples.plan()
    items = tuple(
        replace(item, sensor=sensor, part="S-101", timetable=timetable)
        for item in plan.items
    )
    plan = replace(plan, items=items)
    header = samples.header(
        sensor=sensor, part="S-101", timetable=timetable, plan_id=plan.plan_id
    )

    writer.begin_plan(plan)
    writer.begin_run(header)

    assert reader.plan(plan.plan_id) == plan
    assert reader.run(header.run_id).header == header
    (summary,) = reader.runs(RunFilter(part="S-101"))
    assert summary.part == "S-101"
    assert reader.runs(RunFilter(part="another")) == []
