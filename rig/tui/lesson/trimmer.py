"""Turning the trimmer, and what that changed."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from rig.analysis.batch.compare import compare_batches
from rig.errors import BenchError
from rig.model.rounding import round_to_uncertainty
from rig.tui.jobs import Hands, Job
from rig.tui.lesson.book import KeptRun


@dataclass(frozen=True, slots=True, kw_only=True)
class TurnTrimmer(Job):
    """Turn the trimmer of the simulated sensor; on a real one a hand does it.

    Neither face nor target moves, so the datum stays.

    Attributes:
        ratio: Of the new threshold to the old; below 1 is more sensitive.
    """

    DOING: ClassVar[str] = "turning the trimmer"
    ratio: float

    def carry_out(self, hands: Hands) -> None:
        """Turn it.

        Raises:
            BenchError: The rig is a real one.
        """
        simulation = hands.rig().simulation
        if simulation is None:
            raise BenchError(
                "this trimmer is turned by hand", hint="turn it, then measure"
            )
        simulation.turn_trimmer(self.ratio)


def difference_text(before: KeptRun, after: KeptRun) -> str:
    """Say by how much the operate point moved and whether that is sure."""
    values = {
        "before": before.operate_at_rest_mm,
        "after": after.operate_at_rest_mm,
    }
    if min(map(len, values.values())) < 2:
        return "It takes two sweeps at least of each to compare them."
    (pair,) = compare_batches(values).pairs
    half = 0.5 * (pair.interval.upper - pair.interval.lower)
    sure = pair.interval.lower > 0.0 or pair.interval.upper < 0.0
    words = (
        f"After less before: ({_rounded(pair.difference, half)}) mm"
        f" (95 %, from the scatter), {'a sure change' if sure else 'no sure change'}."
    )
    datums = {kept.run.header.conditions.datum.found_at for kept in (before, after)}
    if len(datums) > 1:
        words += " The datum was found anew between them: its scatter comes on top."
    return words


def _rounded(difference_mm: float, half_mm: float) -> str:
    if half_mm == 0.0:
        return f"{difference_mm:+.4f} ± 0"
    value, uncertainty = round_to_uncertainty(difference_mm, half_mm)
    return f"{value if value.startswith('-') else f'+{value}'} ± {uncertainty}"
