"""In which order the pairs of a plan are mounted, and which is due; moves nothing.

Interleaved pairs are taken in rounds, so that what changes in the course of a plan
(warm-up, humidity) does not look like a difference between materials.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace

from rig.catalogue.plan_file import interleaved_runs
from rig.errors import InputError
from rig.records.entries import ItemProgress, PlanEntry, PlanItem

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
        place: Place in the order of the plan, from 0.
        again: Whether the pair is measured although it is settled already.
    """

    item: PlanItem
    first: int
    sweeps: int
    place: int = 0
    again: bool = False

    @property
    def last(self) -> bool:
        """Whether the pair is done with it."""
        return self.sweeps >= self.item.sweeps_wanted

    def is_due(self, progress: ItemProgress) -> bool:
        """Return whether it has yet to be made, by what is on record for its pair."""
        if progress.settled:
            return self.again
        begun = progress.to_resume()
        return begun is None or begun.good_sweeps < self.sweeps or self.last


def visits_of(entry: PlanEntry) -> tuple[Visit, ...]:
    """Return the mountings that a plan on record takes, in order.

    Which pairs are taken in rounds is read from the text that was put on record.

    Raises:
        InputError: The text does not fit the items on record.
    """
    interleaved = interleaved_runs(entry.toml_text, f"plan {entry.plan_id}")
    if any(index >= len(entry.items) for group in interleaved for index in group):
        raise InputError(
            f"plan {entry.plan_id} has {len(entry.items)} items on record, and its "
            "text asks for more",
            hint="begin it again from its file",
        )
    return visits(entry.items, interleaved)


def visits(
    items: Sequence[PlanItem], interleaved: Sequence[Sequence[int]]
) -> tuple[Visit, ...]:
    """Return the mountings that a plan takes, in order.

    Args:
        items: Items of the plan.
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
    return tuple(replace(visit, place=place) for place, visit in enumerate(order))


def next_due(
    order: Sequence[Visit],
    progress: Sequence[ItemProgress],
    *,
    skipped: Collection[int] = (),
    after: int = -1,
) -> Visit | None:
    """Return the mounting that is due; None if there is none.

    Args:
        order: The mountings of the plan.
        progress: What is on record for each of its items.
        skipped: Items that are left out, by index.
        after: Place of the mounting before; those behind it come first.
    """
    due = [
        visit
        for visit in order
        if visit.item.index not in skipped and visit.is_due(progress[visit.item.index])
    ]
    later = [visit for visit in due if visit.place > after]
    return next(iter(later or due), None)


def visit_of_item(
    order: Sequence[Visit], progress: Sequence[ItemProgress], index: int
) -> Visit:
    """Return the mounting that an item is due for; a whole new one if a run counts."""
    own = [visit for visit in order if visit.item.index == index]
    due = [visit for visit in own if visit.is_due(progress[index])]
    if due:
        return due[0]
    last = own[-1]
    return replace(last, first=0, sweeps=last.item.sweeps_wanted, again=True)


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
