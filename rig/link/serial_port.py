"""A serial port or pyserial URL as a transport, and the list of ports."""

from __future__ import annotations

import errno
import os
import time
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, TypeVar

import serial
from serial.tools import list_ports

from firmware_protocol.messages import FIRST_RATE_BITS_S
from rig.errors import LinkLost, PortBusy, PortNotFound
from rig.link.port_lock import PortLock
from rig.link.transport import AXIS_STOPS

_Result = TypeVar("_Result")
_WRITE_TIMEOUT_S = 1.0

try:  # a plain Exception in the POSIX terminal module, not an OSError
    from termios import error as _TerminalError
except ImportError:  # no such module on Windows
    _TerminalError = OSError  # type: ignore[assignment,misc]

# What pyserial lets through when a port vanishes or is closed under its feet
_PORT_GONE = (serial.SerialException, OSError, _TerminalError, TypeError, ValueError)


@dataclass(frozen=True, slots=True, kw_only=True)
class PortListing:
    """A serial port of this computer.

    Attributes:
        name: What to give as the rig.
        description: What the operating system knows of it.
    """

    name: str
    description: str


def serial_ports() -> list[PortListing]:
    """Return the serial ports of this computer, sorted by name."""
    return sorted(
        (
            PortListing(name=port.device, description=port.description or "")
            for port in list_ports.comports()
        ),
        key=lambda port: port.name,
    )


class SerialTransport:
    """Bytes over a serial port, or over any URL that pyserial opens.

    Raises:
        PortNotFound: There is no such port, or it cannot be opened.
        PortBusy: Another program holds it.
    """

    def __init__(self, name: str) -> None:
        self.name = name
        self._lock = PortLock(name)
        try:
            self._port = _open(name)
        except BaseException:
            self._lock.release()
            raise

    def read(self, longest_wait_s: float) -> bytes:
        """Return what has come, waiting for the first byte at most so long."""

        def read() -> bytes:
            self._port.timeout = longest_wait_s
            # One byte, then what else lies there: asking for more at once would lose
            # it all if the port hangs up in the middle
            return bytes(self._port.read(max(1, self._port.in_waiting)))

        return self._guarded(read)

    def write(self, data: bytes) -> None:
        """Send bytes; a single write of the operating system, so safe for stop."""
        self._guarded(lambda: self._port.write(data))

    @property
    def has_rate(self) -> bool:
        """False for URLs and pseudo-terminals."""
        return "://" not in self.name and "/pts/" not in os.path.realpath(self.name)

    def set_rate(self, bits_s: int) -> None:
        """Change the rate of the line."""
        self._guarded(lambda: setattr(self._port, "baudrate", bits_s))

    def now_s(self) -> float:
        """Return monotonic time."""
        return time.monotonic()

    def close(self) -> None:
        """Let go of the port."""
        # pyserial forgets to close the socket of a URL whose other end has hung up
        connection = getattr(self._port, "_socket", None)
        self._port.close()
        if connection is not None:
            connection.close()
        self._lock.release()

    def _guarded(self, action: Callable[[], _Result]) -> _Result:
        try:
            return action()
        except _PORT_GONE as exc:
            raise LinkLost(
                f"the port {self.name} went away",
                hint=f"{AXIS_STOPS}; check the cable and the rig's power, then connect"
                " again",
            ) from exc


def _open(name: str) -> serial.Serial:
    options: dict[str, Any] = {
        "baudrate": FIRST_RATE_BITS_S,
        "timeout": 0.05,
        "write_timeout": _WRITE_TIMEOUT_S,
    }
    if "://" not in name:
        options["exclusive"] = True
    hint = "`gapsweep rigs` lists what is connected"
    try:
        return serial.serial_for_url(name, **options)
    except ValueError as exc:
        raise PortNotFound(
            f"{name!r} is no port that can be opened", hint=hint
        ) from exc
    except _PORT_GONE as exc:
        if getattr(exc, "errno", None) in (errno.EAGAIN, errno.EBUSY, errno.EACCES):
            raise PortBusy(
                f"the port {name} is in use or not yours to open",
                hint="close the other program, or ask for access to serial ports",
            ) from exc
        raise PortNotFound(f"there is no port {name}", hint=hint) from exc
