"""Plans and lots that a batch is taken from, by names that can be told apart."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from rig.inquiry.batch_choices import BatchChoices
from rig.tui.state.local_time import local_cell


@dataclass(frozen=True, slots=True, kw_only=True)
class Sources:
    """Plans and lots by the names that stand in the list.

    Attributes:
        plans: Identities of plans by name, in the order of the list.
        lots: Identities of lots likewise.
    """

    plans: Mapping[str, str] = field(default_factory=dict)
    lots: Mapping[str, str] = field(default_factory=dict)

    @property
    def names(self) -> tuple[str, ...]:
        """All names, in the order of the list."""
        return (*self.plans, *self.lots)

    def plan_ids(self, names: Iterable[str]) -> tuple[str, ...]:
        """Return the identities of the plans among these names."""
        return tuple(self.plans[name] for name in names if name in self.plans)

    def lot_ids(self, names: Iterable[str]) -> tuple[str, ...]:
        """Return the identities of the lots among these names."""
        return tuple(self.lots[name] for name in names if name in self.lots)


def sources_of(found: BatchChoices) -> Sources:
    """Name the plans and lots on record by what they are of and when they began."""
    plans = [
        (f"plan {p.title}", local_cell(p.created_at), p.plan_id) for p in found.plans
    ]
    lots = [
        (
            f"lot {x.product} {x.supplier}".rstrip(),
            local_cell(x.begun_at),
            x.lot_id,
        )
        for x in found.lots
    ]
    return Sources(plans=_named(plans), lots=_named(lots))


def _named(entries: list[tuple[str, str, str]]) -> dict[str, str]:
    named: dict[str, str] = {}
    for words, begun, identity in entries:
        name = f"{begun} {words}"
        named[f"{name} ({identity})" if name in named else name] = identity
    return named


def found_words(found: BatchChoices) -> str:
    """Say how many runs a batch can be made of."""
    if not found.runs:
        return "No run on record says which part it is of: a batch is made of parts."
    words = f"{found.runs} runs on record say which part they are of."
    if found.nameless:
        words += f" {found.nameless} do not: a plan, lot, sensor or target must leave"
        words += " them out."
    return words
