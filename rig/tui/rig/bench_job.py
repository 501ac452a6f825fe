"""Jobs at the bench: ports, connection, what is mounted, check, touch-off, a run."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from firmware_protocol.messages import State
from rig.errors import BenchError
from rig.tui.rig.jobs import Job
from rig.tui.rig.known_rig_job import refuse_changed_rig
from rig.tui.rig.rig_events import BenchChecked, PortsListed

if TYPE_CHECKING:
    from rig.model.mounted import Sensor, Target
    from rig.procedures.run_order import RunOrder
    from rig.tui.rig.rig_access import RigAccess


@dataclass(frozen=True, slots=True, kw_only=True)
class ListPorts(Job):
    """Look which serial ports this computer has."""

    DOING: ClassVar[str] = "looking for serial ports"

    def carry_out(self, access: RigAccess) -> None:
        """List them."""
        # Deferred: pyserial is needed by nobody who works on the simulated rig
        from rig.link.serial_port import serial_ports

        access.post(PortsListed(ports=tuple(serial_ports())))


@dataclass(frozen=True, slots=True, kw_only=True)
class Connect(Job):
    """Open a rig and greet it; the one before is closed."""

    DOING: ClassVar[str] = "connecting"
    rig_name: str

    def carry_out(self, access: RigAccess) -> None:
        """Connect."""
        access.connect(self.rig_name)


@dataclass(frozen=True, slots=True, kw_only=True)
class Mount(Job):
    """Note what is mounted now. Another sensor, target or part voids the datum."""

    DOING: ClassVar[str] = "noting what is mounted"
    sensor: Sensor
    target: Target
    part: str = ""

    def carry_out(self, access: RigAccess) -> None:
        """Note it."""
        access.mount(self.sensor, self.target, part=self.part)


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckBench(Job):
    """Check the bench, touch-off included."""

    DOING: ClassVar[str] = "checking the bench"
    MOVES: ClassVar[bool] = True

    def carry_out(self, access: RigAccess) -> None:
        """Check it; a bench that is fit has its datum afterwards."""
        from rig.procedures.check import check_bench

        mover = access.rig().mover
        refuse_changed_rig(access)
        sensor, _ = access.mounted()
        access.set_bench(None)
        check = check_bench(
            mover,
            access.settings,
            access.tell,
            sensor=sensor,
            declared=access.declared_bench(),
        )
        access.set_bench(check.bench if check.fit else None)
        access.post(BenchChecked(findings=check.findings))


@dataclass(frozen=True, slots=True, kw_only=True)
class TouchOff(Job):
    """Find the datum."""

    DOING: ClassVar[str] = "touching off"
    MOVES: ClassVar[bool] = True

    def carry_out(self, access: RigAccess) -> None:
        """Touch off."""
        from rig.procedures.touch_off import touch_off

        mover = access.rig().mover
        refuse_changed_rig(access)
        access.mounted()
        access.set_bench(None)
        declared = access.declared_bench()
        access.set_bench(
            touch_off(mover, access.settings, access.tell, declared=declared)
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class CarryOutRun(Job):
    """Carry out a run.

    Attributes:
        order: What to measure.
        unfinished_run_id: The run on record to resume; empty for a new one.
    """

    DOING: ClassVar[str] = "measuring"
    MOVES: ClassVar[bool] = True
    order: RunOrder
    unfinished_run_id: str = ""

    def carry_out(self, access: RigAccess) -> None:
        """Sweep; every sweep is on disk before the next begins."""
        from rig.procedures.carry_out_run import carry_out_run
        from rig.records import Reader

        mover = access.rig().mover
        access.check_mounted(self.order.sensor, self.order.target)
        bench = access.bench
        if bench is None or mover.make_ready().state is not State.READY:
            raise BenchError("the bench has no datum", hint="touch off first")
        unfinished = None
        if self.unfinished_run_id:
            unfinished = Reader(access.records()).run(self.unfinished_run_id)
        result = carry_out_run(
            bench, self.order, access.run_context(), unfinished=unfinished
        )
        access.set_bench(result.bench)
