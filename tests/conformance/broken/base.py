"""A simulated controller whose parts can be exchanged for wrong ones."""

from __future__ import annotations

from typing import Any

from firmware_protocol.checksum import check_digits
from firmware_protocol.framing import LineAssembler
from sim.device import Controller
from sim.drive import Drive
from sim.orders import Orders
from sim.requests import Desk
from sim.ring import Ring
from sim.sessions import Session


class Wrong(Controller):
    """A controller some of whose parts are of another class."""

    desk: type[Desk] = Desk
    session: type[Session] = Session
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
            (self._desk.session, self.session),
            (self._orders, self.orders),
            (self._ring, self.ring),
        ):
            part.__class__ = cls


# ---- lines


def line_of(body: str) -> bytes:
    content = body.encode()
    return b"&" + content + b" " + check_digits(content) + b"\n"
