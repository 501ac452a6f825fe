"""Line framing: bytes in, line bodies and stop marks out. Knows no meaning."""

from __future__ import annotations

from enum import Enum

from firmware_protocol.messages import (
    END_BYTE,
    LONGEST_LINE_BYTES,
    START_BYTE,
    STOP_BYTE,
)

_CARRIAGE_RETURN = 0x0D  # some terminals send it before the newline
_LONGEST_BODY = LONGEST_LINE_BYTES - 1  # the start byte is not part of it


class StopMark(Enum):
    """The stop byte came."""

    STOP = "stop"


class LineAssembler:
    """Collects bytes into lines.

    A start byte always begins anew; a line that is too long, holds a byte outside
    printable ASCII, or is broken off by another start byte is dropped and counted.
    A stop byte is taken out wherever it stands, and drops the line that it stands in:
    an order that was half sent when somebody pressed stop must not be carried out.

    Attributes:
        dropped: Lines dropped so far.
    """

    def __init__(self) -> None:
        self.dropped = 0
        self._line = bytearray()
        self._inside = False

    def feed(self, data: bytes) -> list[bytes | StopMark]:
        """Take bytes as they come; return what they complete, in order.

        Returns:
            Bodies (between start byte and newline, check included) and stop marks.
        """
        done: list[bytes | StopMark] = []
        for byte in data:
            if byte == STOP_BYTE:
                self._inside = False
                done.append(StopMark.STOP)
            elif byte == START_BYTE:
                self._drop_if(self._inside)
                self._line.clear()
                self._inside = True
            elif self._inside:
                self._take(byte, done)
        return done

    def _take(self, byte: int, done: list[bytes | StopMark]) -> None:
        if byte == END_BYTE:
            self._inside = False
            if self._line.endswith(b"\r"):
                self._line.pop()
            done.append(bytes(self._line))
        elif self._line.endswith(b"\r"):
            self._drop_if(True)  # a carriage return stands right before the end only
        elif byte == _CARRIAGE_RETURN:
            self._line.append(byte)
        elif not 0x20 <= byte <= 0x7E or len(self._line) >= _LONGEST_BODY:
            self._drop_if(True)
        else:
            self._line.append(byte)

    def _drop_if(self, broken: bool) -> None:
        if broken:
            self.dropped += 1
            self._inside = False
