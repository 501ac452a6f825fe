"""A port that writes down what goes over it."""

from __future__ import annotations

import threading
from datetime import UTC, datetime
from pathlib import Path

from rig.errors import InputError
from rig.link.trace import Mark, TraceEvent, trace_head, trace_line
from rig.link.transport import Transport

_MICRO = 1e-6
_CLOCK_STEP_US = 1000  # by which the clock may stand still: so it need not be noted


class TracedPort:
    """A transport that keeps a trace of another one, line by line as it happens.

    Its clock goes in steps of 1 ms, so that the trace has every time that the host saw.

    Args:
        port: What carries the bytes.
        path: File of the trace, made anew.

    Raises:
        InputError: There is a file already, or none can be made.
    """

    def __init__(self, port: Transport, path: Path) -> None:
        self.name = port.name
        self._port = port
        self._path = path
        self._zero_s = port.now_s()
        self._now_us = 0
        # The stop byte is written from any thread
        self._lock = threading.Lock()
        try:
            self._file = path.open("x", encoding="ascii", errors="backslashreplace")
        except FileExistsError as exc:
            raise InputError(
                f"{path} is there already", hint="name a file that is not"
            ) from exc
        except OSError as exc:
            reason = (exc.strerror or str(exc)).lower()
            raise InputError(f"{path} cannot be written: {reason}") from exc
        now = datetime.now(UTC)
        self._file.write(trace_head(port.name, has_rate=port.has_rate, now=now))

    @property
    def has_rate(self) -> bool:
        """As the port has it."""
        return self._port.has_rate

    def read(self, longest_wait_s: float) -> bytes:
        """Return what has come, as the port does."""
        data = self._port.read(longest_wait_s)
        self._note(Mark.FROM_RIG, data)
        return data

    def write(self, data: bytes) -> None:
        """Send bytes; first of all, since the stop byte must not wait for a disk."""
        self._port.write(data)
        self._note(Mark.TO_RIG, data)

    def set_rate(self, bits_s: int) -> None:
        """Change the rate of the line."""
        self._port.set_rate(bits_s)
        self._note(Mark.RATE, str(bits_s).encode("ascii"))

    def now_s(self) -> float:
        """Return the time by the port's clock, in steps of 1 ms."""
        if self._since_begin_us() - self._now_us >= _CLOCK_STEP_US:
            self._note(Mark.TIME)
        return self._now_us * _MICRO

    def close(self) -> None:
        """Let go of port and file."""
        self._port.close()
        with self._lock:
            self._file.close()

    def _since_begin_us(self) -> int:
        return round((self._port.now_s() - self._zero_s) / _MICRO)

    def _note(self, mark: Mark, data: bytes = b"") -> None:
        with self._lock:
            # Another thread may have been first
            self._now_us = max(self._now_us, self._since_begin_us())
            event = TraceEvent(time_us=self._now_us, mark=mark, data=data)
            if self._file.closed:
                return
            try:
                self._file.write(trace_line(event))
                self._file.flush()
            except OSError as exc:
                self._file.close()
                reason = (exc.strerror or str(exc)).lower()
                raise InputError(f"{self._path} cannot be written: {reason}") from exc
