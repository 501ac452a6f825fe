"""Progress on standard error: what will move, remarks, a bar if somebody looks on."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

from rig.cli.output import is_quiet, say_on_stderr
from rig.model.plain_text import shown
from rig.procedures.events import (
    Event,
    PlanItemBegan,
    Remarked,
    RunBegan,
    StepBegan,
    SweepEnded,
    Tell,
)
from rig.procedures.motions_ahead import MotionsAhead, motions_text
from rig.sheets.duration_words import left_text

if TYPE_CHECKING:
    from rich.progress import Progress, TaskID


@contextmanager
def progress_on_stderr(motions: MotionsAhead = (), when: str = "") -> Iterator[Tell]:
    """Show what a procedure tells; yields what to give it as `tell`.

    Args:
        motions: What it will move, in order; said before the first of them. None where
            no machine can move.
        when: How often; empty for once.
    """
    ahead = motions_text(motions, when) if motions else ""
    if is_quiet():
        yield _Motions(ahead).tell
        return
    if not sys.stderr.isatty():
        yield _Remarks(ahead).tell
        return
    # Deferred: not needed where nobody looks on
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn

    console = Console(stderr=True)
    with Progress(
        TextColumn("{task.description}", markup=False),
        BarColumn(bar_width=30),
        TextColumn("{task.completed:.0f}/{task.total:.0f}"),
        TimeElapsedColumn(),
        console=console,
        transient=True,
    ) as progress:
        yield _Bars(progress, ahead).tell


class _Motions:
    """Once what will move, and nothing else."""

    def __init__(self, ahead: str) -> None:
        self._ahead = ahead

    def tell(self, event: Event) -> None:
        """Show an event."""
        if isinstance(event, StepBegan):
            if self._ahead:
                say_on_stderr(self._ahead)
            self._ahead = ""


class _Remarks(_Motions):
    """Remarks, and once what will move."""

    def tell(self, event: Event) -> None:
        """Show an event."""
        super().tell(event)
        if isinstance(event, Remarked):
            say_on_stderr(event.sentence)


class _Bars:
    """One bar for the sweeps, and one for the plan if there is a plan."""

    def __init__(self, progress: Progress, ahead: str) -> None:
        self._progress = progress
        self._ahead = ahead
        self._plan: TaskID | None = None
        self._sweeps: TaskID | None = None

    def tell(self, event: Event) -> None:
        """Show an event."""
        progress = self._progress
        if isinstance(event, PlanItemBegan):
            if self._plan is None:
                self._plan = progress.add_task("plan", total=event.count)
            pair = f"plan: {event.sensor.name} against {event.target.name}"
            pair = shown(pair) + left_text(event.seconds_left)
            progress.update(self._plan, completed=event.index, description=pair)
        elif isinstance(event, RunBegan):
            if self._sweeps is not None:
                progress.remove_task(self._sweeps)
            self._sweeps = progress.add_task(
                "sweeps", total=event.header.sweeps_wanted, completed=event.good
            )
        elif isinstance(event, SweepEnded) and self._sweeps is not None:
            words = f"sweeps{left_text(event.seconds_left)}"
            progress.update(self._sweeps, completed=event.good, description=words)
        elif isinstance(event, StepBegan):
            self._say(self._ahead)
            self._ahead = ""
            if self._sweeps is None:
                self._sweeps = progress.add_task(event.what, total=1)
            progress.update(self._sweeps, description=event.what)
        elif isinstance(event, Remarked):
            self._say(event.sentence)

    def _say(self, text: str) -> None:
        if text:
            self._progress.console.print(shown(text), markup=False, highlight=False)
