"""What the suite runs against: bytes both ways, and perhaps a hand at the machine.

Knows no clause. A bare port is a subject without a world: the suite then runs what
can be seen from the wire alone.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

from firmware_protocol.messages import Input, Quantity, Source


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """An input changed: the truth, from outside the controller.

    Attributes:
        source: Input that changed.
        level: Level of the input after the change.
        pulses: Step pulses given by then, up less down.
        time_us: World's clock; only differences mean something.
        scale: Count of the scale by then; only differences mean something.
    """

    source: Source
    level: bool
    pulses: int
    time_us: float
    scale: int = 0


class World(Protocol):
    """A hand at the machine, and an eye on it.

    Places are in steps from where the home switch closes, growing with the step
    count; there is no play and no lost step but what `shift` makes.

    Attributes:
        patient: Whether any span of time may be asked for: time is simulated.
    """

    patient: bool

    def restart(self) -> None:
        """Press the controller's reset input; the machine stays as it is."""

    def pulses(self) -> int:
        """Return the step pulses given so far, up less down."""

    def place(self) -> int:
        """Return where the target is."""

    def shift(self, steps: int) -> None:
        """Move the target by hand, and a scale with it; the axis is at rest."""

    def scale(self) -> int:
        """Return the count of the scale; only differences mean something."""

    def changes(self) -> list[Change]:
        """Return the changes of the inputs since the last call."""

    def set_switching(self, operate_at: int, release_at: int) -> None:
        """Let the output be 1 from one place upward, and 0 from another downward."""

    def hold_output(self, level: bool | None) -> None:
        """Hold the output at a level from now on; None lets the sensor decide."""

    def set_probe(self, closes_at: int) -> None:
        """Let the touch probe be closed from a place upward."""

    def set_home(self, closes_at: int, opens_at: int) -> None:
        """Let the home switch close at one place and below, and open at another."""

    def set_supply(self, present: bool) -> None:
        """Take the sensor's supply away, or give it back."""

    def set_drive(self, on: bool) -> None:
        """Press the emergency stop, or release it."""

    def break_wire(self, broken: Input | None) -> None:
        """Break the wire of one input, or mend whatever is broken."""

    def has_current(self) -> bool:
        """Return whether the controller gives the motor its current."""

    def set_quantity(self, quantity: Quantity, value: int) -> None:
        """Let a quantity be this, in its unit; the supply's while it is on."""

    def sensor_supply(self) -> tuple[bool, float]:
        """Return whether the controller has the sensor's supply switched on.

        Returns:
            That, and when it changed last by the world's clock, us.
        """

    def supply_set_mv(self) -> int:
        """Return the voltage that the controller has set."""

    def pass_time(self, seconds: float) -> None:
        """Let time pass at one go; only where the world is patient."""

    def begin_late(self, time_us: int, notice: int) -> bool:
        """Put in a controller just started whose clock and notices have gone far.

        Args:
            time_us: What its clock shows.
            notice: Number of the notice after that of the start.

        Returns:
            Whether this world can do that.
        """


class Subject(Protocol):
    """A controller that can be spoken to.

    Attributes:
        name: What the report calls it.
        latency_s: What the way to it may add to an answer.
        world: Hand and eye; None where there is only the wire.
    """

    name: str
    latency_s: float
    world: World | None

    def clock_s(self) -> float:
        """Return the time by which the other calls wait."""

    def send(self, data: bytes) -> None:
        """Put bytes on the line."""

    def receive(self, wait_s: float) -> bytes:
        """Wait until bytes come, or for that long; return them."""

    def set_rate(self, bits_s: int) -> bool:
        """Set the host's side of the line; False where the link has no rate."""

    def renew(self) -> bool:
        """Begin with another controller just started; False where that cannot be."""
