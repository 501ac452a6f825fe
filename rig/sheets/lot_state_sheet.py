"""How severe the next inspection is, in words."""

from __future__ import annotations

from typing import Final

from rig.analysis.acceptance.switching_rules import SwitchingState
from rig.inquiry.lot_state import LotState

DISCONTINUED: Final = "INSPECTION IS DISCONTINUED until the supplier has acted."


def state_sentences(found: LotState) -> tuple[str, ...]:
    """Say how severe the next inspection of a product is, and why."""
    supplier = f" from {found.supplier}" if found.supplier else ""
    return _sentences(f"{found.product}{supplier}", found.state)


def next_lot_words(state: SwitchingState | None) -> str:
    """Say what follows from a decision for the next lot; empty if nothing does."""
    return "" if state is None else " ".join(_sentences("Next lot", state))


def _sentences(whose: str, state: SwitchingState) -> tuple[str, ...]:
    first = f"{whose}: {state.severity.value} inspection ({state.reason})."
    return (first, DISCONTINUED) if state.discontinued else (first,)
