"""What `gapsweep lot decide` does: has a lot decided about, says what came of it."""

from __future__ import annotations

from datetime import UTC, datetime

from rig.analysis.acceptance.switching_rules import SwitchingState
from rig.cli.documents import emit
from rig.cli.open_rig import open_store
from rig.cli.output import say
from rig.cli.text.standard_text import FAILED_STATUS
from rig.cli.text.table import SIMULATED
from rig.inquiry.lot_decision import decide_lot
from rig.records.lot_book import LotBook, StoredDecision


def decide_lot_now(
    lot_id: str,
    *,
    count_undecided: bool,
    steady: bool,
    records: str | None,
    as_json: bool,
) -> int:
    """Decide about a lot, switch if the rules say so, and put both on record.

    Raises:
        RigError: It cannot be decided yet, or is decided already.
    """
    with open_store(records) as store:
        decision, state = decide_lot(
            LotBook(store),
            lot_id,
            now=datetime.now(UTC),
            count_undecided=count_undecided,
            steady=steady,
        )
    _say_decision(decision, state, as_json=as_json)
    return 0 if decision.accepted else FAILED_STATUS


def _say_decision(
    decision: StoredDecision, state: SwitchingState | None, *, as_json: bool
) -> None:
    if as_json:
        emit(
            {
                "simulated": decision.simulated,
                "lot_id": decision.lot_id,
                "accepted": decision.accepted,
                **decision.document,
            }
        )
        return
    if decision.simulated:
        say(SIMULATED)
    say(decision.sentence)
    if state is not None:
        say(f"next lot: {state.severity.value} inspection ({state.reason})")
        if state.discontinued:
            say("INSPECTION IS DISCONTINUED until the supplier has acted.")
