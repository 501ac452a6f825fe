"""What a certificate can be made of: a run, a part or a lot, if nothing forbids it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from rig.analysis.limits.verdict import GUARDED, Rule
from rig.catalogue.letterhead_file import Letterhead
from rig.errors import InputError
from rig.inquiry.lot_evidence import LotEvidence, lot_evidence
from rig.inquiry.part_results import PartResults, part_results
from rig.inquiry.recorded_run import RecordedRun, runs_to_report
from rig.inquiry.runs_behind import refuse_changed
from rig.model.attempts import Outcome
from rig.records import Store


class CertifiedKind(StrEnum):
    """What a certificate is about."""

    RUN = "run"
    PART = "part"
    LOT = "lot"


@dataclass(frozen=True, slots=True, kw_only=True)
class Certified:
    """What a certificate is about.

    Attributes:
        kind: Whether that is a run, a part or a lot.
        identity: Identity of the run or the lot, or number of the part.
        found: All that is known of it.
        simulated: Whether a simulated rig made any of it.
    """

    kind: CertifiedKind
    identity: str
    found: RecordedRun | PartResults | LotEvidence
    simulated: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Certificate:
    """A certificate under its number.

    Attributes:
        number: Number of the document.
        certified: What it is about.
        letterhead: Who makes it.
        customer: Whom it is for; may be empty.
        customer_order: Reference of the customer's order; may be empty.
        replaces: Number of the document that it replaces; empty for none.
        issued_at: When, UTC.
        issued_by: Who issues it; empty if nobody said so.
    """

    number: str
    certified: Certified
    letterhead: Letterhead
    customer: str
    customer_order: str
    replaces: str
    issued_at: datetime
    issued_by: str = ""


def certified(
    store: Store,
    kind: CertifiedKind,
    identity: str,
    *,
    rule: Rule = GUARDED,
    sensor: str | None = None,
) -> Certified:
    """Return what a certificate is to be about.

    Args:
        store: Open records.
        kind: Whether that is a run, a part or a lot.
        identity: Identity of the run or the lot, or number of the part.
        rule: Decision rule; a lot has its own.
        sensor: Name of the sensor, where parts of several have this number.

    Raises:
        InputError: A run is void, not ended, cut short or without any outcome of the
            sensor; a lot is not decided or was withdrawn; raw edges were
            changed.
        RecordsError: It is not on record.
    """
    if kind is CertifiedKind.LOT:
        return _of_lot(lot_evidence(store, identity))
    if kind is CertifiedKind.PART:
        return _of_part(part_results(store, identity, sensor=sensor, rule=rule))
    (one,) = runs_to_report(store, [identity], rule)
    _check_run(one)
    return Certified(
        kind=kind, identity=identity, found=one, simulated=_simulated([one])
    )


def _of_part(found: PartResults) -> Certified:
    for one in found.runs:
        _check_run(one)
    if not found.runs and not any(w.decision for w in found.without):
        words = ", ".join(w.result for w in found.without)
        raise InputError(
            f"part {found.part} has no result to certify: {words}",
            hint="measure it again",
        )
    return Certified(
        kind=CertifiedKind.PART,
        identity=found.part,
        found=found,
        simulated=_simulated(found.runs) or any(w.simulated for w in found.without),
    )


def _of_lot(found: LotEvidence) -> Certified:
    lot, withdrawal = found.standing.lot, found.standing.withdrawal
    if withdrawal is not None:
        raise InputError(
            f"the lot {lot.lot_id} was withdrawn: {withdrawal.reason}",
            hint="a certificate tells of a lot that stands",
        )
    if found.standing.decision is None:
        raise InputError(
            f"the lot {lot.lot_id} is not decided, and a certificate tells of a"
            " decision",
            hint="decide it first; the long report tells how far it has come",
        )
    refuse_changed(one.check for one in found.runs)
    return Certified(
        kind=CertifiedKind.LOT,
        identity=lot.lot_id,
        found=found,
        simulated=found.standing.simulated,
    )


def _check_run(one: RecordedRun) -> None:
    run, outcome = one.run, one.ending.outcome
    if outcome is not Outcome.FIGURES and not outcome.of_the_sensor:
        raise InputError(
            f"run {run.header.run_id} has no result to certify: {one.result}",
            hint="measure again; the long report tells what happened",
        )
    refuse_changed([one.check])


def _simulated(runs: Sequence[RecordedRun]) -> bool:
    return any(c.simulated for one in runs for c in one.run.conditions)
