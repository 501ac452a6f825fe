"""The image for the ATmega328P in a simulator, in this process.

Needs avr-gcc and the simulator's library; the library is under the GPL and is loaded
by tests only.
"""

from __future__ import annotations

import ctypes
from dataclasses import dataclass

from firmware_protocol.conformance.controllers.bench import Bench, build
from firmware_protocol.messages import Ability

# Vectors of the ATmega328P, numbered as in the simulator
VECTORS = {
    "probe": 1,
    "home": 2,
    "sensor": 10,
    "step": 11,
    "overflow": 13,
    "receive": 18,
    "send": 19,
}


@dataclass(frozen=True, slots=True, kw_only=True)
class RoutineCycles:
    """What an interrupt routine took since it was last asked for, entry included.

    Attributes:
        count: How often it ran.
        total: Cycles in all.
        most: Cycles of the longest run.
    """

    count: int
    total: int
    most: int


class _Routine(ctypes.Structure):
    _fields_ = (
        ("count", ctypes.c_uint64),
        ("total", ctypes.c_uint64),
        ("most", ctypes.c_uint64),
    )


class AvrImage(Bench):
    """The very image that is flashed, on a simulated board.

    Attributes:
        name: What reports call it.
    """

    name = "AVR image"

    def __init__(
        self, abilities: Ability = Ability.SUPPLY_SENSE | Ability.SIMULATED
    ) -> None:
        image = build("atmega328p.elf")
        super().__init__(build("libavr_image.so"), image, int(abilities))
        pointer, number = ctypes.c_void_p, ctypes.c_int
        self._code.board_routine.argtypes = (
            pointer,
            number,
            ctypes.POINTER(_Routine),
        )
        self._code.board_routine.restype = None
        for call in ("board_stack_free", "board_static_bytes"):
            getattr(self._code, call).argtypes = (pointer,)
        self._code.board_hang.argtypes = (pointer,)
        self._code.board_hang.restype = None
        self._code.board_write_eeprom.argtypes = (pointer, number, ctypes.c_uint8)
        self._code.board_write_eeprom.restype = None

    def routine(self, vector: str) -> RoutineCycles:
        """Return the cycles of an interrupt routine since the last call for it."""
        found = _Routine()
        self._code.board_routine(self._bench, VECTORS[vector], ctypes.byref(found))
        return RoutineCycles(count=found.count, total=found.total, most=found.most)

    @property
    def stack_free_bytes(self) -> int:
        """Memory that the stack has not touched since the start."""
        return int(self._code.board_stack_free(self._bench))

    @property
    def static_bytes(self) -> int:
        """Memory that variables take."""
        return int(self._code.board_static_bytes(self._bench))

    def write_eeprom(self, at: int, data: bytes) -> None:
        """Change bytes of the non-volatile memory; they are read at a start."""
        for offset, byte in enumerate(data):
            self._code.board_write_eeprom(self._bench, at + offset, byte)

    def hang(self) -> None:
        """Let the program hang with interrupts off, for the watchdog."""
        self._code.board_hang(self._bench)
