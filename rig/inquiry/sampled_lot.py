"""One lot of a product: what its sample came to, in numbers."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from statistics import fmean, stdev

from rig.analysis.limits.verdict import Decision
from rig.inquiry.lot import LotStanding, counts_of
from rig.records.lot_entries import LotPart

# How a sentence of a verdict goes on; see `analysis.limits.verdict`
_FAILS_A_LIMIT = f" {Decision.DOES_NOT_CONFORM.value} against "


@dataclass(frozen=True, slots=True, kw_only=True)
class SampledLot:
    """One lot of a product.

    Attributes:
        lot_id: Identity of the lot.
        begun_at: When its inspection began, UTC.
        size: Number of parts in the lot.
        sample: Number of parts to inspect.
        inspected: Number of parts inspected.
        failing: Parts that do not conform.
        undecided: Parts that are undecided.
        failures: Limits that those parts do not meet, all together; a part judged
            otherwise counts as one.
        no_longer_failing: Parts that failed in an earlier reading and do not in the
            last one.
        accepted: Whether the lot is accepted; None as long as it is not decided.
        figure: Figure that is kept with each part.
        unit: Unit of mean and standard deviation; empty without values.
        values: Number of parts with a value.
        mean: Mean of their values; None without any.
        standard_deviation: Standard deviation of their values; None below 2.
        simulated: Whether a simulated part is behind it.
    """

    lot_id: str
    begun_at: datetime
    size: int
    sample: int
    inspected: int
    failing: int
    undecided: int
    failures: int
    no_longer_failing: int
    accepted: bool | None
    figure: str
    unit: str
    values: int
    mean: float | None
    standard_deviation: float | None
    simulated: bool

    @property
    def cut_short(self) -> bool:
        """Whether it was decided before the whole sample was inspected."""
        return self.accepted is not None and self.inspected < self.sample


def sampled_lot_of(standing: LotStanding) -> SampledLot:
    """Sum up the sample of a lot."""
    parts, decision = standing.parts, standing.decision
    counts = counts_of(parts)
    known = [part.value for part in parts if part.value is not None]
    return SampledLot(
        lot_id=standing.lot.lot_id,
        begun_at=standing.lot.begun_at,
        size=standing.lot.size,
        sample=standing.sample,
        inspected=len(parts),
        failing=counts[Decision.DOES_NOT_CONFORM.value],
        undecided=counts[Decision.UNDECIDED.value],
        failures=_failures(parts),
        no_longer_failing=_no_longer(standing),
        accepted=None if decision is None else decision.accepted,
        figure=standing.terms.figure,
        unit=next((part.unit for part in parts if part.unit), ""),
        values=len(known),
        mean=fmean(known) if known else None,
        standard_deviation=_deviation(known),
        simulated=standing.simulated,
    )


def _deviation(known: Sequence[float]) -> float | None:
    if len(known) < 2:
        return None
    found = stdev(known)
    return found if math.isfinite(found) else None


def _no_longer(standing: LotStanding) -> int:
    failing = Decision.DOES_NOT_CONFORM.value
    ever = {one.part for one in standing.readings if one.decision == failing}
    return len(ever - {one.part for one in standing.parts if one.decision == failing})


def _failures(parts: Sequence[LotPart]) -> int:
    return sum(
        max(1, part.reason.count(_FAILS_A_LIMIT))
        for part in parts
        if part.decision == Decision.DOES_NOT_CONFORM.value
    )
