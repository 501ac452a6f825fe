"""Composition root: turns the name of a rig into a link. Alone in knowing `sim`."""

from __future__ import annotations

import math
import random
import time
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Final
from urllib.parse import parse_qsl, unquote_plus, urlsplit

from rig.catalogue.input_file import read_text
from rig.errors import InputError, LinkLost
from rig.link.link import Link, Watcher, watch_nothing
from rig.link.replayed_port import ReplayedPort
from rig.link.trace import MOST_BYTES, read_trace
from rig.link.traced_port import TracedPort
from rig.link.transport import Transport
from rig.model.mounted import OutputKind, Principle, Sensor, Target
from rig.model.settings import BenchSettings
from rig.procedures.mover import Mover

if TYPE_CHECKING:
    from sim.device import Controller
    from sim.machine import Truth
    from sim.options import SimOptions
    from sim.sensors.response import SimSensor
    from sim.targets import SimTarget

SIM_SCHEME: Final = "sim://"
TRACE_SCHEME: Final = "trace://"
_SLICE_S: Final = 0.01  # at real pace the stop byte is looked for that often
_HELD_UP_S: Final = 0.05  # time that nobody read and that is caught up with
_MICRO: Final = 1e-6
# Spread of the thresholds of a lot, as a share: about 4 % in operating distance on
# the capacitive sensor, so that now and then a part misses the 10 % of the standard
_PARTS_DIFFER: Final = 0.1


class SimTransport:
    """A simulated controller in this process as a transport.

    Reading advances the controller's clock: at fast pace as quickly as the processor
    allows, at real pace along with the clock on the wall. While nobody reads, its clock
    stands, and what stood is not caught up with, or motions would race after a pause.
    Writing from another thread is safe: the bytes wait for the next read.
    """

    def __init__(self, name: str, controller: Controller, *, real_pace: bool) -> None:
        self.name = name
        self.has_rate = True
        self._controller = controller
        self._real_pace = real_pace
        self._sent: deque[bytes] = deque()
        self._zero_s = time.monotonic()

    def read(self, longest_wait_s: float) -> bytes:
        """Return what the controller sent; let its time pass meanwhile."""
        controller = self._controller
        # Rounded up, so that a wait always ends later than it began
        deadline_us = controller.now_us + math.ceil(longest_wait_s / _MICRO)
        while True:
            while self._sent:
                controller.receive(self._sent.popleft())
            if (output := controller.take_output()) or controller.now_us >= deadline_us:
                return output
            if controller.hung_up:
                raise LinkLost(
                    f"the simulated rig {self.name} hung up",
                    hint="leave the fault hang_up out, or connect again",
                )
            if self._real_pace:
                controller.advance_to(self._paced(deadline_us))
            else:
                controller.advance_once(deadline_us)

    def _paced(self, deadline_us: int) -> int:
        event_us = self._controller.next_event_us()
        until_us = deadline_us if event_us is None else min(event_us, deadline_us)
        now_us = self._controller.now_us
        behind_s = time.monotonic() - self._zero_s - now_us * _MICRO
        self._zero_s += max(0.0, behind_s - _HELD_UP_S)
        wait_s = until_us * _MICRO - (time.monotonic() - self._zero_s)
        if wait_s > 0:
            time.sleep(min(wait_s, _SLICE_S))
        wall_us = round((time.monotonic() - self._zero_s) / _MICRO)
        return max(now_us, min(until_us, wall_us))

    def write(self, data: bytes) -> None:
        """Send bytes; safe from any thread."""
        self._sent.append(data)

    def set_rate(self, bits_s: int) -> None:
        """Pass over: at its own rate the controller takes and gives every byte."""

    def now_s(self) -> float:
        """Return the controller's time."""
        return self._controller.now_us * _MICRO

    def close(self) -> None:
        """Let go; there is nothing to close."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Rig:
    """A rig that has answered the greeting.

    Attributes:
        mover: Moves its axis.
        simulation: What only a simulated rig in this process can do; None otherwise.
    """

    mover: Mover
    simulation: Simulation | None

    def close(self) -> None:
        """Let go of the port."""
        self.mover.link.close()


class Simulation:
    """The hand at the simulated bench: mounts, and asks for the truth.

    Attributes:
        principle: Principle of the sensor that the rig's name asks for.
        output: Output of that sensor.
        target: Name of the target that the rig's name asks for.
        asked_for: Whether the name says which sensor, rather than leaving it open.
    """

    def __init__(
        self, controller: Controller, options: SimOptions, *, asked_for: bool
    ) -> None:
        self._controller = controller
        self._options = options
        self.principle = Principle(options.sensor)
        self.output = OutputKind(options.output.value)
        self.target = options.target
        self.asked_for = asked_for
        self._specimen = ("", "")
        # A turned trimmer stays turned, whatever the specimen is held against
        self._turned: dict[tuple[str, str], float] = {}

    def mount(self, sensor: Sensor, target: Target, *, part: str = "") -> None:
        """Mount a sensor and a target.

        Args:
            sensor: Kind of sensor.
            target: Target.
            part: Number of the specimen; each has its trimmer a little elsewhere, and
                the same number the same place. Empty for the one that the name of the
                rig asks for.

        Raises:
            InputError: The simulation has no such material.
        """
        from sim.options import mounting_for

        self._specimen = (sensor.name, part)
        turned = self._turned.get(self._specimen, 1.0)
        specimen = replace(
            _sim_sensor(sensor), threshold_factor=turned * self._threshold_factor(part)
        )
        self._controller.mount(
            mounting_for(
                self._options,
                specimen,
                _sim_target(target),
                normally_closed=sensor.output is OutputKind.NORMALLY_CLOSED,
                part=part,
            )
        )

    def _threshold_factor(self, part: str) -> float:
        # Specimens on a bench of the population are drawn along with it
        if not part or self._options.bench is not None:
            return 1.0
        # The seed is of the noise: another morning, but the same specimens
        chance = random.Random(part)
        return chance.lognormvariate(0.0, _PARTS_DIFFER)

    def put_block(self, length_mm: float) -> None:
        """Put a gauge block on the touch probe while nothing moves.

        Args:
            length_mm: Nominal length; 0 takes the block away.
        """
        self._controller.put_block(length_mm)

    def clamp_face(self, near_mm: float) -> None:
        """Clamp the sensor's holder elsewhere while nothing moves.

        Args:
            near_mm: Where the face is to be, mm from home; a hand comes near it.
        """
        self._controller.clamp_face(near_mm)

    def turn_trimmer(self, ratio: float) -> None:
        """Turn the sensor's trimmer while nothing moves.

        Args:
            ratio: Ratio of the new threshold to the old; below 1 is more sensitive.
        """
        self._controller.turn_trimmer(ratio)
        before = self._turned.get(self._specimen, 1.0)
        self._turned[self._specimen] = before * ratio

    def truth(self) -> Truth:
        """Return what the simulated rig knows of itself; never used to measure."""
        return self._controller.truth()


def is_simulation(name: str) -> bool:
    """Whether a rig's name asks for the simulated rig in this process."""
    return name.startswith(SIM_SCHEME)


