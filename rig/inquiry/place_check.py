"""The periodic error of a screw by one sensor at several places: found, kept, judged.

It needs no instrument, so it is a second opinion on what is declared or calibrated.
"""

from __future__ import annotations

import math
import random
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from enum import StrEnum

from rig.analysis.axis.harmonic import Harmonic
from rig.analysis.axis.place_advice import advised_places_mm
from rig.analysis.axis.place_fit import PlaceFit, place_fit
from rig.errors import InputError
from rig.inquiry.declared_bench import declare_bench
from rig.inquiry.swept_places import (
    calibrated_readings,
    readings_of_runs,
    readings_on_record,
)
from rig.model.bench_declaration import (
    BenchDeclaration,
    DeclaredValue,
    ValueSource,
    declared_value,
    knowledge_of,
)
from rig.model.bench_items import LEAD, PERIODIC
from rig.model.settings import BenchSettings
from rig.model.sweeps import Run
from rig.records import Store, Writer, make_run_id
from rig.records.place_checks import HeldAgainst, PlaceCheckBook, PlaceCheckEntry


class PlaceVerdict(StrEnum):
    """How what was found stands to what is declared."""

    AGREES = "agrees with what is declared"
    EXCEEDS = "exceeds what is declared"
    UNDECIDED = "cannot be told from what is declared"


@dataclass(frozen=True, slots=True, kw_only=True)
class PlaceRow:
    """One place.

    Attributes:
        run_id: The run that it comes from.
        face_mm: Where the face was, mm from home.
        phase_turns: Place of the face within a turn of the screw, 0 to 1.
        minutes: Middle of the sweeps, minutes after that of the first place.
        operate_mm: Operate gap by the commanded scale.
        release_mm: Release gap by the commanded scale.
        operate_residual_mm: Operate gap less the fit.
        release_residual_mm: Release gap less the fit.
    """

    run_id: str
    face_mm: float
    phase_turns: float
    minutes: float
    operate_mm: float
    release_mm: float
    operate_residual_mm: float
    release_residual_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class PlaceCheckResult:
    """What one sensor at several places says of the screw.

    Attributes:
        check_id: Identity in the records.
        rig_id: The rig whose screw it is.
        simulated: Whether that is simulated.
        sensor: Name of the sensor.
        target: Name of the target.
        lead_mm: Lead of the screw that the fit rests on.
        entered_at: When, UTC.
        places: One row a place, in the order taken.
        fit: Amplitudes, phases and what the fit falls short of.
        bound_um: Bound of the periodic error that follows: amplitude and expanded
            uncertainty, and the second harmonic's amplitude where it is told from 0.
        declared_um: Bound that was in force, declared or assumed.
        declared_source: Where that comes from.
        verdict: How the two stand to one another.
        certificate: The calibration that was in force; null without one that holds at
            every place.
        calibrated: What is left after its corrections; null likewise.
        calibration_holds: Whether nothing is left beyond its uncertainty; null
            likewise.
        taken_over: Whether that bound is the one that is declared now.
        advice_mm: Where to clamp the face next, mm from home; empty if all phases are
            seen.
    """

    check_id: str
    rig_id: str
    simulated: bool
    sensor: str
    target: str
    lead_mm: float
    entered_at: datetime
    places: tuple[PlaceRow, ...]
    fit: PlaceFit
    bound_um: float
    declared_um: float
    declared_source: ValueSource
    verdict: PlaceVerdict
    certificate: str | None
    calibrated: Harmonic | None
    calibration_holds: bool | None
    taken_over: bool
    advice_mm: tuple[float, ...]


def lead_of_screw_mm(store: Store, rig_id: str, given_mm: float | None) -> float:
    """Return the lead that is given, or declared of the rig.

    Args:
        store: Open records.
        rig_id: Identity of the rig.
        given_mm: Lead that was given; None if it was not.

    Raises:
        InputError: It is neither, or not above 0.
        RecordsError: The records cannot be read.
    """
    lead_mm = given_mm
    if lead_mm is None:
        declared = Writer(store).bench_in_force(rig_id)
        lead_mm = {one.key: one.value for one in declared.values}.get(LEAD, 0.0)
    if not lead_mm > 0.0:
        raise InputError(
            "the lead of the screw is not known, so its turns cannot be found",
            hint=f"give --lead-mm, or `gapsweep bench set {LEAD}=2 --source maker`",
        )
    return lead_mm


