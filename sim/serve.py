"""A simulated controller on a pseudo-terminal or a TCP port, at real pace.

One thread, one loop: simulated time follows a monotonic clock, bytes are taken when
they come. Knows nothing of what the bytes mean.
"""

from __future__ import annotations

import contextlib
import os
import select
import socket
import time
from collections.abc import Callable
from typing import Final, Protocol

LOOPBACK: Final = "127.0.0.1"
_READ_BYTES: Final = 4096
_IDLE_S: Final = 0.02
# A process that was held up for longer than this has not lived through that time:
# the host's lines of those moments wait unread, and must not count as silence. So
# simulated time stands still for the rest of it.
_HELD_UP_US: Final = 50_000


class Port(Protocol):
    """Where the bytes come from and go to."""

    def waits_on(self) -> list[int]:
        """Return the descriptors that become readable when there is something."""

    def read(self) -> bytes:
        """Return what is there, empty if nothing is; never wait."""

    def write(self, data: bytes) -> None:
        """Send; what nobody takes is lost, as on a wire."""

    def close(self) -> None:
        """Go away."""


class PtyPort:
    """A pseudo-terminal.

    Attributes:
        path: What a host opens.
    """

    def __init__(self) -> None:
        # Deferred: these exist on POSIX only, TCP works everywhere
        import pty
        import tty

        self._master, self._slave = pty.openpty()
        tty.setraw(self._slave)
        os.set_blocking(self._master, False)
        # The slave stays open here: reading the master fails while nobody has it open
        self.path = os.ttyname(self._slave)

    def waits_on(self) -> list[int]:
        """Return the master."""
        return [self._master]

    def read(self) -> bytes:
        """Return what the host has written."""
        try:
            return os.read(self._master, _READ_BYTES)
        except BlockingIOError:
            return b""

    def write(self, data: bytes) -> None:
        """Send; what does not fit into the terminal's queue is lost."""
        with contextlib.suppress(BlockingIOError):
            os.write(self._master, data)

    def close(self) -> None:
        """Close both ends."""
        os.close(self._master)
        os.close(self._slave)


class TcpPort:
    """A TCP port for one host at a time.

    Attributes:
        address: Where it listens.
    """

    def __init__(self, host: str = LOOPBACK, port: int = 0) -> None:
        self._listener = socket.create_server((host, port))
        self._listener.setblocking(False)
        name = self._listener.getsockname()
        self.address: tuple[str, int] = (name[0], name[1])
        self._peer: socket.socket | None = None

    def waits_on(self) -> list[int]:
        """Return the listener and the connection."""
        peer = [] if self._peer is None else [self._peer.fileno()]
        return [self._listener.fileno(), *peer]

    def read(self) -> bytes:
        """Return what the host has sent; let one in, send others away."""
        self._accept()
        if self._peer is None:
            return b""
        try:
            data = self._peer.recv(_READ_BYTES)
        except BlockingIOError:
            return b""
        except OSError:
            data = b""
        if not data:
            self._drop()
        return data

    def write(self, data: bytes) -> None:
        """Send to the host, if one is there."""
        if self._peer is None:
            return
        try:
            self._peer.send(data)
        except BlockingIOError:
            pass
        except OSError:
            self._drop()

    def close(self) -> None:
        """Close the connection and the listener."""
        self._drop()
        self._listener.close()

    def _accept(self) -> None:
        try:
            peer, _ = self._listener.accept()
        except OSError:
            return
        if self._peer is not None:
            peer.close()
            return
        peer.setblocking(False)
        peer.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
        self._peer = peer

    def _drop(self) -> None:
        if self._peer is not None:
            self._peer.close()
            self._peer = None


class Served(Protocol):
    """What can be served: a controller, or what stands before one."""

    @property
    def now_us(self) -> int:
        """Time."""

    @property
    def hung_up(self) -> bool:
        """Whether the link has gone for good."""

    def receive(self, data: bytes) -> None:
        """Take bytes from the host."""

    def take_output(self) -> bytes:
        """Return the bytes for the host since the last call."""

    def advance_to(self, time_us: int) -> None:
        """Let time pass up to a moment."""

    def next_event_us(self) -> int | None:
        """Return when something happens next; None for never."""


class Server:
    """Holds a controller at real pace behind a port, until stopped.

    `run` is called once, in whatever thread shall own the controller; `stop` may be
    called from any.

    Attributes:
        controller: The controller; only the owner's thread may touch it.
    """

    def __init__(
        self,
        controller: Served,
        port: Port,
        *,
        clock: Callable[[], float] = time.monotonic,
    ) -> None:
        self.controller = controller
        self._port = port
        self._clock = clock
        self._woken, self._waker = socket.socketpair()
        self._stopping = False

    def stop(self) -> None:
        """End `run` soon."""
        self._stopping = True
        with contextlib.suppress(OSError):  # it has ended already
            self._waker.send(b"x")

    def run(self) -> None:
        """Serve until `stop` is called or the link goes away, then close the port."""
        zero_s = self._clock() - self.controller.now_us * 1e-6
        try:
            while not self._stopping and not self.controller.hung_up:
                behind_us = round((self._clock() - zero_s) * 1e6)
                behind_us -= self.controller.now_us
                if behind_us > _HELD_UP_US:
                    zero_s += (behind_us - _HELD_UP_US) * 1e-6
                    behind_us = _HELD_UP_US
                self.controller.advance_to(self.controller.now_us + max(0, behind_us))
                self._take_bytes()
                self._wait(zero_s)
        finally:
            self._port.close()
            self._woken.close()
            self._waker.close()

    def _wait(self, zero_s: float) -> None:
        self._give_bytes()
        event_us = self.controller.next_event_us()
        left_s = _IDLE_S
        if event_us is not None:
            left_s = zero_s + event_us * 1e-6 - self._clock()
        fds = [*self._port.waits_on(), self._woken.fileno()]
        select.select(fds, [], [], min(max(left_s, 0.0), _IDLE_S))

    def _take_bytes(self) -> None:
        data = self._port.read()
        if data:
            self.controller.receive(data)

    def _give_bytes(self) -> None:
        data = self.controller.take_output()
        if data:
            self._port.write(data)


def serve_pty(controller: Served) -> tuple[Server, str]:
    """Return a server on a new pseudo-terminal and the path that a host opens."""
    port = PtyPort()
    return Server(controller, port), port.path


def serve_tcp(
    controller: Served, host: str = LOOPBACK, port: int = 0
) -> tuple[Server, tuple[str, int]]:
    """Return a server on a TCP port and its address; port 0 takes a free one."""
    place = TcpPort(host, port)
    return Server(controller, place), place.address
