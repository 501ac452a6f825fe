"""A controller that lies within the protocol, and the table of its lies."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from typing import Any

from firmware_protocol import Incoming, Receiver, encode
from firmware_protocol.messages import (
    EdgeNotice,
    GoRequest,
    LookAnswer,
    RecallAnswer,
    RestCause,
    RestNotice,
    Source,
)
from rig.errors import RigError
from rig.records import Writer

CLOCK_ROUND = 2**32
Lie = Callable[["Liar", Incoming], Iterator[Incoming]]


class Liar:
    """Stands between a simulated controller and the host, and changes what it tells.

    Attributes:
        lie: Changes a message, or makes several of it; None tells the truth.
        told: How many lies were told.
        last_edge: The last edge of the output that passed.
    """

    def __init__(self, transport) -> None:
        self.lie: Lie | None = None
        self.told = 0
        self.last_edge: EdgeNotice | None = None
        self.request = 0
        self._receiver = Receiver()
        self._read, self._write = transport.read, transport.write
        self._sent = Receiver()
        transport.read, transport.write = self.read, self.write

    def write(self, data: bytes) -> None:
        for item in self._sent.feed(data):
            if isinstance(item, GoRequest):
                self.request = item.number
        self._write(data)

    def read(self, longest_wait_s: float) -> bytes:
        out = b""
        for item in self._receiver.feed(self._read(longest_wait_s)):
            messages = [item] if self.lie is None else list(self.lie(self, item))
            self.told += messages != [item]
            out += b"".join(encode(message) for message in messages)
            if isinstance(item, EdgeNotice) and item.source is Source.OUT:
                self.last_edge = item
        return out


def of_edges(change: Callable[[EdgeNotice, Liar], EdgeNotice]) -> Lie:
    def lie(liar: Liar, item: Incoming) -> Iterator[Incoming]:
        is_edge = isinstance(item, EdgeNotice) and item.source is Source.OUT
        yield change(item, liar) if is_edge else item

    return lie


def moved(steps: int) -> Lie:
    return of_edges(lambda edge, _: replace(edge, position=edge.position + steps))


def timed(us: int) -> Lie:
    return of_edges(lambda e, _: replace(e, time=(e.time + us) % CLOCK_ROUND))


def constant_time(edge: EdgeNotice, liar: Liar) -> EdgeNotice:
    return edge if liar.last_edge is None else replace(edge, time=liar.last_edge.time)


def of_rests(change: Callable[[RestNotice], RestNotice | None]) -> Lie:
    def lie(liar: Liar, item: Incoming) -> Iterator[Incoming]:
        changed = change(item) if isinstance(item, RestNotice) else item
        if changed is not None:
            yield changed

    return lie


def copied(liar: Liar, item: Incoming) -> Iterator[Incoming]:
    """Send each edge a second time, a little elsewhere."""
    yield item
    if isinstance(item, EdgeNotice):
        yield replace(item, position=item.position + 1)


def rest_too_soon(liar: Liar, item: Incoming) -> Iterator[Incoming]:
    """Tell of rest with the first edge, while the axis still goes."""
    yield item
    if isinstance(item, EdgeNotice) and item.source is Source.OUT:
        yield RestNotice(
            number=item.number + 1,
            lost=0,
            request=liar.request,
            cause=RestCause.THERE,
            position=item.position,
            time=item.time,
        )


def mute_of_rest(liar: Liar, item: Incoming) -> Iterator[Incoming]:
    """Never tell of rest, nor that there is a notice of it."""
    if isinstance(item, LookAnswer):
        yield replace(item, state="moving", next_notice=liar_next(liar))
    elif not isinstance(item, RestNotice | RecallAnswer):
        yield item


def flood(liar: Liar, item: Incoming) -> Iterator[Incoming]:
    """Answer each look with a thousand edges more, and never tell of rest."""
    if isinstance(item, LookAnswer):
        first = liar_next(liar) if liar.last_edge else item.next_notice
        for number in range(first, first + 1000):
            liar.last_edge = EdgeNotice(
                number=number,
                lost=0,
                source=Source.OUT,
                level=bool(number % 2),
                position=item.position,
                time=item.time,
            )
            yield liar.last_edge
        yield replace(item, state="moving", next_notice=first + 1000)
    elif not isinstance(item, RestNotice | RecallAnswer | EdgeNotice):
        yield item


def liar_next(liar: Liar) -> int:
    return 0 if liar.last_edge is None else liar.last_edge.number + 1


LIES: dict[str, Lie] = {
    # 5 um is 8 steps
    "edge 5 um on": moved(8),
    "edge 5 um back": moved(-8),
    "edge 100 um on": moved(160),
    "edge 100 um back": moved(-160),
    "edge at the home switch": of_edges(lambda e, _: replace(e, position=0)),
    "edge far beyond the way": moved(10**6),
    "time stands still": of_edges(constant_time),
    "time 20 ms late": timed(20_000),
    "time 20 ms early": timed(-20_000),
    "time a minute back": timed(-60_000_000),
    "time half a round off": timed(2**31),
    "rest 100 um off": of_rests(lambda r: replace(r, position=r.position + 160)),
    "rest 100 um short": of_rests(lambda r: replace(r, position=r.position - 160)),
    "turn told as arrival": of_rests(
        lambda r: replace(
            r, cause=RestCause.THERE if r.cause is RestCause.TURN else r.cause
        )
    ),
    "arrival told as turn": of_rests(
        lambda r: replace(
            r, cause=RestCause.TURN if r.cause is RestCause.THERE else r.cause
        )
    ),
    "rest told too soon": rest_too_soon,
    "copy differs": copied,
}


def lie_to(
    rig: Any, lie: Lie, writer: Writer
) -> tuple[Liar, list[str], RigError | None]:
    """Run four sweeps of which the last three are lied about.

    Returns:
        The liar, what voids the sweeps that were lied about, and how the run ended.
    """
    liar = Liar(rig.transport)
    bench = rig.touch_off()

    def tell(event) -> None:
        rig.told.append(event)
        if rig.sweeps_told():
            liar.lie = lie

    error: RigError | None = None
    try:
        rig.run(bench, rig.order(sweeps=4), writer, tell=tell)
    except RigError as exc:
        error = exc
    return liar, [event.sweep.void for event in rig.sweeps_told()[1:]], error
