"""How soon sensors were available after their supply came on, as on record."""

from __future__ import annotations

import random
from dataclasses import dataclass
from datetime import datetime

from rig.analysis.limits.verdict import Decision, gravest
from rig.analysis.standard.availability import Availability, availability_of
from rig.records import Store, make_run_id
from rig.records.availability_book import AvailabilityBook, AvailabilityEntry


@dataclass(frozen=True, slots=True, kw_only=True)
class AvailabilityResult:
    """One sensor, its supply switched off and on.

    Attributes:
        check_id: Identity in the records.
        rig_id: The rig.
        simulated: Whether that is simulated.
        sensor: Name of the sensor.
        part: Serial or sample number; null if nobody gave one.
        target: Name of the target.
        operator: Name of whoever answers for it; null if nobody gave it.
        temperature_c: Ambient temperature, °C; null if it is not known.
        off_s: How long the supply was off each time.
        entered_at: When, UTC.
        found: Delay and false signals, with verdicts.
        decision: The gravest of them; an output that was not as it should be by the
            end of the time watched does not conform either.
    """

    check_id: str
    rig_id: str
    simulated: bool
    sensor: str
    part: str | None
    target: str
    operator: str | None
    temperature_c: float | None
    off_s: float
    entered_at: datetime
    found: Availability
    decision: Decision


@dataclass(frozen=True, slots=True, kw_only=True)
class Availabilities:
    """All of them.

    Attributes:
        checks: Newest first.
    """

    checks: tuple[AvailabilityResult, ...]


def new_check_id(now: datetime) -> str:
    """Return an identity for switchings that end now."""
    return make_run_id(now, random.SystemRandom())


def add_availability(store: Store, entry: AvailabilityEntry) -> AvailabilityResult:
    """Put the switchings of a sensor on record and say what they show.

    Args:
        store: Open records.
        entry: The switchings.

    Raises:
        InputError: They show no delay.
        RecordsError: They cannot be kept.
    """
    result = _result(entry)
    AvailabilityBook(store).add(entry)
    return result


def availabilities(store: Store) -> Availabilities:
    """Work all of them out again from their edges.

    Args:
        store: Open records.

    Raises:
        RecordsError: The records cannot be read.
    """
    entries = AvailabilityBook(store).every()
    return Availabilities(checks=tuple(_result(one) for one in reversed(entries)))


def _result(entry: AvailabilityEntry) -> AvailabilityResult:
    found = availability_of(entry.switchings, entry.sensor)
    decisions = [verdict.decision for verdict in found.verdicts]
    if found.never:
        # Not available in the time watched, which is longer than the limit
        decisions.append(Decision.DOES_NOT_CONFORM)
    return AvailabilityResult(
        check_id=entry.check_id,
        rig_id=entry.rig_id,
        simulated=entry.simulated,
        sensor=entry.sensor.name,
        part=entry.part or None,
        target=entry.target.name,
        operator=entry.operator or None,
        temperature_c=entry.temperature_c,
        off_s=entry.off_s,
        entered_at=entry.entered_at,
        found=found,
        decision=gravest(decisions) or Decision.UNDECIDED,
    )
