"""Exported rows of how soon sensors were available, which rest on limits."""

from __future__ import annotations

from collections.abc import Iterator

from rig.inquiry.availability_checks import AvailabilityResult, availabilities
from rig.records import Reader
from rig.records.export_choice import ExportChoice
from rig.records.mapping import Row


def availability_rows(reader: Reader, chosen: ExportChoice) -> Iterator[Row]:
    """Yield a row for each sensor whose supply was switched, oldest first."""
    belonging = chosen.belonging
    for one in reversed(availabilities(reader.store).checks):
        part = one.part or ""
        if belonging is None or belonging.admits(one.entered_at, part=part):
            yield _row(one)


def _row(one: AvailabilityResult) -> Row:
    found = one.found
    delay = found.delay
    return {
        "check_id": one.check_id,
        "simulated": one.simulated,
        "rig_id": one.rig_id,
        "sensor": one.sensor,
        "part": one.part or "",
        "target": one.target,
        "operator": one.operator or "",
        "temperature_c": one.temperature_c,
        "off_time_s": one.off_s,
        "switchings": found.n,
        "delay_ms": None if delay is None else delay.value,
        "delay_expanded_uncertainty_ms": None
        if delay is None
        else delay.expanded_uncertainty,
        "mean_delay_ms": found.mean_ms,
        "false_signal_ms": found.false_signal.value,
        "false_signals": found.false_signals,
        "never_available": found.never,
        "verdict": one.decision.value,
        "entered_at": one.entered_at,
    }
