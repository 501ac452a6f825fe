"""When a run that is to reach an uncertainty is done; knows no bench."""

from __future__ import annotations

import math
from typing import Protocol

from rig.analysis.run.run_figures import run_figures
from rig.model.figures import Contribution, RunFigures
from rig.model.sweeps import Run

# Fewer leave the scatter so uncertain that stopping at a lucky one would be common
LEAST_SWEEPS = 8
_NORMAL_FACTOR = 1.96  # of 95 % coverage with no end of sweeps
_SCATTER = "repeatability"


class EndsSweeps(Protocol):
    """What ends the sweeps of a run before the most there may be."""

    @property
    def picks_speeds(self) -> bool:
        """Whether sweeps are shared out over the speeds by what they cost."""

    @property
    def done(self) -> bool:
        """Whether sweeping is to end."""

    def look(self, run: Run) -> None:
        """Take the sweeps so far into account."""

    def sweeps_left(self) -> int:
        """Return how many more good sweeps it takes, as far as can be told."""

    def remark(self, figures: RunFigures) -> str:
        """Say what the figures are to be read with, as a sentence; may be empty.

        Args:
            figures: Figures after the face was touched again.
        """


class Goal:
    """An expanded uncertainty of the operate point that a run is to reach.

    Stopping as soon as a figure looks good enough favours sweeps that scatter little
    by chance (Stein 1945, Chow and Robbins 1965, from memory); that is why there is a
    least number of them.

    Attributes:
        until_mm: The expanded uncertainty.
        most: Good sweeps at which the run ends, whatever has been reached.
        picks_speeds: Whether sweeps are shared out over the speeds by what they cost.
    """

    picks_speeds = True

    def __init__(self, until_mm: float, most: int) -> None:
        self.until_mm = until_mm
        self.most = most
        self._good = -1
        self._expanded_mm: float | None = None
        self._scatter_mm = math.inf
        self._others_mm = 0.0

    def look(self, run: Run) -> None:
        """Take the sweeps so far into account."""
        good = sum(1 for sweep in run.sweeps if not sweep.void)
        if good == self._good or good == 0:
            return
        operate = run_figures(run).operate
        self._good, self._expanded_mm = good, operate.expanded_uncertainty
        self._scatter_mm = math.hypot(
            *(_effect(c) for c in operate.budget if c.name == _SCATTER)
        )
        self._others_mm = math.hypot(
            *(_effect(c) for c in operate.budget if c.name != _SCATTER)
        )

    @property
    def done(self) -> bool:
        """Whether sweeping is to end."""
        least = min(LEAST_SWEEPS, self.most)
        enough = self._reached or self._out_of_reach
        return self._good >= self.most or (self._good >= least and enough)

    def remark(self, figures: RunFigures) -> str:
        """Say why the goal was not reached, as a sentence; nothing if it was.

        Args:
            figures: Figures after the face was touched again.
        """
        expanded = figures.operate.expanded_uncertainty
        if expanded is not None and expanded <= self.until_mm:
            return ""
        has = "none" if expanded is None else f"{1000.0 * expanded:.1f} µm"
        begins = (
            f"The operate point was to have an expanded uncertainty of "
            f"{1000.0 * self.until_mm:g} µm and has {has}"
        )
        if self._out_of_reach:
            others_um = 1000.0 * _NORMAL_FACTOR * self._others_mm
            return (
                f"{begins}: touch-off, probe, axis and latch alone leave "
                f"{others_um:.1f} µm, which more sweeps cannot lower."
            )
        if self._reached:
            return (
                f"{begins}: the sweeps reached it, but the face was touched again after"
                " them, and what the datum moved by came on top."
            )
        return f"{begins}: the limit of {self.most} sweeps ended the run."

    def sweeps_left(self) -> int:
        """Return how many more good sweeps it takes, as far as can be told."""
        least = max(0, min(LEAST_SWEEPS, self.most) - max(0, self._good))
        expanded = self._expanded_mm
        if expanded is None or self._reached or self._out_of_reach:
            return least
        factor = expanded / math.hypot(self._scatter_mm, self._others_mm)
        allowed = (self.until_mm / factor) ** 2 - self._others_mm**2
        if allowed <= 0.0:
            return self.most - self._good
        wanted = math.ceil(self._good * self._scatter_mm**2 / allowed)
        return max(least, min(wanted, self.most) - self._good)

    @property
    def _reached(self) -> bool:
        return self._expanded_mm is not None and self._expanded_mm <= self.until_mm

    @property
    def _out_of_reach(self) -> bool:
        return _NORMAL_FACTOR * self._others_mm > self.until_mm


def _effect(contribution: Contribution) -> float:
    return contribution.sensitivity * contribution.standard_uncertainty