def at_real_pace(name: str) -> str:
    """Return the name of a rig, with a simulated one at real pace unless it says how.

    Raises:
        InputError: The name asks for a simulated rig with options that there are not.
    """
    if not is_simulation(name):
        return name
    read_sim_name(name)
    options = urlsplit(name).query
    if "pace" in dict(parse_qsl(options)):
        return name
    return f"{SIM_SCHEME}?{'&'.join(filter(None, [options, 'pace=real']))}"


def connect(
    name: str,
    settings: BenchSettings,
    *,
    watcher: Watcher = watch_nothing,
    trace: Path | None = None,
) -> Rig:
    """Open a rig and greet it.

    Args:
        name: Port, pyserial URL, `sim://` with options, or `trace://` with the file of
            a trace, which is played back.
        settings: How the axis is driven.
        watcher: Called with every look and notice.
        trace: File to write a trace of the wire to; None for none.

    Raises:
        InputError: The name asks for a simulated rig with options that there are not,
            or a trace cannot be read or written.
        LinkError: There is no such port, or no rig answers there.
    """
    transport, simulation = _open(name)
    if trace is not None:
        transport = _traced(transport, trace)
    link = Link(transport, watcher=watcher)
    if isinstance(transport, ReplayedPort):
        transport.on_stop = link.stop
    try:
        traits = link.greet()
    except BaseException:
        link.close()
        raise
    mover = Mover(link, traits, acceleration_mm_s2=settings.acceleration_mm_s2)
    return Rig(mover=mover, simulation=simulation)


