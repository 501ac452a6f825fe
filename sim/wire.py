"""Both directions of the line, in simulated time: a byte takes ten bits.

Knows lines and when their last bit has passed; knows no meaning.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable
from typing import Final

from firmware_protocol import StopMark
from firmware_protocol.framing import LineAssembler
from firmware_protocol.messages import END_BYTE, FIRST_RATE_BITS_S, STOP_BYTE

_BITS_A_BYTE: Final = 10  # 8 data bits, a start and a stop bit


def wire_us(count: int, rate_bits_s: int) -> int:
    """Return how long so many bytes take, rounded up to whole µs."""
    return -(-count * _BITS_A_BYTE * 1_000_000 // rate_bits_s)


class Inbox:
    """Bytes from the host, on their way and arrived.

    Attributes:
        rate_bits_s: Rate of the line.
        assembler: What makes lines of the bytes.
    """

    def __init__(self, garble: Callable[[bytes], bytes]) -> None:
        self.rate_bits_s = FIRST_RATE_BITS_S
        self.assembler = LineAssembler()
        self._garble = garble
        self._coming: deque[tuple[int, bytes]] = deque()
        self._free_us = 0

    def send(self, data: bytes, now_us: int) -> None:
        """Put bytes on the wire, after those that are on it already."""
        begin_us = max(now_us, self._free_us)
        sent = 0
        for piece in _pieces(self._garble(data)):
            sent += len(piece)
            self._free_us = begin_us + wire_us(sent, self.rate_bits_s)
            self._coming.append((self._free_us, piece))

    def next_us(self) -> int | None:
        """Return when the next bytes are in, None if none are on the wire."""
        return self._coming[0][0] if self._coming else None

    def take(self) -> list[bytes | StopMark]:
        """Take the bytes that are in; return the lines and stop marks they end."""
        _, piece = self._coming.popleft()
        return self.assembler.feed(piece)

    def clear(self, now_us: int) -> None:
        """Lose everything that is on the wire and half received."""
        self.assembler = LineAssembler()
        self._coming.clear()
        self._free_us = now_us


class Outbox:
    """Lines to the host: one reply that waits, and one line on the wire.

    Attributes:
        rate_bits_s: Rate of the line.
        next_notice: Where lines come from while no reply waits.
    """

    def __init__(
        self, next_notice: Callable[[], bytes | None], garble: Callable[[bytes], bytes]
    ) -> None:
        self.rate_bits_s = FIRST_RATE_BITS_S
        self._next_notice = next_notice
        self._garble = garble
        self._reply: list[bytes] = []
        self._rate_after: int | None = None
        self._line: bytes | None = None
        self._line_rate: int | None = None
        self._done_us = 0
        self._passed = bytearray()

    @property
    def reply_waits(self) -> bool:
        """Whether a reply has not begun yet; there is room for one."""
        return bool(self._reply)

    def put_reply(self, lines: tuple[bytes, ...], rate_after: int | None) -> None:
        """Put in a reply, and the rate of the line from the byte after it."""
        self._reply.extend(lines)
        self._rate_after = rate_after

    def begin(self, now_us: int) -> None:
        """Begin the next line if the wire is free and there is one."""
        if self._line is not None:
            return
        if self._reply:
            self._line = b"".join(self._reply)
            self._line_rate = self._rate_after
            self._reply.clear()
        else:
            self._line = self._next_notice()
            self._line_rate = None
        if self._line is not None:
            self._done_us = now_us + wire_us(len(self._line), self.rate_bits_s)

    def next_us(self) -> int | None:
        """Return when the line on the wire is through, None if there is none."""
        return None if self._line is None else self._done_us

    def finish(self) -> int | None:
        """Let the line on the wire pass; return the rate that follows it, if new."""
        assert self._line is not None
        self._passed += self._garble(self._line)
        self._line = None
        return self._line_rate

    def babble(self, data: bytes) -> None:
        """Pass bytes that are no line."""
        self._passed += data

    def take(self) -> bytes:
        """Return what has passed since the last call."""
        passed = bytes(self._passed)
        self._passed.clear()
        return passed

    def clear(self) -> None:
        """Break off; what has passed stays passed."""
        self._line = None
        self._reply.clear()


def _pieces(data: bytes) -> list[bytes]:
    """Cut bytes after each byte that completes something."""
    pieces: list[bytes] = []
    first = 0
    for index, byte in enumerate(data):
        if byte in (END_BYTE, STOP_BYTE):
            pieces.append(data[first : index + 1])
            first = index + 1
    if first < len(data):
        pieces.append(data[first:])
    return pieces
