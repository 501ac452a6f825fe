"""Wrong about lines, the check and the stop byte."""

from __future__ import annotations

import binascii

from firmware_protocol import StopMark
from firmware_protocol.checksum import check_digits
from firmware_protocol.framing import LineAssembler
from firmware_protocol.messages import (
    STOP_BYTE,
)

from .base import Wrong


class Right(Wrong):
    """Nothing is wrong."""


class OtherCheck(Wrong):
    """The check begins with 0."""

    def _hear(self, body: bytes) -> None:
        fits = f"{binascii.crc_hqx(body[:-5], 0):04x}".encode() == body[-4:]
        super()._hear(body[:-4] + check_digits(body[:-5]) if fits else b"")

    def take_output(self) -> bytes:
        lines = super().take_output().split(b"\n")
        return b"\n".join(
            line[:-4] + f"{binascii.crc_hqx(line[1:-5], 0):04x}".encode()
            if line
            else line
            for line in lines
        )


class UpperCase(Wrong):
    """The case of the check does not matter."""

    def _hear(self, body: bytes) -> None:
        super()._hear(body[:-4] + body[-4:].lower())


class NoCheck(Wrong):
    """A damaged line is answered with an error."""

    def _hear(self, body: bytes) -> None:
        if body[-5:-4] == b" " and check_digits(body[:-5]) != body[-4:]:
            body = b"q5 damaged"
            body += b" " + check_digits(body)
            self._damaged += 1
        super()._hear(body)


class LongLines(LineAssembler):
    def _take_plain(self, run: bytes) -> None:
        if self._inside and len(self._line) + len(run) <= 70:
            self._line += run
        else:
            super()._take_plain(run)


class TakesLongLines(Wrong):
    """A line of 70 bytes is taken."""

    assembler = LongLines


class CountsTwiceLines(LineAssembler):
    def feed(self, data: bytes) -> list[bytes | StopMark]:
        before = self.dropped
        done = super().feed(data)
        self.dropped += self.dropped - before
        return done


class CountsTwice(Wrong):
    """A damaged line counts twice."""

    assembler = CountsTwiceLines


class NoReturn(LineAssembler):
    def _take(self, byte: int, done: list[bytes | StopMark]) -> None:
        if byte == 0x0D:
            self._drop_if(True)
        else:
            super()._take(byte, done)


class RefusesReturn(Wrong):
    """A CR before the LF spoils the line."""

    assembler = NoReturn


class StopOutside(LineAssembler):
    def feed(self, data: bytes) -> list[bytes | StopMark]:
        done: list[bytes | StopMark] = []
        for byte in data:
            if byte == STOP_BYTE and self._inside:
                self._drop_if(True)
            else:
                done += super().feed(bytes([byte]))
        return done


class IgnoresStopInLine(Wrong):
    """The stop byte is another byte in the middle of a line."""

    assembler = StopOutside


class StopTakenOut(LineAssembler):
    def feed(self, data: bytes) -> list[bytes | StopMark]:
        done: list[bytes | StopMark] = []
        for byte in data:
            inside = self._inside
            done += super().feed(bytes([byte]))
            self._inside = inside if byte == STOP_BYTE else self._inside
        return done


class KeepsLineAtStop(Wrong):
    """The line around the stop byte is carried out all the same."""

    assembler = StopTakenOut


class StopCounted(LineAssembler):
    def feed(self, data: bytes) -> list[bytes | StopMark]:
        done: list[bytes | StopMark] = []
        for byte in data:
            self.dropped += byte == STOP_BYTE and self._inside
            done += super().feed(bytes([byte]))
        return done


class CountsStop(Wrong):
    """The line around the stop byte is counted as damaged."""

    assembler = StopCounted


CAUGHT: dict[type[Wrong], str] = {
    Right: "",
    OtherCheck: "4.1 5.3 6.11 12.1 12.2 12.3",
    UpperCase: "2.10 4.3",
    NoCheck: "2.9 2.10 4.2 4.3 9.5 10.33",
    TakesLongLines: "2.6",
    CountsTwice: "2.4 2.6 2.7 2.8",
    RefusesReturn: "2.2",
    IgnoresStopInLine: "5.1 5.9",
    KeepsLineAtStop: "5.1",
    CountsStop: "5.1",
}
