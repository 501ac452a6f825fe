"""How much of the ± of its newest run rests on what is assumed of a bench."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from rig.analysis.edges.bench_terms import bench_cause
from rig.model.bench_declaration import ValueSource
from rig.model.figures import Figure
from rig.records import Reader, RunFilter

NEWEST_RUNS: Final = 50  # as far back as a run of a rig is looked for


@dataclass(frozen=True, slots=True, kw_only=True)
class AssumedShare:
    """What one assumed cause makes of the ±.

    Attributes:
        cause: The cause, as the budget names it.
        share_percent: Share in the combined variance of the operate point, %.
    """

    cause: str
    share_percent: float


@dataclass(frozen=True, slots=True, kw_only=True)
class BenchEffect:
    """How much of the ± of a run rests on what was assumed of its bench.

    Attributes:
        run_id: Identity of the run: the newest of the rig that has a ±.
        started_at: When that run began, UTC.
        simulated: Whether a simulated rig made it.
        operate: Operate point of the run with budget, as it was worked out last.
        assumed_percent: Share of all that was assumed in the combined variance, %.
        assumed: Every cause that was assumed when the run was made, the largest first.
    """

    run_id: str
    started_at: datetime
    simulated: bool
    operate: Figure
    assumed_percent: float
    assumed: tuple[AssumedShare, ...]


def effects_by_rig(reader: Reader) -> dict[str, BenchEffect]:
    """Return how much rests on what is assumed, by the identity of the rig.

    Rigs without a run that has a ± among the newest `NEWEST_RUNS` are not in it.

    Raises:
        RecordsError: The records cannot be read.
    """
    newest = reader.runs(RunFilter(newest=NEWEST_RUNS))
    run_ids = [run.run_id for run in newest if run.ended_at and not run.void]
    headers = reader.headers(run_ids)
    computed = reader.latest_computations(run_ids)
    found: dict[str, BenchEffect] = {}
    for run_id in run_ids:
        if run_id not in computed:
            continue
        conditions = headers[run_id].conditions
        operate = computed[run_id].figures.operate
        if operate.expanded_uncertainty is not None:
            shares = _assumed(operate)
            found[conditions.rig_id] = BenchEffect(
                run_id=run_id,
                started_at=headers[run_id].started_at,
                simulated=conditions.simulated,
                operate=operate,
                assumed_percent=sum(one.share_percent for one in shares),
                assumed=shares,
            )
    return found


def _assumed(operate: Figure) -> tuple[AssumedShare, ...]:
    variances: defaultdict[str, float] = defaultdict(float)
    total = 0.0
    for line in operate.budget:
        variance = (line.sensitivity * line.standard_uncertainty) ** 2
        total += variance
        known = bench_cause(line.name)
        if known is not None and known[1] is ValueSource.ASSUMED:
            variances[known[0]] += variance
    shares = [
        AssumedShare(cause=cause, share_percent=100.0 * variance / total)
        for cause, variance in variances.items()
        if variance > 0.0
    ]
    return tuple(sorted(shares, key=lambda one: -one.share_percent))
