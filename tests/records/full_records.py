"""Records in which every table that can be exported has a row."""

from __future__ import annotations

from datetime import date
from types import ModuleType

from rig.inquiry.lot_order import LotOrder, begin_lot
from rig.inquiry.lot_reading import enter_by_sight
from rig.model.bench_declaration import BenchDeclaration, ValueSource, declared_value
from rig.model.calibration import AxisCalibration
from rig.model.grounds import Grounds
from rig.records import Store, Writer
from rig.records.availability_book import AvailabilityBook
from rig.records.benches import BenchBook, BenchEntry
from rig.records.calibrations import AxisReading, CalibrationBook, CalibrationEntry
from rig.records.document_book import DocumentBook, DocumentKind, DocumentOrder
from rig.records.lot_book import LotBook
from rig.records.notes import NoteBook
from rig.records.operator_book import OperatorBook
from rig.records.product_book import ProductBook
from rig.records.studies import StudyBook, StudyEntry, StudyReading, StudyRow
from tests.products import specification


def enter_what_people_enter(store: Store, run_id: str, samples: ModuleType) -> str:
    """Put a lot and one entry of every other kind on record; return the lot."""
    now = samples.NOON
    order = LotOrder(product="level-18", supplier="=north", size=8, aql_percent=6.5)
    lot_id = begin_lot(store, order, now).lot.lot_id
    book = LotBook(store)
    enter_by_sight(book, lot_id, "1", conforms=True, reason="seen", now=now)
    notes = NoteBook(store)
    for text in ("a scratch on the face", "3-4"):
        notes.add(run_id, text, author="Ann", entered_at=now)
    notes.withdraw(run_id, 1, author="Ann", reason="typed twice", entered_at=now)
    Writer(store).begin_plan(samples.plan())
    AvailabilityBook(store).add(samples.availability())
    ProductBook(store).enter([specification()], author="A. Novak", now=now)
    declared = declared_value("probe.delay_ms", 5.0, ValueSource.MAKER)
    BenchBook(store).add(
        BenchEntry(
            rig_id="bench-2",
            declaration=BenchDeclaration(values=(declared,)),
            author="Ann",
            entered_at=now,
        )
    )
    _calibrate(store, samples)
    _study(store, run_id, samples)
    operator = Grounds(person="R. Vance")
    OperatorBook(store).enter(
        "K. Ames", authorises=False, active=True, grounds=operator, now=now
    )
    certificate = DocumentOrder(
        kind=DocumentKind.CERTIFICATE,
        number="",
        subject_kind="run",
        subject=run_id,
        title="Certificate",
        customer="Silo Works, Hull",
        customer_order="PO-4711",
        replaces="",
        simulated=True,
        issued_at=now,
    )
    DocumentBook(store).issue(certificate, lambda number: f"page {number}")
    return lot_id


def _calibrate(store: Store, samples: ModuleType) -> None:
    table = AxisCalibration(
        calibration_id="20261120-080000-000-00cc",
        rig_id="bench-2",
        certificate="AX-7",
        calibrated_on=date(2026, 11, 20),
        due_on=date(2027, 11, 20),
        positions_mm=(0.0, 10.0),
        corrections_mm=(0.0, 0.0021),
        standard_uncertainty_mm=(0.0004, 0.0005),
    )
    entry = CalibrationEntry(
        calibration=table,
        readings=(
            AxisReading(target_mm=0.0, direction="up", deviation_mm=0.0),
            AxisReading(target_mm=10.0, direction="up", deviation_mm=0.0021),
        ),
        instrument_uncertainty_mm=0.0006,
        entered_at=samples.NOON,
    )
    CalibrationBook(store).add(entry)


def _study(store: Store, run_id: str, samples: ModuleType) -> None:
    study = StudyEntry(
        study_id="20261125-120000-000-00dd",
        title="spring",
        figure="operate",
        unit="mm",
        seed=3,
        rows=tuple(
            StudyRow(order=order, trial=order, appraiser="A", part="1")
            for order in (1, 2)
        ),
        begun_at=samples.NOON,
        tolerance=0.4,
    )
    book = StudyBook(store)
    book.begin(study)
    for value in (7.91, 7.902):
        reading = StudyReading(
            order=1,
            value=value,
            unit="mm",
            run_id=run_id,
            simulated=True,
            entered_at=samples.NOON,
        )
        book.add_readings(study.study_id, [reading])
