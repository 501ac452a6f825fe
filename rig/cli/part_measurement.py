"""One part measured now, for the commands that fill a sheet or inspect a lot."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path

from rig.api.mounting import mounted
from rig.catalogue.catalogue import load_catalogue
from rig.cli.open_rig import SETTINGS, mount_by_hand, open_rig
from rig.cli.options import check_temperature
from rig.cli.output import say_on_stderr
from rig.cli.progress import progress_on_stderr
from rig.model.figures import RunFigures
from rig.model.sweep_numbers import parse_speeds
from rig.model.sweeps import Run
from rig.procedures.carry_out_run import touch_off_and_run
from rig.procedures.events import Tell
from rig.procedures.motions_ahead import touch_off_and_run_ahead
from rig.procedures.mover import Mover
from rig.procedures.run_context import RunContext
from rig.procedures.run_order import RunOrder
from rig.records import Store


@dataclass(frozen=True, slots=True, kw_only=True)
class Measurement:
    """What the command line says of how to measure.

    Attributes:
        rig_name: Name of the rig.
        sensor: Name of the sensor; None where the simulated rig has one mounted.
        target: Name of the target; None where the simulated rig has one mounted.
        sweeps: Number of good sweeps wanted.
        speeds: Speeds as typed.
        operator: Name of whoever answers for it.
        temperature: Ambient temperature (°C); None if nobody gave it.
        catalogue_path: Path of the user's catalogue; None for the standard one.
        for_verdict: Whether the run ends as soon as its verdict is clear.
    """

    rig_name: str
    sensor: str | None
    target: str | None
    sweeps: int
    speeds: str
    operator: str
    temperature: float | None
    catalogue_path: Path | None
    for_verdict: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class MountedPart:
    """A part on an open rig, ready to be touched off.

    Attributes:
        mover: Axis of the rig.
        order: What to measure of the part.
        tell: Takes what the procedure tells.
    """

    mover: Mover
    order: RunOrder
    tell: Tell


@contextmanager
def mounted_part(wanted: Measurement, part: str, note: str) -> Iterator[MountedPart]:
    """Open the rig and have a part mounted on it.

    Raises:
        RigError: The rig does not answer, or the part is not mounted.
    """
    catalogue = load_catalogue(wanted.catalogue_path)
    speeds_mm_s = parse_speeds(wanted.speeds)
    check_temperature(wanted.temperature)
    motions = touch_off_and_run_ahead(SETTINGS)
    with open_rig(wanted.rig_name) as rig, progress_on_stderr(motions) as tell:
        sensor, target = mounted(
            rig, catalogue, wanted.sensor, wanted.target, part=part
        )
        if rig.simulation is None:
            say_on_stderr(f"Part {part} is due ({note}).")
            mount_by_hand(sensor, target, part=part)
        order = RunOrder(
            sensor=sensor,
            target=target,
            sweeps=wanted.sweeps,
            speeds_mm_s=speeds_mm_s,
            for_verdict=wanted.for_verdict,
            operator=wanted.operator,
            temperature_c=wanted.temperature,
            note=note,
            part=part,
        )
        yield MountedPart(mover=rig.mover, order=order, tell=tell)


def measure_part(
    wanted: Measurement, store: Store, part: str, note: str, *, reminded: set[str]
) -> tuple[Run, RunFigures]:
    """Have a part mounted, touch off and sweep; the run is on record.

    Args:
        wanted: What is measured, and where.
        store: Open records.
        part: Serial or sample number.
        note: Note to the run.
        reminded: Rigs of which it was said that nothing is declared of their bench.

    Raises:
        RigError: It cannot be measured.
    """
    with mounted_part(wanted, part, note) as due:
        on_records = RunContext.on(due.mover, SETTINGS, store, due.tell)
        context = replace(on_records, reminded=reminded)
        result = touch_off_and_run(due.order, context)
    return result.run, result.figures
