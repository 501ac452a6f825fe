"""In which order the pairs of a plan are mounted; moves nothing.

Interleaved pairs are taken in rounds, so that what changes in the course of a plan
(warm-up, humidity) does not look like a difference between materials.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from rig.records.entries import PlanItem

# The fewest that show whether a change goes on; every round costs a mounting and a
# touch-off for each pair
_ROUNDS = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Visit:
    """One mounting of one pair.

    Attributes:
        item: The pair and what is wanted of it.
        first: Good sweeps that the pair has before it, if all goes well.
        sweeps: Good sweeps that the pair is to have after it.
    """

    item: PlanItem
    first: int
    sweeps: int

    @property
    def last(self) -> bool:
        """Whether the pair is done with it."""
        return self.sweeps >= self.item.sweeps_wanted


def visits(
    items: Sequence[PlanItem], interleaved: Sequence[Sequence[int]]
) -> list[Visit]:
    """Return the mountings that a plan takes, in order.

    Args:
        items: Of the plan.
        interleaved: Groups of items, by index, whose sweeps are taken in rounds.
    """
    group_of = {index: tuple(group) for group in interleaved for index in group}
    order: list[Visit] = []
    seen: set[int] = set()
    for item in items:
        if item.index in seen:
            continue
        group = group_of.get(item.index, (item.index,))
        seen.update(group)
        order += _of_group([items[index] for index in group])
    return order


def _of_group(items: Sequence[PlanItem]) -> list[Visit]:
    rounds = 1 if len(items) == 1 else _ROUNDS
    order: list[Visit] = []
    reached = {item.index: 0 for item in items}
    for number in range(1, rounds + 1):
        for item in items:
            sweeps = _share(item, number, rounds)
            first = reached[item.index]
            if sweeps > first:
                order.append(Visit(item=item, first=first, sweeps=sweeps))
                reached[item.index] = sweeps
    return order


def _share(item: PlanItem, number: int, rounds: int) -> int:
    """Good sweeps after so many rounds: whole turns through the speeds."""
    turn = len(item.speeds_mm_s)
    turns = math.ceil(item.sweeps_wanted * number / rounds / turn)
    return min(item.sweeps_wanted, turns * turn)
