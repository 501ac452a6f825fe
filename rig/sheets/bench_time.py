"""How long a job took beside the least time in which it can be done, in words."""

from __future__ import annotations

from collections.abc import Sequence

from rig.model.phases import PhaseTime


def bench_time_sentence(phases: Sequence[PhaseTime]) -> str:
    """Return one sentence with the time of each part and of all of them.

    Args:
        phases: Parts of one job, at least one.
    """
    whole_s = sum(each.seconds for each in phases)
    floors = [each.floor_s for each in phases if each.floor_s is not None]
    if len(floors) < len(phases):
        parts = ", ".join(f"{each.name} {each.seconds:.1f} s" for each in phases)
        return f"Bench time {whole_s:.1f} s: {parts}."
    parts = ", ".join(
        f"{each.name} {each.seconds:.1f} s ({each.floor_s:.1f} s)" for each in phases
    )
    return (
        f"Bench time {whole_s:.1f} s, of which the axis needs {sum(floors):.1f} s at"
        f" least; part by part, with the least in brackets: {parts}."
    )
