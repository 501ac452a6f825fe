"""When a run that is for its verdict alone is done; knows no bench."""

from __future__ import annotations

from collections.abc import Callable

from rig.analysis.limits.verdict import Decision
from rig.analysis.run.run_figures import run_figures
from rig.analysis.standard.early_verdict import (
    EARLY_COVERAGE,
    clear_of_limits,
    widened,
)
from rig.model.figures import RunFigures
from rig.model.sweeps import Run

# Decides by the figures of a run; None where nothing decides
Judge = Callable[[Run, RunFigures], Decision | None]


class VerdictGoal:
    """A verdict that is clear, or all sweeps.

    Attributes:
        picks_speeds: Whether sweeps are shared out over the speeds by what they cost;
            here they take their turn.
    """

    picks_speeds = False

    def __init__(self, judge: Judge, most: int) -> None:
        """Take what decides, and the good sweeps that end the run at the latest."""
        self._judge = judge
        self._most = most
        self._good = 0
        self._clear: Decision | None = None

    def look(self, run: Run) -> None:
        """Take the sweeps so far into account."""
        good = sum(1 for sweep in run.sweeps if not sweep.void)
        if good == self._good:
            return
        self._good = good
        # The last look is the verdict itself
        if good < self._most:
            figures = widened(run_figures(run))
            self._clear = clear_of_limits(self._judge(run, figures))

    @property
    def done(self) -> bool:
        """Whether sweeping is to end."""
        return self._clear is not None or self._good >= self._most

    def sweeps_left(self) -> int:
        """Return how many more good sweeps it takes at most."""
        return 0 if self.done else self._most - self._good

    def remark(self, _figures: RunFigures) -> str:
        """Say that the run ended early and why; nothing if it did not."""
        if self._clear is None:
            return ""
        return (
            f"The run ended after {self._good} of {self._most} sweeps: the part"
            f" {self._clear.value} with intervals of {100.0 * EARLY_COVERAGE:g} % too."
        )
