"""What of a bench's records its server has, in words: every surface shows these."""

from __future__ import annotations

from rig.inquiry.handing_in import HandInState, hand_in_state
from rig.records import Store
from rig.sheets.bench_words import utc


def hand_in_words(state: HandInState) -> tuple[str, ...]:
    """Say what was handed in now, what waits, and where the server is."""
    now: tuple[str, ...] = ()
    if state.links_handed_in is not None:
        count = state.links_handed_in
        now = (f"handed in: {count:,} links of the chain with their rows",)
    if not state.server or state.handed_in_at is None:
        return (*now, f"never handed in to a server: {_runs(state.runs_waiting)}")
    told = utc(state.handed_in_at)
    return (
        *now,
        f"bench {state.bench}: {waiting_words(state)}",
        f"server: {state.server}, which had link {state.last_link:,} on {told}",
    )


def known_to_wait(store: Store) -> str:
    """Say what of a bench's records its server has not; empty without a server.

    Raises:
        RecordsError: They cannot be read, or the note beside them is damaged.
    """
    state = hand_in_state(store)
    return f"bench {state.bench}: {waiting_words(state)}" if state.server else ""


def waiting_words(state: HandInState) -> str:
    """Say in a few words what the server has not, as far as the bench knows."""
    if state.links_missing:
        return (
            f"the server has {state.links_missing:,} links that these records do not:"
            " they are a copy from before, or another bench's"
        )
    if not state.links_waiting:
        return "all is handed in"
    if not state.runs_waiting:
        return f"{state.links_waiting:,} entries not handed in, none of a run"
    return f"{_runs(state.runs_waiting)} not handed in"


def _runs(count: int) -> str:
    return "1 run" if count == 1 else f"{count:,} runs"