def _traced(port: Transport, path: Path) -> TracedPort:
    try:
        return TracedPort(port, path)
    except BaseException:
        port.close()
        raise


def _open(name: str) -> tuple[Transport, Simulation | None]:
    if name.startswith(TRACE_SCHEME):
        path = Path(name.removeprefix(TRACE_SCHEME))
        text = read_text(path, most_bytes=MOST_BYTES)
        return ReplayedPort(name, read_trace(text, str(path))), None
    if not is_simulation(name):
        from rig.link.serial_port import SerialTransport

        return SerialTransport(name), None
    from sim.options import Pace, build

    options = read_sim_name(name)
    controller = build(options)
    real_pace = options.pace is Pace.REAL
    transport = SimTransport(name, controller, real_pace=real_pace)
    asked_for = "sensor" in dict(parse_qsl(urlsplit(name).query))
    return transport, Simulation(controller, options, asked_for=asked_for)


def read_sim_name(name: str) -> SimOptions:
    """Return the options of a `sim://?option=value&...` name.

    Raises:
        InputError: It is malformed, or has an option that there is not.
    """
    from sim.options import read_options

    parts = urlsplit(name)
    if parts.netloc or parts.path:
        raise InputError(
            f"{name!r} is not the name of a simulated rig",
            hint="options stand after a question mark: sim://?sensor=capacitive&seed=7",
        )
    pairs = [_option(field) for field in parts.query.split("&") if field]
    for option, _ in pairs:
        if sum(1 for other, _ in pairs if other == option) > 1:
            raise InputError(f"simulated rig: option {option!r} is given twice")
    try:
        return read_options(dict(pairs))
    except ValueError as exc:
        raise InputError(str(exc)) from exc


def _option(field: str) -> tuple[str, str]:
    option, equals, value = field.partition("=")
    if not equals:
        raise InputError(
            f"simulated rig: option {field!r} has no value",
            hint="write it as option=value, such as seed=7",
        )
    return unquote_plus(option), unquote_plus(value)


def serve_simulated(
    name: str, *, tcp_port: int | None, announce: Callable[[str], None]
) -> None:
    """Serve a simulated rig to other programs, at real pace, until interrupted.

    Args:
        name: Options of the rig, as a `sim://` name.
        tcp_port: A port on the loopback address; None for a pseudo-terminal.
        announce: Told what to give as the rig.

    Raises:
        InputError: An option is wrong.
        LinkLost: The port cannot be opened.
    """
    from sim.options import build
    from sim.serve import serve_pty, serve_tcp

    controller = build(read_sim_name(name))
    try:
        if tcp_port is None:
            server, where = serve_pty(controller)
        else:
            server, (host, port) = serve_tcp(controller, port=tcp_port)
            where = f"socket://{host}:{port}"
    except OSError as exc:
        raise LinkLost(f"the simulated rig cannot be served: {exc.strerror}") from exc
    announce(where)
    server.run()


def _sim_sensor(sensor: Sensor) -> SimSensor:
    """Scale the simulated sensor of that principle to size and rated distance."""
    from sim.presets import SENSORS

    base = SENSORS[sensor.principle.value]
    scale = sensor.size_mm / _HOUSING_MM[sensor.principle]
    return replace(
        base,
        name=sensor.name,
        head=replace(base.head, radius_mm=base.head.radius_mm * scale),
        rated_mm=sensor.rated_distance_mm,
        operate_at_mm=sensor.rated_distance_mm,
    )


# Housings that the simulated sensors' radii belong to
_HOUSING_MM = {Principle.CAPACITIVE: 18.0, Principle.INDUCTIVE: 8.0}


def _sim_target(target: Target) -> SimTarget:
    from sim.materials import MATERIALS
    from sim.targets import cell, plate

    for material in filter(None, (target.material, target.wall_material)):
        if material not in MATERIALS:
            raise InputError(
                f"the simulated rig knows no material {material!r} (of {target.name})",
                hint=f"known: {', '.join(MATERIALS)}",
            )
    substance = MATERIALS[target.material]
    if target.wall_material:
        wall = MATERIALS[target.wall_material]
        return cell(
            wall, target.wall_mm, substance, target.thickness_mm, name=target.name
        )
    return plate(
        substance, target.thickness_mm, earthed=target.earthed, name=target.name
    )
