"""Checks of the screw at several places, with readings and runs. Adds only."""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass
from datetime import datetime

from sqlalchemy import inspect, select

from rig.model.bench_declaration import ValueSource
from rig.records.chain import insert_chained
from rig.records.decoding import decodes
from rig.records.mapping import StoredRow, json_text, time_of, time_text
from rig.records.schema_places import place_checks
from rig.records.store import Store
from rig.version import SOFTWARE_VERSION


@dataclass(frozen=True, slots=True, kw_only=True)
class PlaceReading:
    """What one place gave.

    Attributes:
        run_id: The run that it comes from.
        closing_mm: Where the probe closed, mm from home.
        opening_mm: Where it opened, mm from home.
        operate_mm: Mean operate gap by the commanded scale.
        release_mm: Mean release gap by the commanded scale.
        operate_variance_mm2: Variance of the operate gap, by touches and sweeps.
        covariance_mm2: Covariance of both gaps, by the same.
        release_variance_mm2: Variance of the release gap, by the same.
        time_s: Middle of the sweeps, from that of the first place.
        operate_correction_mm: What the calibration in force adds to the operate gap;
            None without one that holds there.
        release_correction_mm: What it adds to the release gap; None likewise.
    """

    run_id: str
    closing_mm: float
    opening_mm: float
    operate_mm: float
    release_mm: float
    operate_variance_mm2: float
    covariance_mm2: float
    release_variance_mm2: float
    time_s: float
    operate_correction_mm: float | None
    release_correction_mm: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class HeldAgainst:
    """What the check is compared with, as it was when it was made.

    Attributes:
        bound_um: Bound of the periodic error that was in force, µm.
        bound_source: Where that comes from.
        certificate: Calibration that the corrections are of; empty without one.
        calibration_uncertainty_mm: Largest standard uncertainty of its corrections.
        lowest_mm: Nearest to home that the face could be.
        highest_mm: Farthest from home that it could be.
    """

    bound_um: float
    bound_source: ValueSource
    certificate: str
    calibration_uncertainty_mm: float
    lowest_mm: float
    highest_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class PlaceCheckEntry:
    """A check of the screw at several places.

    Attributes:
        check_id: Identity, sorts by time.
        rig_id: The rig whose screw it is.
        simulated: Whether that is simulated.
        sensor: Name of the sensor.
        target: Name of the target.
        lead_mm: Lead of the screw that was given.
        readings: One for each place, in the order taken.
        degrees_of_freedom: Degrees of freedom behind the scatter of touches and sweeps.
        held_against: What it is compared with.
        entered_at: When, UTC.
    """

    check_id: str
    rig_id: str
    simulated: bool
    sensor: str
    target: str
    lead_mm: float
    readings: tuple[PlaceReading, ...]
    degrees_of_freedom: float
    held_against: HeldAgainst
    entered_at: datetime


class PlaceCheckBook:
    """Checks of the screw on record.

    Every method raises `RecordsError` when the records cannot be read or written.
    """

    def __init__(self, store: Store) -> None:
        self._store = store

    def add(self, entry: PlaceCheckEntry) -> None:
        """Add a check."""
        row = {
            "check_id": entry.check_id,
            "rig_id": entry.rig_id,
            "simulated": entry.simulated,
            "sensor": entry.sensor,
            "target": entry.target,
            "lead_mm": entry.lead_mm,
            "readings": json_text([asdict(one) for one in entry.readings]),
            "degrees_of_freedom": entry.degrees_of_freedom,
            "held_against": json_text(asdict(entry.held_against)),
            "entered_at": time_text(entry.entered_at),
            "software_version": SOFTWARE_VERSION,
        }
        with self._store.writing() as connection:
            insert_chained(connection, place_checks, row)

    def every(self) -> list[PlaceCheckEntry]:
        """Return the checks of every rig, oldest first."""
        query = select(place_checks).order_by(
            place_checks.c.entered_at, place_checks.c.check_id
        )
        with self._store.reading() as connection:
            # Earlier records that are only read may lack it
            if not inspect(connection).has_table(place_checks.name):
                return []
            return [_entry_of(row) for row in connection.execute(query).mappings()]


@decodes("a check of the screw")
def _entry_of(row: StoredRow) -> PlaceCheckEntry:
    against = json.loads(row["held_against"])
    source = ValueSource(against.pop("bound_source"))
    return PlaceCheckEntry(
        check_id=row["check_id"],
        rig_id=row["rig_id"],
        simulated=bool(row["simulated"]),
        sensor=row["sensor"],
        target=row["target"],
        lead_mm=row["lead_mm"],
        readings=tuple(PlaceReading(**one) for one in json.loads(row["readings"])),
        degrees_of_freedom=row["degrees_of_freedom"],
        held_against=HeldAgainst(**against, bound_source=source),
        entered_at=time_of(row["entered_at"]),
    )
