"""The seam between the link and whatever carries its bytes."""

from __future__ import annotations

from typing import Final, Protocol

# SPEC.md, registers: the silence limit is at most 2 s, then the axis stops at once
AXIS_STOPS: Final = "a moving axis stops by itself within 2 s of silence"


class Transport(Protocol):
    """A way to move bytes, with the clock that its waiting is measured by.

    A simulated transport advances the controller's clock while it is read; so the same
    procedure runs in real time on a port and faster than that in process.
    """

    @property
    def name(self) -> str:
        """What the user calls it."""

    def read(self, longest_wait_s: float) -> bytes:
        """Return what has come; wait for the first byte at most so long.

        Raises:
            LinkLost: The port went away.
        """

    def write(self, data: bytes) -> None:
        """Send bytes. May be called for the stop byte from any thread.

        Raises:
            LinkLost: The port went away.
        """

    @property
    def has_rate(self) -> bool:
        """Whether this is a line with a rate that can be changed."""

    def set_rate(self, bits_s: int) -> None:
        """Change the rate of the line.

        Raises:
            LinkLost: The port went away.
        """

    def now_s(self) -> float:
        """Return the time by the clock that `read` waits by; it never goes back."""

    def close(self) -> None:
        """Let go of the port; may be called twice."""