def add_place_check(
    store: Store,
    runs: Sequence[Run],
    *,
    lead_mm: float,
    room_mm: tuple[float, float],
    now: datetime,
) -> PlaceCheckResult:
    """Fit the periodic error to runs at several places and put the check on record.

    Args:
        store: Open records.
        runs: One run for each place, of one sensor and target, in the order taken.
        lead_mm: Lead of the screw.
        room_mm: Lowest and highest place of the face, mm from home.
        now: Time of entry, UTC.

    Raises:
        InputError: The places are too few, leave phases of the screw unseen, or the
            sensor's distances show nothing of it.
        RecordsError: It cannot be kept.
    """
    readings, kept, calibration_mm = readings_of_runs(runs, lead_mm)
    header = runs[0].header
    conditions = header.conditions
    known = conditions.bench or knowledge_of(
        BenchDeclaration(), touch_speed_mm_s=BenchSettings().touch_speed_mm_s
    )
    (bound,) = [one for one in known.values if one.key == PERIODIC]
    calibration = conditions.calibration
    entry = PlaceCheckEntry(
        check_id=make_run_id(now, random.SystemRandom()),
        rig_id=conditions.rig_id,
        simulated=conditions.simulated,
        sensor=header.sensor.name,
        target=header.target.name,
        lead_mm=lead_mm,
        readings=kept,
        degrees_of_freedom=readings.degrees_of_freedom,
        held_against=HeldAgainst(
            bound_um=bound.value,
            bound_source=bound.source,
            certificate="" if calibration is None else calibration.certificate,
            calibration_uncertainty_mm=calibration_mm,
            lowest_mm=room_mm[0],
            highest_mm=room_mm[1],
        ),
        entered_at=now,
    )
    result = _result(entry, Writer(store).bench_in_force(entry.rig_id))
    PlaceCheckBook(store).add(entry)
    return result


def newest_place_checks(store: Store) -> tuple[PlaceCheckResult, ...]:
    """Work out again the newest check of every rig.

    Args:
        store: Open records.

    Raises:
        RecordsError: The records cannot be read.
    """
    newest = {entry.rig_id: entry for entry in PlaceCheckBook(store).every()}
    writer = Writer(store)
    return tuple(
        _result(entry, writer.bench_in_force(rig_id))
        for rig_id, entry in newest.items()
    )


def declare_bound(
    store: Store, result: PlaceCheckResult, now: datetime
) -> PlaceCheckResult:
    """Declare the bound that a check gave; who declares it names the check.

    Args:
        store: Open records.
        result: The check.
        now: Time of entry, UTC.

    Raises:
        InputError: The bound is larger than any that is taken.
        RecordsError: It cannot be kept.
    """
    declare_bench(
        store,
        result.rig_id,
        BenchDeclaration(values=(_measured(result.bound_um),)),
        author=f"check of the screw {result.check_id}",
        now=now,
        whole=False,
    )
    return replace(result, taken_over=True)


def _measured(bound_um: float) -> DeclaredValue:
    return declared_value(PERIODIC, bound_um, ValueSource.MEASURED)


def _result(entry: PlaceCheckEntry, in_force: BenchDeclaration) -> PlaceCheckResult:
    fit = place_fit(readings_on_record(entry))
    against = entry.held_against
    amplitude_um, uncertainty_um = _in_um(fit.first)
    bound_um = math.ceil(1e5 * fit.bound_mm) / 100.0  # rounding takes nothing from it
    corrected = calibrated_readings(entry)
    left = None if corrected is None else place_fit(corrected).first
    holds = None
    if left is not None:
        left_um, left_u_um = _in_um(left)
        own_um = 2000.0 * against.calibration_uncertainty_mm
        holds = not left.told or left_um <= left_u_um + own_um
    return PlaceCheckResult(
        check_id=entry.check_id,
        rig_id=entry.rig_id,
        simulated=entry.simulated,
        sensor=entry.sensor,
        target=entry.target,
        lead_mm=entry.lead_mm,
        entered_at=entry.entered_at,
        places=_rows(entry, fit),
        fit=fit,
        bound_um=bound_um,
        declared_um=against.bound_um,
        declared_source=against.bound_source,
        verdict=_verdict(amplitude_um - uncertainty_um, bound_um, against.bound_um),
        certificate=None if left is None else against.certificate,
        calibrated=left,
        calibration_holds=holds,
        taken_over=_measured(bound_um) in in_force.values,
        advice_mm=advised_places_mm(
            [one.closing_mm for one in entry.readings],
            lead_mm=entry.lead_mm,
            lowest_mm=against.lowest_mm,
            highest_mm=against.highest_mm,
        ),
    )


def _verdict(least_um: float, most_um: float, declared_um: float) -> PlaceVerdict:
    if least_um > declared_um:
        return PlaceVerdict.EXCEEDS
    return PlaceVerdict.AGREES if most_um <= declared_um else PlaceVerdict.UNDECIDED


def _in_um(harmonic: Harmonic) -> tuple[float, float]:
    found = harmonic.amplitude
    return 1000.0 * found.value, 1000.0 * (found.expanded_uncertainty or 0.0)


def _rows(entry: PlaceCheckEntry, fit: PlaceFit) -> tuple[PlaceRow, ...]:
    return tuple(
        PlaceRow(
            run_id=one.run_id,
            face_mm=one.closing_mm,
            phase_turns=one.closing_mm / entry.lead_mm % 1.0,
            minutes=one.time_s / 60.0,
            operate_mm=one.operate_mm,
            release_mm=one.release_mm,
            operate_residual_mm=float(operate),
            release_residual_mm=float(release),
        )
        for one, (operate, release) in zip(
            entry.readings, fit.residuals_mm, strict=True
        )
    )
