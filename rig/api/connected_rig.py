"""A rig, or the simulated one, for a script or a notebook to measure on."""

from __future__ import annotations

import contextlib
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Self

from rig.api.plan_now import MountByName, PlanWanted, plan_now
from rig.api.recorded_data import Records
from rig.api.stop_signals import stop_on_signals
from rig.api.sweep_now import SweepWanted, SweptRun, order_now, sweep_now
from rig.catalogue.catalogue import load_catalogue
from rig.catalogue.own_catalogue import own_catalogue
from rig.catalogue.plan_file import load_plan
from rig.errors import LinkError
from rig.inquiry.operators import chosen_operator
from rig.inquiry.plan import PlanResult
from rig.model.part_number import part_number
from rig.model.plain_text import plain_text, shown
from rig.procedures.events import Event, Remarked
from rig.procedures.motions_ahead import USUAL, motions_text, touch_off_and_run_ahead
from rig.procedures.particulars import Particulars, check_temperature
from rig.wiring import connect


def _on_standard_error(sentence: str) -> None:
    with contextlib.suppress(OSError):  # nobody may be there to read it
        sys.stderr.write(f"{shown(sentence)}\n")


class ConnectedRig:
    """A rig that has answered; close it, or use it as a context.

    Use it in one thread; `stop` alone may be called from any. Connecting moves nothing.

    Args:
        name: Serial port, pyserial URL, or ``sim://`` with options for the simulated
            rig, such as ``sim://?sensor=capacitive&seed=7``.
        catalogue: TOML file with more sensors and targets; None for the one that the
            environment variable GAPSWEEP_CATALOGUE names, if it does.
        say: Takes every sentence that somebody beside the rig should read: what will
            move before it does, then remarks. None for standard error.

    Raises:
        InputError: The name or the catalogue is not usable.
        LinkError: There is no such port, or no rig answers there.
    """

    def __init__(
        self,
        name: str,
        *,
        catalogue: str | Path | None = None,
        say: Callable[[str], None] | None = None,
    ) -> None:
        path = own_catalogue() if catalogue is None else Path(catalogue)
        self._catalogue = load_catalogue(path)
        self._say = _on_standard_error if say is None else say
        self._rig = connect(name, USUAL)

    @property
    def rig_id(self) -> str:
        """Identity of the rig, as its runs on record have it."""
        return self._rig.mover.traits.rig_id

    @property
    def simulated(self) -> bool:
        """Whether the rig says that it is simulated."""
        return self._rig.mover.traits.simulated

    def sweep(
        self,
        records: Records,
        *,
        sensor: str | None = None,
        target: str | None = None,
        part: str = "",
        sweeps: int | None = None,
        speeds_mm_s: Sequence[float] | None = None,
        until_mm: float | None = None,
        for_verdict: bool = False,
        product: str = "",
        operator: str = "",
        note: str = "",
        temperature_c: float | None = None,
    ) -> SweptRun:
        """Touch off and sweep one part; the axis moves, so keep hands clear.

        It is what ``gapsweep sweep`` does. What will move is said first. Ctrl-C (the
        stop button of a notebook) and `stop` stop the axis at once; the run is then on
        record as unfinished. Afterwards the motor has no current, but after a stop or
        an error the axis is held where it is.

        Args:
            records: Records that the run goes to, opened for writing.
            sensor: Name of the mounted sensor in the catalogue; a simulated rig mounts
                it, and has one mounted for None.
            target: Name of the mounted target in the catalogue; a simulated rig mounts
                it, and has one mounted for None.
            part: Serial or sample number of the sensor.
            sweeps: Number of good sweeps; None for 10. With `until_mm` the most there
                may be; None for 200.
            speeds_mm_s: Speeds in turn, mm/s; two or more remove the switching delay.
                None for 1 and 4; empty, or None with `until_mm`, for the two that need
                the least time.
            until_mm: Expanded uncertainty of the operate point, mm, that ends the
                sweeps; None to take all of them.
            for_verdict: Whether to end as soon as the verdict is clear.
            product: Name of a product on record that the part should be.
            operator: Name of whoever answers for the run.
            note: Free text kept with the run.
            temperature_c: Ambient temperature, °C.

        Returns:
            The run as it is on record: ``recorded.figures.operate.value`` in mm, with
            ``expanded_uncertainty`` in mm and ``n``; ``recorded.verdict``; ``remarks``.

        Raises:
            InputError: An argument is not usable, or not in the catalogue.
            BenchError: The bench cannot be touched off, or the sensor not measured.
            Stopped: Somebody stopped it; what was measured is on record.
            RigChanged: The rig is not as it is known.
            LinkError: The rig failed.
            RecordsError: The records cannot be read or written.
            KeyboardInterrupt: Ctrl-C came once more after it had stopped the axis.
        """
        link = self._rig.mover.link
        # Of an earlier call; one that comes from here on holds
        link.forget_stop()
        wanted = SweepWanted(
            sensor=sensor,
            target=target,
            sweeps=sweeps,
            speeds_mm_s=None if speeds_mm_s is None else tuple(speeds_mm_s),
            until_mm=until_mm,
            for_verdict=for_verdict,
            part=part_number(part, "part"),
            product=product,
            operator=plain_text(operator, "operator"),
            note=plain_text(note, "note"),
            temperature_c=temperature_c,
        )
        order = order_now(self._rig, records.store, self._catalogue, wanted)
        self._say(motions_text(touch_off_and_run_ahead(USUAL)))
        with stop_on_signals(self.stop, lambda: link.stop_asked, self._say):
            swept = sweep_now(self._rig, records.store, order, self._tell)
        with contextlib.suppress(LinkError):  # what was measured is on record
            self._rig.mover.free()
        return swept

    def run_plan(
        self,
        records: Records,
        plan: str | Path,
        *,
        resume: bool = False,
        retry: bool = False,
        go_on: bool = False,
        mount: MountByName | None = None,
        operator: str = "",
        temperature_c: float | None = None,
    ) -> PlanResult:
        """Carry out every run of a plan file; the axis moves, so keep hands clear.

        It is what ``gapsweep run`` does. What will move is said first. Ctrl-C and
        `stop` stop the axis at once; the plan can then be resumed.

        Args:
            records: Records that the runs go to, opened for writing.
            plan: Plan file.
            resume: Whether to resume the plan where it stopped, at the sweep due.
            retry: Whether to take pairs that gave no figures again; goes with `resume`.
            go_on: Whether to go on past a pair that gives no figures; otherwise the
                plan stops there, and can be resumed with the next pair.
            mount: Called with the names of sensor, target and part (empty where the
                plan names none) before each pair; returns when they are mounted and
                all hands are clear. The simulated rig mounts by itself; for a rig it
                must be given.
            operator: Name of whoever answers for the runs.
            temperature_c: Ambient temperature, °C.

        Returns:
            The plan as it is on record: ``items``, each with its ``figures`` and the
            ``run`` behind them; None in both where a pair gave none.

        Raises:
            InputError: The plan or an argument is not usable, or nothing is to be
                resumed.
            BenchError: A pair cannot be touched off or measured.
            Stopped: Somebody stopped it; what was measured is on record.
            RigChanged: The rig is not as it is known.
            LinkError: The rig failed.
            RecordsError: The records cannot be read or written.
            KeyboardInterrupt: Ctrl-C came once more after it had stopped the axis.
        """
        link = self._rig.mover.link
        # Of an earlier call; one that comes from here on holds
        link.forget_stop()
        if temperature_c is not None:
            check_temperature(temperature_c, "temperature")
        wanted = PlanWanted(
            resume=resume,
            retry=retry,
            go_on=go_on,
            mount=mount,
            particulars=Particulars(
                operator=chosen_operator(
                    records.store, plain_text(operator, "operator")
                ),
                temperature_c=temperature_c,
            ),
        )
        loaded = load_plan(Path(plan), self._catalogue)
        self._say(motions_text(touch_off_and_run_ahead(USUAL), "for every pair"))
        with stop_on_signals(self.stop, lambda: link.stop_asked, self._say):
            result = plan_now(self._rig, records.store, loaded, wanted, self._tell)
        with contextlib.suppress(LinkError):  # what was measured is on record
            self._rig.mover.free()
        return result

    def stop(self) -> None:
        """Stop the axis at once; may be called from any thread.

        Nothing moves afterwards until `sweep` or `run_plan` is called again.

        Raises:
            LinkLost: The port is gone.
        """
        self._rig.mover.link.stop()

    def close(self) -> None:
        """Let go of the port."""
        self._rig.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def _tell(self, event: Event) -> None:
        if isinstance(event, Remarked):
            self._say(event.sentence)
