"""A serial port, or any URL that pyserial knows, as a subject: the wire alone.

The only module of this package that imports pyserial.
"""

from __future__ import annotations

import time
from types import TracebackType
from typing import Final, Self

from firmware_protocol.conformance.subject import World
from firmware_protocol.messages import FIRST_RATE_BITS_S

# Adapters gather bytes for up to 16 ms, and the operating system adds its own
LATENCY_S: Final = 0.030
_OPENING_S: Final = 2.5  # many boards restart when a port is opened
_NO_RATE: Final = ("/dev/pts/", "/dev/ttyp")


class PortError(Exception):
    """The port cannot be opened or has gone; the text says so."""


class PortSubject:
    """A controller behind a port.

    Attributes:
        name: The port.
        latency_s: What adapter and operating system may add to an answer.
        world: None: there is only the wire.
    """

    latency_s = LATENCY_S

    def __init__(self, url: str) -> None:
        """Open a port.

        Raises:
            PortError: It cannot be opened.
        """
        # Deferred: the rest of the package needs the standard library only
        import serial

        self.name = url
        self.world: World | None = None
        self._has_rate = "://" not in url and not url.startswith(_NO_RATE)
        try:
            self._serial = serial.serial_for_url(url, baudrate=FIRST_RATE_BITS_S)
        except (OSError, ValueError) as exc:
            raise PortError(f"cannot open {url}: {exc}") from exc
        if self._has_rate:
            time.sleep(_OPENING_S)

    def __enter__(self) -> Self:
        """Return the subject itself."""
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """Close the port."""
        self._serial.close()

    def clock_s(self) -> float:
        """Return the time."""
        return time.monotonic()

    def send(self, data: bytes) -> None:
        """Put bytes on the line.

        Raises:
            PortError: The port has gone.
        """
        try:
            self._serial.write(data)
            self._serial.flush()
        except OSError as exc:
            raise PortError(f"{self.name} has gone: {exc}") from exc

    def receive(self, wait_s: float) -> bytes:
        """Wait until bytes come, or for that long.

        Raises:
            PortError: The port has gone.
        """
        try:
            self._serial.timeout = wait_s
            return bytes(self._serial.read(max(1, self._serial.in_waiting)))
        except OSError as exc:
            raise PortError(f"{self.name} has gone: {exc}") from exc

    def set_rate(self, bits_s: int) -> bool:
        """Set the port's rate; False where there is none."""
        if self._has_rate and self._serial.baudrate != bits_s:
            self._serial.baudrate = bits_s
        return self._has_rate

    def renew(self) -> bool:
        """Return False: the controller stays as it is."""
        return False
