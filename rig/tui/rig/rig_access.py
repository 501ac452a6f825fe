"""The rig, its bench and the records, as the one thread that owns them holds them.

Jobs work through this. `link` may be read from other threads. Knows no screen.
"""

from __future__ import annotations

import contextlib
from dataclasses import replace
from typing import TYPE_CHECKING

from firmware_protocol.messages import State
from rig.errors import (
    BenchError,
    InputError,
    LinkError,
    LinkLost,
    NotARig,
    ReplyTimeout,
    RigError,
    RigRestarted,
    RigTaken,
)
from rig.procedures.events import DatumFound
from rig.tui.rig.live_view import LiveView
from rig.tui.rig.rig_events import (
    Connected,
    DatumStands,
    LinkGone,
    MountedThere,
    Post,
    Problem,
    ProcedureReported,
)

if TYPE_CHECKING:
    from firmware_protocol.messages import LookAnswer
    from rig.link.inbox import Delivery
    from rig.link.link import Link, Watcher
    from rig.model.bench_declaration import BenchDeclaration
    from rig.model.mounted import Datum, Sensor, Target
    from rig.model.settings import BenchSettings
    from rig.procedures.events import Event
    from rig.procedures.ready_bench import Bench
    from rig.procedures.run_context import RunContext
    from rig.records import Store
    from rig.wiring import Rig

# After these nothing more can be asked over the link
_LINK_ENDERS = (LinkLost, NotARig, ReplyTimeout, RigRestarted, RigTaken)
_IN_MOTION = (State.MOVING, State.SEEKING)


class RigAccess:
    """One rig, its bench and the records; used by one thread only.

    Attributes:
        post: Called with every event.
        settings: How the axis is driven.
        bench: The bench with its datum; None while there is no datum.
    """

    def __init__(
        self, post: Post, *, watcher: Watcher, records: str, settings: BenchSettings
    ) -> None:
        self.post = post
        self.settings = settings
        self.bench: Bench | None = None
        self._watcher = watcher
        self._records = records
        self._rig: Rig | None = None
        self._mounted: tuple[Sensor, Target] | None = None
        self._part = ""
        self._store: Store | None = None
        self._live = LiveView(post)
        self._reminded: set[str] = set()

    @property
    def link(self) -> Link | None:
        """The link, if there is one; only its `stop` is for other threads."""
        rig = self._rig
        return None if rig is None else rig.mover.link

    def see(self, item: LookAnswer | Delivery) -> None:
        """Take what the link saw, for the live view."""
        self._live.see(item)

    def keep_alive(self) -> None:
        """Look at the rig between two jobs, if there is one.

        Raises:
            LinkError: The link failed.
        """
        if self.link is None:
            return
        self.link.look()
        while self.link.next_notice(0) is not None:
            pass

    def settle(self, error: RigError, *, moved: bool) -> None:
        """Leave things safe after a job that failed: axis at rest, no old datum."""
        if moved:
            self.set_bench(None)
        if isinstance(error, _LINK_ENDERS):
            self.let_go(error)
            return
        try:
            if self.link is not None and self.link.look().state in _IN_MOTION:
                self.link.stop()
            self._live.post_now()
        except RigError as exc:
            self.let_go(exc)

    def let_go(self, error: RigError) -> None:
        """Give up the link, and say why."""
        if self._rig is None:
            return
        self._close_rig()
        self.post(LinkGone(problem=Problem(sentence=str(error), hint=error.hint)))

    def close(self) -> None:
        """Let go of the rig, its motor without current, and the records."""
        self._free_motor()
        self._close_rig()
        if self._store is not None:
            self._store.close()
            self._store = None

    # -------------------------------------------------------------- for jobs

    def connect(self, rig_name: str) -> None:
        """Open a rig and greet it; the one before is closed.

        Raises:
            RigError: It does not answer, or is no rig.
        """
        from rig.wiring import connect

        self._free_motor()
        self._close_rig()
        rig = connect(rig_name, self.settings, watcher=self._watcher)
        self._rig = rig
        self._live.steps_per_mm = rig.mover.traits.steps_per_mm
        there = rig.simulation
        mounted = None
        if there is not None:
            mounted = MountedThere(
                principle=there.principle,
                output=there.output,
                target_name=there.target,
            )
        traits = rig.mover.traits
        self.post(Connected(rig_name=rig_name, traits=traits, mounted=mounted))
        self.keep_alive()

    def mount(self, sensor: Sensor, target: Target, *, part: str = "") -> None:
        """Note what is mounted now. Another sensor, target or part voids the datum."""
        rig = self.rig()
        if self._mounted == (sensor, target) and self._part == part:
            return
        # Another sensor has its face elsewhere, another target its near side
        self.set_bench(None)
        self._mounted = None
        if rig.simulation is not None:
            rig.simulation.mount(sensor, target, part=part)
        self._mounted, self._part = (sensor, target), part

    def rig(self) -> Rig:
        """Return the rig; refuse if none is connected."""
        if self._rig is None:
            raise BenchError("no rig is connected", hint="connect to one first")
        return self._rig

    def mounted(self) -> tuple[Sensor, Target]:
        """Return what is mounted; refuse if nobody has said so."""
        if self._mounted is None:
            raise BenchError(
                "no sensor and target are selected",
                hint="select the mounted sensor and target first",
            )
        return self._mounted

    def check_mounted(self, sensor: Sensor, target: Target, *, part: str = "") -> None:
        """Refuse an order that is for something else than what is mounted.

        Raises:
            BenchError: Nothing is selected as mounted.
            InputError: Another sensor or target is mounted, or another part than the
                one that is named.
        """
        if self.mounted() != (sensor, target):
            raise InputError(
                "the order is for another sensor or target than the one mounted"
            )
        if part and part != self._part:
            raise InputError(
                f"the order is for part {part}, and another part is mounted"
            )

    def records(self) -> Store:
        """Return the records, opened."""
        from rig.records import open_records

        if self._store is None:
            self._store = open_records(self._records)
        return self._store

    def declared_bench(self) -> BenchDeclaration:
        """Return what is declared of the bench of the rig; refuse without a rig."""
        from rig.records import Writer

        rig_id = self.rig().mover.traits.rig_id
        return Writer(self.records()).bench_in_force(rig_id)

    def run_context(self) -> RunContext:
        """Return what runs are carried out with; refuse if no rig is connected."""
        from rig.procedures.run_context import RunContext

        store = self.records()
        context = RunContext.on(self.rig().mover, self.settings, store, self.tell)
        return replace(context, reminded=self._reminded)

    def tell(self, event: Event) -> None:
        """Tell what a procedure tells; the gap is known as soon as the datum is."""
        self.post(ProcedureReported(event=event))
        if isinstance(event, DatumFound):
            self._set_datum(event.datum)

    def set_bench(self, bench: Bench | None) -> None:
        """Hold on to a bench with its datum, or drop it, and tell so."""
        self.bench = bench
        self._set_datum(None if bench is None else bench.datum)

    def _set_datum(self, datum: Datum | None) -> None:
        self._live.datum = datum
        self.post(DatumStands(datum=datum))
        self._live.post_now()

    def rest_on_declared(self) -> None:
        """Let what is measured from now on rest on what is declared now."""
        if self.bench is not None:
            self.set_bench(self.bench.resting_on(self.declared_bench()))

    def _free_motor(self) -> None:
        if self._rig is not None:
            with contextlib.suppress(LinkError):  # it is let go of all the same
                self._rig.mover.free()

    def _close_rig(self) -> None:
        if self._rig is not None:
            self.set_bench(None)
            self._rig.close()
        self._rig = None
        self._mounted = None
