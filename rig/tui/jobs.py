"""Work at the rig that a place brings along, done by the thread that owns the rig."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

from rig.model.mounted import Sensor, Target
from rig.model.settings import BenchSettings
from rig.procedures.events import Event
from rig.procedures.ready_bench import Bench
from rig.procedures.run_context import RunContext
from rig.records import Store
from rig.tui.commands import Command
from rig.tui.rig_events import RigEvent
from rig.wiring import Rig


class Hands(Protocol):
    """What a job may use; in the thread that owns the rig and nowhere else.

    Attributes:
        settings: How the axis is driven.
        bench: The bench with its datum; None while there is no datum.
    """

    settings: BenchSettings
    bench: Bench | None

    def rig(self) -> Rig:
        """Return the rig.

        Raises:
            BenchError: None is connected.
        """

    def mounted(self) -> tuple[Sensor, Target]:
        """Return what is mounted.

        Raises:
            BenchError: Nobody has said so.
        """

    def mount(self, sensor: Sensor, target: Target) -> None:
        """Note what is mounted now. Another sensor or target makes the datum void."""

    def set_bench(self, bench: Bench | None) -> None:
        """Hold on to a bench with its datum, or drop it, and tell so."""

    def records(self) -> Store:
        """Return the records, opened."""

    def run_context(self) -> RunContext:
        """Return what runs are carried out with.

        Raises:
            BenchError: No rig is connected.
        """

    def tell(self, event: Event) -> None:
        """Tell what a procedure tells."""

    def post(self, event: RigEvent, /) -> None:
        """Tell anything else, such as `News` of its own."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Job(Command):
    """A command that knows itself how it is done.

    A subclass sets `DOING` and `MOVES` as every command does. A job that moves the axis
    and fails leaves no datum behind.
    """

    def carry_out(self, hands: Hands) -> None:
        """Do it.

        Raises:
            RigError: It was not done, or not to its end.
        """
        raise NotImplementedError
