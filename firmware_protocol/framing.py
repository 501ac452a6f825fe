"""Line framing: bytes in, line bodies and stop marks out. Knows no meaning."""

from __future__ import annotations

import re
from enum import Enum

from firmware_protocol.messages import (
    END_BYTE,
    LONGEST_LINE_BYTES,
    START_BYTE,
    STOP_BYTE,
)

_CARRIAGE_RETURN = 0x0D  # some terminals send it before the newline
_LONGEST_BODY = LONGEST_LINE_BYTES - 1  # the start byte is not part of it

_MARKS = re.escape(bytes([START_BYTE, STOP_BYTE]))
_OUTSIDE = re.compile(rb"[^%b]+" % _MARKS)
_PLAIN = re.compile(rb"(?:(?![%b])[\x20-\x7e])+" % _MARKS)


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
        at = 0
        while at < len(data):
            # All that one line or the noise between two has in this piece, at once
            pattern = _PLAIN if self._inside else _OUTSIDE
            run = pattern.match(data, at)
            if run is not None:
                self._take_plain(run[0])
                at = run.end()
                continue
            byte = data[at]
            at += 1
            if byte == STOP_BYTE:
                self._inside = False
                done.append(StopMark.STOP)
            elif byte == START_BYTE:
                self._drop_if(self._inside)
                self._line.clear()
                self._inside = True
            else:
                self._take(byte, done)
        return done

    def _take_plain(self, run: bytes) -> None:
        if self._inside:
            # A carriage return stands right before the end only
            if len(self._line) + len(run) > _LONGEST_BODY or self._line[-1:] == b"\r":
                self._drop_if(True)
            else:
                self._line += run

    def _take(self, byte: int, done: list[bytes | StopMark]) -> None:
        if byte == END_BYTE:
            self._inside = False
            if self._line.endswith(b"\r"):
                self._line.pop()
            done.append(bytes(self._line))
        elif byte == _CARRIAGE_RETURN and not self._line.endswith(b"\r"):
            self._line.append(byte)
        else:
            self._drop_if(True)

    def _drop_if(self, broken: bool) -> None:
        if broken:
            self.dropped += 1
            self._inside = False
