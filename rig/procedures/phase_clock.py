"""How long each part of a job took, by the rig's own clock."""

from __future__ import annotations

from collections.abc import Callable

from rig.model.phases import Phase, PhaseTime
from rig.model.settings import BenchSettings
from rig.model.sweeps import Run
from rig.procedures.events import (
    DatumFound,
    Event,
    Located,
    RunEnded,
    StepBegan,
    Tell,
)
from rig.procedures.job_floor import shape_of_run, with_floors


class PhaseClock:
    """Passes events on and notes when a part of the job begins.

    Attributes:
        phase: The part that goes on; None before the first and after the end.
    """

    _run: Run | None = None
    _face_known = False

    def __init__(self, tell: Tell, now_s: Callable[[], float]) -> None:
        self.phase: Phase | None = None
        self._tell = tell
        self._now_s = now_s
        self._since_s = 0.0
        self._seconds: dict[Phase, float] = {}

    def tell(self, event: Event) -> None:
        """Note what began, and pass the event on."""
        match event:
            case StepBegan(phase=Phase() as phase):
                self._enter(phase)
            case Located():
                self._enter(Phase.SWEEPS)
            case DatumFound(face_known=face_known):
                self._face_known = face_known
            case RunEnded(run=run):
                self._run = run
                self._enter(None)
        self._tell(event)

    @property
    def times(self) -> tuple[PhaseTime, ...]:
        """Parts that ended, in the order of a job."""
        return tuple(
            PhaseTime(name=phase, seconds=self._seconds[phase])
            for phase in Phase
            if phase in self._seconds
        )

    def times_and_floors(self, settings: BenchSettings) -> tuple[PhaseTime, ...]:
        """Return the parts of a run that ended, each with its least time.

        Args:
            settings: How the axis was driven.
        """
        shape = None
        if self._run is not None:
            shape = shape_of_run(self._run, face_known=self._face_known)
        return self.times if shape is None else with_floors(self.times, shape, settings)

    def _enter(self, phase: Phase | None) -> None:
        now_s = self._now_s()
        if self.phase is not None:
            before_s = self._seconds.get(self.phase, 0.0)
            self._seconds[self.phase] = before_s + now_s - self._since_s
        self.phase, self._since_s = phase, now_s
