"""The simulated bench of firmware/world/bench.h, reached by ctypes.

Knows the bench's interface; which library is behind it is the business of the
controllers.
"""

from __future__ import annotations

import ctypes
import enum
import subprocess
from dataclasses import dataclass
from pathlib import Path
from types import TracebackType
from typing import Self

FIRMWARE = Path(__file__).resolve().parents[2] / "firmware"
CYCLES_PER_SECOND = 16_000_000
_TAKE_BYTES = 65536


class BenchError(Exception):
    """A controller cannot be built or started; says what is missing."""


class Value(enum.IntEnum):
    """What can be set and read of the world; steps from where it was put, bit/s.

    The order is that of `enum bench_value` in bench.h; from `SUPPLY_MV` on, that of the
    quantities of SPEC.md.
    """

    OPERATE_AT = 0
    RELEASE_AT = 1
    NOISE = 2
    SEED = 3
    HOME_AT = 4
    HOME_GAP = 5
    PROBE_AT = 6
    BACKLASH = 7
    OUT_FORCED = 8
    SUPPLY = 9
    REVERSED = 10
    DRIVE = 11
    BROKEN = 12
    TARGET = 13
    LINE_RATE = 14
    COMMAND = 15
    PULSES_UP = 16
    PULSES_DOWN = 17
    EDGE_COUNT = 18
    INPUTS = 19
    ENABLED = 20
    CYCLES = 21
    CONTROLLER_RATE = 22
    OVERRUNS = 23
    SWITCHED_ON = 24
    SWITCHED_CYCLES = 25
    SET_MV = 26
    SCALE = 27
    SUPPLY_MV = 28
    LOAD_CURRENT_UA = 29
    RESIDUAL_VOLTAGE_MV = 30
    TEMPERATURE_M_C = 31


class StartCause(enum.IntEnum):
    """Why a restart happens, in the order of the spec's StartReason."""

    POWER = 0
    BUTTON = 1
    WATCHDOG = 2
    BROWNOUT = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class EdgeTruth:
    """A change of an input as it was.

    Attributes:
        command_steps: Pulses up less pulses down until then.
        cycles: When, in cycles of 62.5 ns since the bench was made.
        input: Bit of the input, as in the answer to `look`.
        level: Level of the input after the change.
        scale: Count of the scale then.
    """

    command_steps: int
    cycles: int
    input: int
    level: bool
    scale: int


class _Edge(ctypes.Structure):
    _fields_ = (
        ("command", ctypes.c_int64),
        ("cycles", ctypes.c_uint64),
        ("input", ctypes.c_uint8),
        ("level", ctypes.c_uint8),
        ("scale", ctypes.c_int32),
    )


def build(target: str) -> Path:
    """Make a target of the firmware's Makefile and return its path.

    Args:
        target: Name below the build folder.

    Raises:
        BenchError: `make` or the compiler is missing, or refuses.
    """
    command = ["make", "-s", "-C", str(FIRMWARE), f"build/{target}"]
    try:
        done = subprocess.run(command, capture_output=True, text=True, check=False)
    except FileNotFoundError as exc:
        raise BenchError("`make` is not installed") from exc
    if done.returncode != 0:
        last = done.stderr.strip().splitlines()[-3:]
        raise BenchError(f"cannot build {target}: {' / '.join(last)}")
    return FIRMWARE / "build" / target


def load(library: Path) -> ctypes.CDLL:
    """Load a bench's library and say what its functions take.

    Raises:
        BenchError: It cannot be loaded.
    """
    try:
        code = ctypes.CDLL(str(library))
    except OSError as exc:
        raise BenchError(f"cannot load {library.name}: {exc}") from exc
    pointer, number = ctypes.c_void_p, ctypes.c_double
    code.bench_new.argtypes = (ctypes.c_char_p, *[ctypes.c_int] * 3)
    code.bench_new.restype = pointer
    code.bench_free.argtypes = (pointer,)
    code.bench_free.restype = None
    code.bench_restart.argtypes = (pointer, ctypes.c_int)
    code.bench_restart.restype = None
    code.bench_feed.argtypes = (pointer, ctypes.c_char_p, ctypes.c_size_t)
    code.bench_feed.restype = None
    code.bench_advance.argtypes = (pointer, number)
    code.bench_advance.restype = None
    code.bench_take.argtypes = (pointer, ctypes.c_char_p, ctypes.c_size_t)
    code.bench_take.restype = ctypes.c_size_t
    code.bench_set.argtypes = (pointer, ctypes.c_int, number)
    code.bench_set.restype = None
    code.bench_get.argtypes = (pointer, ctypes.c_int)
    code.bench_get.restype = number
    code.bench_edge.argtypes = (pointer, ctypes.c_uint64, ctypes.POINTER(_Edge))
    code.bench_edge.restype = ctypes.c_int
    code.bench_log_pulses.argtypes = (pointer, pointer, ctypes.c_uint64)
    code.bench_log_pulses.restype = None
    code.bench_pulses_logged.argtypes = (pointer,)
    code.bench_pulses_logged.restype = ctypes.c_uint64
    return code


