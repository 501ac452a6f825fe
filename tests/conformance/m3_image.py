"""The image for the Cortex-M3 in an emulator, in lock-step.

Needs arm-none-eabi-gcc and qemu-system-arm. The emulator runs in a process of its own
and is steered by the second serial line of firmware/qemu/bench.c: between two orders
its timers stand still.
"""

from __future__ import annotations

import contextlib
import struct
import subprocess
from types import TracebackType
from typing import Self

from firmware_protocol.conformance.controllers.bench import (
    CYCLES_PER_SECOND,
    BenchError,
    EdgeTruth,
    StartCause,
    Value,
    build,
)

_EMULATOR = (
    "qemu-system-arm",
    "-machine",
    "mps2-an385",
    "-display",
    "none",
    "-monitor",
    "none",
    # Time is counted in instructions, 32 ns each, and jumps where the processor sleeps
    "-icount",
    "shift=5,sleep=off",
    "-serial",
    "stdio",
)
_EDGE = struct.Struct("<BqQBBi")


class M3Image:
    """The image with the simulated world on its pins.

    Attributes:
        name: What reports call it.
    """

    name = "Cortex-M3 image"

    def __init__(self) -> None:
        image = build("cortex_m3.bin")
        try:
            self._emulator = subprocess.Popen(
                [*_EMULATOR, "-kernel", str(image)],
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                stderr=subprocess.DEVNULL,
                bufsize=0,
            )
        except FileNotFoundError as exc:
            raise BenchError(f"`{_EMULATOR[0]}` is not installed") from exc
        self._output = bytearray()
        self._cycles = 0
        self._rest_s = 0.0

    def close(self) -> None:
        """End the emulator; nothing else may be called afterwards."""
        if self._emulator.poll() is None:
            self._emulator.kill()
        self._emulator.wait()
        for pipe in (self._emulator.stdin, self._emulator.stdout):
            if pipe is not None:
                with contextlib.suppress(OSError):
                    pipe.close()

    def __enter__(self) -> Self:
        """Return the bench itself."""
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """Close."""
        self.close()

    def _order(self, letter: bytes, data: bytes = b"") -> None:
        assert self._emulator.stdin is not None
        try:
            self._emulator.stdin.write(letter + data)
        except OSError as exc:
            raise BenchError("the emulator has ended") from exc

    def _reply(self, count: int) -> bytes:
        assert self._emulator.stdout is not None
        data = bytearray()
        while len(data) < count:
            more = self._emulator.stdout.read(count - len(data))
            if not more:
                raise BenchError("the emulator has ended")
            data += more
        return bytes(data)

    def feed(self, data: bytes) -> None:
        """Give bytes to the line; they arrive at its rate."""
        self._order(b"F", struct.pack("<H", len(data)) + data)

    def advance(self, seconds: float) -> None:
        """Let time pass."""
        whole_us = round((seconds + self._rest_s) * 1e6)
        self._rest_s += seconds - whole_us * 1e-6
        self._go(whole_us, 0)

    def wait_for_output(self, limit_us: int, slice_us: int) -> int:
        """Let time pass in slices, to the end of one in which something came out."""
        return 0 if self._output else self._go(limit_us, slice_us)

    def _go(self, limit_us: int, slice_us: int) -> int:
        self._order(b"A", struct.pack("<II", limit_us, slice_us))
        passed_us, self._cycles, count = struct.unpack("<IQH", self._reply(14))
        self._output += self._reply(count)
        return int(passed_us)

    def take_output(self) -> bytes:
        """Return what came out of the line until now."""
        data = bytes(self._output)
        self._output.clear()
        return data

    def restart(self, cause: StartCause = StartCause.POWER) -> None:
        """Restart the controller; the world stays as it is."""
        self._order(b"R", struct.pack("<B", int(cause)))
        self._reply(1)

    def begin_late(self, time_us: int, notice: int) -> bool:
        """Restart the controller as if it had run for long; return True."""
        self._order(b"B", struct.pack("<IH", time_us, notice))
        self._reply(1)
        return True

    def hang(self) -> None:
        """Let the program hang with its interrupts off, for the watchdog."""
        self._order(b"H")

    def set(self, value: Value, to: float) -> None:
        """Set a value of the world; the inputs follow at once."""
        self._order(b"S", struct.pack("<Bd", int(value), to))

    def get(self, value: Value) -> float:
        """Return a value of the world."""
        self._order(b"G", struct.pack("<B", int(value)))
        (found,) = struct.unpack("<d", self._reply(8))
        return float(found)

    @property
    def now_s(self) -> float:
        """Time since the bench was made."""
        return self._cycles / CYCLES_PER_SECOND

    def edges(self, since: int = 0) -> list[EdgeTruth]:
        """Return the changes of the inputs from a number on, those still kept."""
        found = []
        for index in range(since, int(self.get(Value.EDGE_COUNT))):
            self._order(b"E", struct.pack("<I", index))
            kept, command, cycles, changed, level, scale = _EDGE.unpack(
                self._reply(_EDGE.size)
            )
            if kept:
                truth = EdgeTruth(
                    command_steps=command,
                    cycles=cycles,
                    input=changed,
                    level=bool(level),
                    scale=scale,
                )
                found.append(truth)
        return found
