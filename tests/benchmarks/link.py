"""What the host's processor spends on a line that is full of edges."""

from __future__ import annotations

import os
import pty
import threading
import time
import tty

from firmware_protocol import Receiver, encode
from firmware_protocol.messages import EdgeNotice, LookAnswer, Source, State
from rig.link.inbox import Inbox
from rig.link.serial_port import SerialTransport
from tests.benchmarks.registry import Claim, Report, Table, benchmark

_BYTES_S = 11_520.0  # 115200 bits a second, 8N1
_SECONDS = 10.0
_SLICE_S = 0.01
_SHARE_LIMIT = 0.10
_SIZES = (1_000, 10_000, 100_000)


def _lines(count: int) -> list[bytes]:
    return [
        encode(
            EdgeNotice(
                number=number % 65536,
                lost=0,
                source=Source.OUT,
                level=number % 2 == 0,
                position=-2_000_000_000 + number,
                time=4_000_000_000 + number,
            )
        )
        for number in range(count)
    ]


def _decoded(count: int) -> float:
    """Return lines a second of processor time, framing and ordering included."""
    data = b"".join(_lines(count))
    receiver, inbox = Receiver(), Inbox(0)
    began_s = time.process_time()
    for start in range(0, len(data), 512):
        for message in receiver.feed(data[start : start + 512]):
            assert isinstance(message, EdgeNotice)
            inbox.put(message)
            inbox.take()
    return count / (time.process_time() - began_s)


def _share_at_full_line() -> tuple[float, int]:
    """Return the share of a core for a full line on a pseudo-terminal, and its edges.

    Another thread plays the line; what it takes itself is taken off.
    """
    master, slave = pty.openpty()
    tty.setraw(slave)
    transport = SerialTransport(os.ttyname(slave))
    player_cpu_s = [0.0]
    receiver, inbox = Receiver(), Inbox(0)

    def play() -> None:
        began_s = time.thread_time()
        _play(master)
        player_cpu_s[0] = time.thread_time() - began_s

    player = threading.Thread(target=play)
    edges = 0
    began_s, began_cpu_s = time.monotonic(), time.process_time()
    player.start()
    while player.is_alive() or edges == 0:
        for message in receiver.feed(transport.read(0.1)):
            if isinstance(message, EdgeNotice):
                inbox.put(message)
                edges += inbox.take() is not None
    player.join()
    spent_s = time.process_time() - began_cpu_s - player_cpu_s[0]
    wall_s = time.monotonic() - began_s
    transport.close()
    os.close(master)
    os.close(slave)
    return spent_s / wall_s, edges


def _play(master: int) -> None:
    """Send edges, and an answer to `look` now and then, as fast as the line goes."""
    look = encode(
        LookAnswer(
            number=1,
            state=State.MOVING,
            position=-2_000_000_000,
            time=4_000_000_000,
            inputs=15,
            next_notice=0,
            boot=60_000,
        )
    )
    lines = _lines(4_000)
    whole = b"".join(
        line + (look if index % 20 == 0 else b"") for index, line in enumerate(lines)
    )
    began_s = time.monotonic()
    sent = 0
    while (now_s := time.monotonic() - began_s) < _SECONDS:
        due = min(int(now_s * _BYTES_S), len(whole))
        sent += os.write(master, whole[sent:due]) if due > sent else 0
        time.sleep(_SLICE_S)


@benchmark("link", "the host's processor at a full line, and lines decoded")
def measure() -> Report:
    """Decode edges of three sizes; then listen to a full line for ten seconds."""
    rates = [(count, _decoded(count)) for count in _SIZES]
    share, edges = _share_at_full_line()
    slowest, quickest = min(rate for _, rate in rates), max(rate for _, rate in rates)
    return Report(
        tables=(
            Table(
                title="edge notices decoded, checked and put in order",
                columns=("lines", "lines a second of processor time", "us a line"),
                rows=[(count, rate, 1e6 / rate) for count, rate in rates],
            ),
            Table(
                title="a line at 115200 bit/s full of edges for 10 s",
                columns=("edges", "edges a second", "share of a core"),
                rows=[(edges, edges / _SECONDS, share)],
            ),
        ),
        claims=(
            Claim(
                claim=f"share of a core at a full line below {_SHARE_LIMIT:.0%}",
                measured=f"{share:.1%}",
                met=share < _SHARE_LIMIT,
            ),
            Claim(
                claim="cost of a line within a factor 1.5 over two decades",
                measured=f"{quickest / slowest:.2f}",
                met=quickest / slowest < 1.5,
            ),
        ),
        notes=(
            "The line is a pseudo-terminal fed at the pace of 11520 bytes a second.",
        ),
    )
