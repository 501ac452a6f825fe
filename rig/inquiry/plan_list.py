"""The plans on record, oldest first."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from rig.records import Reader, Store


@dataclass(frozen=True, slots=True, kw_only=True)
class ListedPlan:
    """One plan of the list.

    Attributes:
        plan_id: Identity, as --plan takes it.
        title: What the user calls it.
        simulated: Whether it is carried out on a simulated rig.
        created_at: When it began, UTC.
        state: How far it has come: running, stopped or done.
        pairs: Number of runs that it asks for.
    """

    plan_id: str
    title: str
    simulated: bool
    created_at: datetime
    state: str
    pairs: int


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanList:
    """Plans on record, oldest first."""

    plans: tuple[ListedPlan, ...]


def plan_list(store: Store) -> PlanList:
    """List the plans.

    Raises:
        RecordsError: The records cannot be read.
    """
    return PlanList(
        plans=tuple(
            ListedPlan(
                plan_id=entry.plan_id,
                title=entry.title,
                simulated=entry.simulated,
                created_at=entry.created_at,
                state=entry.state.value,
                pairs=len(entry.items),
            )
            for entry in Reader(store).plans()
        )
    )
