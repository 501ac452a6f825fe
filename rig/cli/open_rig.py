"""A rig and records for the length of one command; a signal to end stops the axis."""

from __future__ import annotations

import contextlib
import sys
from collections.abc import Iterator
from typing import TYPE_CHECKING

import click

from rig.api.stop_signals import stop_on_signals, wait_for_line
from rig.cli.motions import moves_next
from rig.cli.options import TRACE
from rig.cli.output import say_on_stderr
from rig.errors import InputError, LinkError, NoRecords, Stopped
from rig.model.settings import BenchSettings
from rig.procedures.motions_ahead import block_put_ahead, touch_off_and_run_ahead

if TYPE_CHECKING:
    from rig.model.bench_declaration import BenchDeclaration
    from rig.model.mounted import Sensor, Target
    from rig.records import Store
    from rig.wiring import Rig

SETTINGS = BenchSettings()


@contextlib.contextmanager
def open_rig(name: str) -> Iterator[Rig]:
    """Connect to a rig; while it is open, a signal to end stops the axis first.

    A job that ended well leaves the motor without current. After a stop or an error the
    axis stays held where it is, for a person to look at.

    Raises:
        InputError: The name is wrong.
        LinkError: No rig answers there.
    """
    # Deferred: commands that only read the records need no link
    from rig.wiring import connect

    context = click.get_current_context(silent=True)
    trace = None if context is None else context.meta.get(TRACE)
    rig = connect(name, SETTINGS, trace=trace)
    try:
        link = rig.mover.link
        with stop_on_signals(link.stop, lambda: link.stop_asked, say_on_stderr):
            yield rig
            with contextlib.suppress(LinkError):  # the job is done all the same
                rig.mover.free()
    finally:
        rig.close()


def rig_identity(rig_name: str | None, rig_id: str | None) -> str:
    """Return the identity of a rig that was named by its port or by itself.

    Raises:
        InputError: Neither is given, or both.
        LinkError: It does not answer.
    """
    if (rig_name is None) is (rig_id is None):
        raise InputError("give either --rig or --rig-id: which rig is it?")
    if rig_name is None:
        return str(rig_id)
    with open_rig(rig_name) as rig:
        return rig.mover.traits.rig_id


@contextlib.contextmanager
def open_store(records: str | None, *, read_only: bool = False) -> Iterator[Store]:
    """Open the records that a command was given, or the user's own.

    Raises:
        RecordsError: They cannot be opened.
    """
    # Deferred: it loads the database library, and help must answer at once
    from rig.records import default_location, open_records

    location = records or default_location()
    with open_records(location, read_only=read_only) as store:
        yield store


def put_by_hand(length_mm: float) -> None:
    """Have the user lay a gauge block on the probe; 0 has it taken away.

    Raises:
        InputError: Nobody is there to do it.
        Stopped: The user would rather not.
    """
    if not sys.stdin.isatty():
        raise InputError(
            "gauge blocks must be laid on the probe by hand, and no one answers here",
            hint="run it from a terminal, or use a simulated rig",
        )
    what = (
        f"Lay the gauge block of {length_mm:g} mm on the probe."
        if length_mm
        else "Leave the probe bare, without a gauge block."
    )
    say_on_stderr(f"{what} {moves_next(block_put_ahead(bare=not length_mm))}")
    _wait_for_enter()


def clamp_by_hand(near_mm: float | None, move_mm: float) -> None:
    """Have the user clamp the sensor's holder elsewhere; None leaves it.

    Raises:
        InputError: Nobody is there to do it.
        Stopped: The user would rather not.
    """
    if not sys.stdin.isatty():
        raise InputError(
            "the holder must be clamped by hand, and no one answers here",
            hint="run it from a terminal, or use a simulated rig",
        )
    way = "farther from" if move_mm > 0.0 else "nearer to"
    what = (
        "Leave the holder clamped where it is."
        if near_mm is None
        else f"Clamp the holder so that the face is near {near_mm:.2f} mm from home,"
        f" {abs(move_mm):.2f} mm {way} it than now."
    )
    say_on_stderr(f"{what} {moves_next(touch_off_and_run_ahead(SETTINGS))}")
    _wait_for_enter()


def declared_bench(records: str | None, rig_id: str) -> BenchDeclaration:
    """Return what is declared of the bench of a rig; nothing without records.

    Raises:
        RecordsError: They cannot be read.
    """
    # Deferred: it loads the database library, and help must answer at once
    from rig.model.bench_declaration import NOTHING_DECLARED
    from rig.records import Writer

    try:
        with open_store(records, read_only=True) as store:
            return Writer(store).bench_in_force(rig_id)
    except NoRecords:
        return NOTHING_DECLARED


def mount_by_hand(sensor: Sensor, target: Target, *, part: str) -> None:
    """Have the user mount a sensor, the part of that number if any, and a target.

    Raises:
        InputError: Nobody is there to do it.
        Stopped: The user would rather not.
    """
    named = f"{sensor.name}, part {part}," if part else sensor.name
    if not sys.stdin.isatty():
        raise InputError(
            f"{sensor.name} and {target.name} must be mounted by hand, and no one "
            "answers here",
            hint="run the plan from a terminal, or use a simulated rig",
        )
    say_on_stderr(
        f"Mount sensor {named} and target {target.name}. "
        f"{moves_next(touch_off_and_run_ahead(SETTINGS))}"
    )
    _wait_for_enter()


def agreed(question: str) -> bool:
    """Ask a person; Enter alone, or the end of the input, is a no.

    Raises:
        Stopped: The user would rather stop.
    """
    answer = _answer(f"{question} y or n, Enter for n, Ctrl-C to stop:")
    return answer.strip().lower() in ("y", "yes")


def _wait_for_enter() -> None:
    if not _answer("Enter when ready, Ctrl-C to stop:"):
        raise Stopped("stopped on request")


def _answer(question: str) -> str:
    """Return the line that answers it, with its end; empty at the end of the input."""
    try:
        return wait_for_line(question, say_on_stderr)
    except KeyboardInterrupt as exc:
        raise Stopped("stopped on request") from exc
