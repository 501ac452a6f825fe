"""What is on record to make a batch of."""

from __future__ import annotations

from dataclasses import dataclass

from rig.records import PlanEntry, Reader, Store
from rig.records.lot_book import LotBook
from rig.records.lot_entries import LotEntry


@dataclass(frozen=True, slots=True, kw_only=True)
class BatchChoices:
    """Runs that say which part they are of, by what a batch is chosen by.

    Attributes:
        sensors: Names of their sensors; the one measured last comes first.
        targets: Names of their targets; the one measured last comes first.
        runs: How many runs say which part they are of.
        nameless: How many runs do not.
        plans: Every plan, the newest first.
        lots: Every lot, the newest first.
    """

    sensors: tuple[str, ...]
    targets: tuple[str, ...]
    runs: int
    nameless: int
    plans: tuple[PlanEntry, ...]
    lots: tuple[LotEntry, ...]


def batch_choices(store: Store) -> BatchChoices:
    """Return what a batch can be made of, all read at one moment.

    Args:
        store: Open records.

    Raises:
        RecordsError: The records cannot be read.
    """
    with store.snapshot() as moment:
        reader = Reader(moment)
        ended = [run for run in reader.runs() if run.ended_at and not run.void]
        plans, lots = reader.plans(), LotBook(moment).all_lots()
    named = [run for run in reversed(ended) if run.part]
    return BatchChoices(
        sensors=tuple(dict.fromkeys(run.sensor for run in named)),
        targets=tuple(dict.fromkeys(run.target for run in named)),
        runs=len(named),
        nameless=len(ended) - len(named),
        plans=tuple(sorted(plans, key=lambda plan: plan.created_at, reverse=True)),
        lots=tuple(sorted(lots, key=lambda lot: lot.begun_at, reverse=True)),
    )
