"""A simulated controller whose parts can be exchanged for wrong ones."""

from __future__ import annotations

from typing import Any

from firmware_protocol.checksum import check_digits
from firmware_protocol.framing import LineAssembler
from sim.device import Controller
from sim.drive import Drive
from sim.orders import Orders
from sim.requests import Desk, Reply
from sim.ring import Ring


class SoundDesk(Desk):
    """Leaves the rate as it is when a `rate` is repeated."""

    def answer(self, body: bytes) -> Reply | None:
        kept = self._remembered
        reply = super().answer(body)
        again = kept is not None and reply is kept[2]
        return Reply(lines=reply.lines) if again and reply is not None else reply


class Wrong(Controller):
    """A controller some of whose parts are of another class."""

    desk: type[Desk] = SoundDesk
    orders: type[Orders] = Orders
    ring: type[Ring] = Ring
    drive: type[Drive] = Drive
    assembler: type[LineAssembler] = LineAssembler

    def _start(self, *arguments: Any) -> None:
        self._drive.__class__ = self.drive
        self._inbox.assembler = self.assembler()
        super()._start(*arguments)
        for part, cls in (
            (self._desk, self.desk),
            (self._orders, self.orders),
            (self._ring, self.ring),
        ):
            part.__class__ = cls


# ---- lines


def line_of(body: str) -> bytes:
    content = body.encode()
    return b"&" + content + b" " + check_digits(content) + b"\n"
