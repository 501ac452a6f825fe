"""The same rig behind a pseudo-terminal and a TCP port, in real time.

Nothing here asserts how long anything takes; limits are there to end a test that hangs.
"""

from __future__ import annotations

import threading
from collections.abc import Iterator
from contextlib import contextmanager

import pytest
import serial

from firmware_protocol import Receiver
from firmware_protocol.messages import EdgeNotice, HailAnswer, RestNotice
from sim.options import build, read_options
from sim.serve import Server, TcpPort, serve_pty, serve_tcp
from tests.patience import PATIENCE_S

PATIENCE_READS = 20_000
OPTIONS = {"seed": "5", "noise_um": "10", "target": "pvc"}


@contextmanager
def running(server: Server) -> Iterator[None]:
    thread = threading.Thread(target=server.run, name="served-rig")
    thread.start()
    try:
        yield
    finally:
        server.stop()
        thread.join(PATIENCE_S)
        assert not thread.is_alive()


def talk(port: serial.SerialBase, receiver: Receiver, data: bytes, kind: type) -> list:
    """Send; keep the link alive until a message of a kind has come."""
    heard: list = []
    port.write(data)
    for _ in range(PATIENCE_READS):
        data = port.read(64)  # or what comes within the port's time limit
        heard += receiver.feed(data)
        if any(isinstance(message, kind) for message in heard):
            return heard
        if not data:
            port.write(b"&q0 look 8d95\n")
    raise AssertionError(f"no {kind.__name__} came; heard {heard[-3:]}")


ORDERS = (
    "q2 home 40000 1600",
    "q4 go 38000 40000 800000 0 0",
    "q5 go 45000 8000 800000 1 100",
    "q6 go 38000 8000 800000 1 100",
)


def session(port: serial.SerialBase, make_line) -> list[tuple[str, bool, int]]:
    receiver = Receiver()
    heard = talk(port, receiver, make_line("q1 hail 1"), HailAnswer)
    word = next(m.session for m in heard if isinstance(m, HailAnswer))
    for body in ORDERS:
        heard += talk(port, receiver, make_line(f"{body} {word}"), RestNotice)
        if body.startswith("q2"):
            port.write(make_line(f"q3 fence 400 64000 {word}"))
    return [(m.source, m.level, m.position) for m in heard if isinstance(m, EdgeNotice)]


@pytest.fixture
def in_process(make_host) -> list[tuple[str, bool, int]]:
    host = make_host(**OPTIONS)
    host.ask("q1 hail 1")
    for body in ORDERS:
        host.order(body)
        if body.startswith("q2"):
            host.ask("q3 fence 400 64000")
    return [(e.source, e.level, e.position) for e in host.notices(EdgeNotice)]


@pytest.mark.long
def test_a_pseudo_terminal_gives_the_same_edges_as_in_process(in_process, make_line):
    server, path = serve_pty(build(read_options(OPTIONS)))
    with running(server), serial.Serial(path, 115200, timeout=0.02) as port:
        edges = session(port, make_line)

    assert len(edges) == 3
    assert edges == in_process


@pytest.mark.long
def test_a_tcp_port_gives_the_same_edges_as_in_process(in_process, make_line):
    server, (host, number) = serve_tcp(build(read_options(OPTIONS)))
    url = f"socket://{host}:{number}"
    with running(server), serial.serial_for_url(url, timeout=0.02) as port:
        edges = session(port, make_line)

    assert edges == in_process


def test_a_host_may_close_the_pseudo_terminal_and_come_back(make_line):
    server, path = serve_pty(build(read_options({})))
    with running(server):
        for _ in range(3):
            with serial.Serial(path, timeout=0.02) as port:
                talk(port, Receiver(), make_line("q1 hail 1"), HailAnswer)


def test_one_tcp_host_at_a_time_and_the_next_after_it(make_line):
    server, (host, number) = serve_tcp(build(read_options({})))
    url = f"socket://{host}:{number}"
    with running(server):
        for _ in range(2):
            with serial.serial_for_url(url, timeout=0.02) as port:
                talk(port, Receiver(), make_line("q1 hail 1"), HailAnswer)
                second = serial.serial_for_url(url, timeout=PATIENCE_S)
                with second, pytest.raises(serial.SerialException):
                    second.read(1)


def test_a_link_that_goes_away_ends_the_server():
    server, _ = serve_pty(build(read_options({"fault": "hang_up:0.05"})))
    thread = threading.Thread(target=server.run)
    thread.start()
    thread.join(PATIENCE_S)
    assert not thread.is_alive()


class ScriptedPort:
    """A port whose bytes are there from the start, on a clock that jumps."""

    def __init__(self, data: list[bytes]) -> None:
        self.data = data
        self.sent = b""
        self.on_write = lambda: None

    def waits_on(self) -> list[int]:
        return []

    def read(self) -> bytes:
        return self.data.pop(0) if self.data else b""

    def write(self, data: bytes) -> None:
        self.sent += data
        self.on_write()

    def close(self) -> None:
        pass


def test_a_process_that_was_held_up_does_not_take_it_for_silence(make_host, make_line):
    """A jump of the clock while the axis moves does not trip the silence rule."""
    host = make_host().get_ready()
    controller = host.controller
    host.ask("q0 hail 1")
    controller.receive(make_line(f"q4 go 40000 1600 160000 0 0 {host.session}"))
    port = ScriptedPort([])
    now_s = [0.0]

    def clock() -> float:
        now_s[0] += 3.0  # each look at the clock finds the process held up for 3 s
        if now_s[0] > 30.0:
            server.stop()
        elif len(port.data) == 0:
            port.data.append(make_line("q0 look"))
        return now_s[0]

    server = Server(controller, port, clock=clock)
    server.run()

    assert b"&a0 look moving" in port.sent
    assert b" silent " not in port.sent


def test_tcp_is_on_the_loopback_unless_told_otherwise():
    port = TcpPort()
    assert port.address[0] == "127.0.0.1"
    port.close()