class Bench:
    """A controller on its bench, in this process.

    Attributes:
        name: What reports call it.
    """

    name = "bench"

    def __init__(
        self,
        library: Path,
        image: Path | None,
        abilities: int,
        quantities: int = 0,
        controls: int = 0,
    ) -> None:
        self._code = load(library)
        path = None if image is None else str(image).encode()
        self._output = b""
        self._bench = self._code.bench_new(path, abilities, quantities, controls)
        if not self._bench:
            raise BenchError(f"{library.name} could not start the controller")
        self._taken = ctypes.create_string_buffer(_TAKE_BYTES)
        self._pulses: ctypes.Array[ctypes.c_uint64] | None = None

    def close(self) -> None:
        """Take the bench down; nothing else may be called afterwards."""
        if self._bench:
            self._code.bench_free(self._bench)
            self._bench = None

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

    def feed(self, data: bytes) -> None:
        """Give bytes to the line; they arrive at its rate."""
        self._code.bench_feed(self._bench, data, len(data))

    def advance(self, seconds: float) -> None:
        """Let time pass."""
        self._code.bench_advance(self._bench, seconds)

    def wait_for_output(self, limit_us: int, slice_us: int) -> int:
        """Let time pass in slices, to the end of one in which something came out."""
        passed_us = 0
        self._output = self._taken_now()
        while not self._output and passed_us < limit_us:
            step_us = min(slice_us, limit_us - passed_us)
            self.advance(step_us * 1e-6)
            passed_us += step_us
            self._output = self._taken_now()
        return passed_us

    def take_output(self) -> bytes:
        """Return what came out of the line until now."""
        before, self._output = self._output, b""
        return before + self._taken_now()

    def _taken_now(self) -> bytes:
        count = self._code.bench_take(self._bench, self._taken, _TAKE_BYTES)
        return self._taken.raw[:count]

    def restart(self, cause: StartCause = StartCause.POWER) -> None:
        """Restart the controller; the world stays as it is."""
        self._code.bench_restart(self._bench, int(cause))

    def begin_late(self, time_us: int, notice: int) -> bool:
        """Return False: its memory is not reached from here."""
        del time_us, notice
        return False

    def set(self, value: Value, to: float) -> None:
        """Set a value of the world; the inputs follow at once."""
        self._code.bench_set(self._bench, int(value), to)

    def get(self, value: Value) -> float:
        """Return a value of the world."""
        return float(self._code.bench_get(self._bench, int(value)))

    @property
    def now_s(self) -> float:
        """Time since the bench was made."""
        return self.get(Value.CYCLES) / CYCLES_PER_SECOND

    def edges(self, since: int = 0) -> list[EdgeTruth]:
        """Return the changes of the inputs from a number on, those still kept."""
        edge, found = _Edge(), []
        for index in range(since, int(self.get(Value.EDGE_COUNT))):
            if not self._code.bench_edge(self._bench, index, ctypes.byref(edge)):
                continue  # too long ago: no longer kept
            truth = EdgeTruth(
                command_steps=edge.command,
                cycles=edge.cycles,
                input=edge.input,
                level=bool(edge.level),
                scale=edge.scale,
            )
            found.append(truth)
        return found

    def log_pulses(self, capacity: int) -> None:
        """Keep the time of each of the next pulses."""
        self._pulses = (ctypes.c_uint64 * capacity)()
        address = ctypes.cast(self._pulses, ctypes.c_void_p)
        self._code.bench_log_pulses(self._bench, address, capacity)

    def pulse_cycles(self) -> list[int]:
        """Return the times kept, in cycles of 62.5 ns."""
        if self._pulses is None:
            return []
        return self._pulses[: self._code.bench_pulses_logged(self._bench)]
