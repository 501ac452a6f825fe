"""The parts of a lot that do not conform, with what each was measured by."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime

from rig.analysis.limits.verdict import Decision, Verdict
from rig.catalogue.letterhead_file import Letterhead
from rig.errors import InputError
from rig.inquiry.lot_evidence import LotEvidence, lot_evidence
from rig.inquiry.lot_terms import LotTerms
from rig.inquiry.lot_verdict import judge_run
from rig.inquiry.runs_behind import RunBehind, refuse_changed
from rig.records import Store
from rig.records.lot_entries import LotPart


@dataclass(frozen=True, slots=True, kw_only=True)
class FailedPart:
    """A part that does not conform.

    Attributes:
        reading: The reading on record that counts.
        verdicts: Verdicts that fail it, by symbol or name of the figure; empty where it
            was judged without a run.
        run: Run behind it; None without one.
    """

    reading: LotPart
    verdicts: Mapping[str, Verdict] = field(default_factory=dict)
    run: RunBehind | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Nonconformity:
    """The parts of a lot that do not conform.

    Attributes:
        lot: The lot with all that is known of it.
        parts: Parts that do not conform, in the order inspected.
    """

    lot: LotEvidence
    parts: tuple[FailedPart, ...]

    @property
    def simulated(self) -> bool:
        """Whether a simulated rig made any of them."""
        return any(one.reading.simulated for one in self.parts)


@dataclass(frozen=True, slots=True, kw_only=True)
class NonconformityLetter:
    """A nonconformity under its number, to be sent.

    Attributes:
        number: Number of the document.
        found: What does not conform.
        letterhead: Who sends it.
        issued_at: When, UTC.
        issued_by: Who issues it; empty if nobody said so.
    """

    number: str
    found: Nonconformity
    letterhead: Letterhead
    issued_at: datetime
    issued_by: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class FailedPartDocument:
    """A part that does not conform, in the JSON document.

    Attributes:
        part: Number of the part.
        reason: Reason in words, with the decision rule.
        value: Value of the figure that is kept; None where nothing was measured.
        expanded_uncertainty: Expanded uncertainty of that value; None if there is none.
        unit: Unit of both; empty without a value.
        verdicts: Verdicts that fail it, by symbol or name of the figure.
        run_id: Run behind it; empty without one.
        entered_at: When it was put on record, UTC.
        simulated: Whether a simulated rig made it.
    """

    part: str
    reason: str
    value: float | None
    expanded_uncertainty: float | None
    unit: str
    verdicts: Mapping[str, Verdict]
    run_id: str
    entered_at: datetime
    simulated: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class NonconformityDocument:
    """The parts of a lot that do not conform, as the JSON document.

    Attributes:
        simulated: Whether a simulated rig made any of them.
        lot_id: Identity of the lot.
        product: Product that the lot is of.
        supplier: Supplier of the lot; may be empty.
        size: Number of parts in the lot.
        sample: Number of parts to inspect.
        inspected: Number of parts inspected.
        accepted: Whether the lot is accepted; None as long as it is not decided.
        rule: Name of the decision rule for a part.
        parts: Parts that do not conform.
    """

    simulated: bool
    lot_id: str
    product: str
    supplier: str
    size: int
    sample: int
    inspected: int
    accepted: bool | None
    rule: str
    parts: tuple[FailedPartDocument, ...]


def nonconformity(store: Store, lot_id: str) -> Nonconformity:
    """Return the parts of a lot that do not conform.

    Raises:
        InputError: Every part inspected conforms or is undecided, raw edges behind one
            that fails were changed, or the lot was withdrawn.
        RecordsError: The lot is not on record.
    """
    return nonconformity_of(lot_evidence(store, lot_id))


def nonconformity_of(found: LotEvidence) -> Nonconformity:
    """Return the parts of a lot that do not conform.

    Raises:
        InputError: See `nonconformity`.
    """
    standing = found.standing
    if (withdrawal := standing.withdrawal) is not None:
        raise InputError(
            f"the lot {standing.lot.lot_id} was withdrawn: {withdrawal.reason}",
            hint="what was begun by mistake is not sent to a supplier",
        )
    behind = {one.run.header.run_id: one for one in found.runs}
    failing = Decision.DOES_NOT_CONFORM.value
    parts = tuple(
        _failed(standing.terms, part, behind.get(part.run_id))
        for part in standing.parts
        if part.decision == failing
    )
    if not parts:
        raise InputError(
            f"no part of the lot {standing.lot.lot_id} is on record that does not"
            " conform",
            hint="`gapsweep lot show` tells how its inspection stands",
        )
    refuse_changed(one.run.check for one in parts if one.run is not None)
    return Nonconformity(lot=found, parts=parts)


def nonconformity_document(found: Nonconformity) -> NonconformityDocument:
    """Return the JSON document."""
    standing = found.lot.standing
    lot, decision = standing.lot, standing.decision
    return NonconformityDocument(
        simulated=found.simulated,
        lot_id=lot.lot_id,
        product=lot.product,
        supplier=lot.supplier,
        size=lot.size,
        sample=standing.sample,
        inspected=len(standing.parts),
        accepted=None if decision is None else decision.accepted,
        rule=found.lot.rule,
        parts=tuple(
            FailedPartDocument(
                part=one.reading.part,
                reason=one.reading.reason,
                value=one.reading.value,
                expanded_uncertainty=one.reading.expanded_uncertainty,
                unit=one.reading.unit,
                verdicts=one.verdicts,
                run_id=one.reading.run_id,
                entered_at=one.reading.entered_at,
                simulated=one.reading.simulated,
            )
            for one in found.parts
        ),
    )


def _failed(terms: LotTerms, part: LotPart, run: RunBehind | None) -> FailedPart:
    """Hold the run against the terms once more, for the figures that fail.

    What is on record decides. Where the figures were worked out anew since, or the run
    has none, its words stand alone.
    """
    if run is None or run.computation is None:
        return FailedPart(reading=part, run=run)
    try:
        judged = judge_run(terms, run.run, run.computation.figures)
    except InputError:
        return FailedPart(reading=part, run=run)
    failing = {
        name: one
        for name, one in judged.verdicts.items()
        if one.decision is Decision.DOES_NOT_CONFORM
    }
    return FailedPart(reading=part, verdicts=failing, run=run)
