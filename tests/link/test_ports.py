"""Real ports: pseudo-terminals, TCP and loops, through pyserial as it comes."""

from __future__ import annotations

import contextlib
import os
import socket
import threading
from collections.abc import Callable, Iterator

import pytest

from rig.errors import (
    LinkError,
    LinkLost,
    NotARig,
    PortBusy,
    PortNotFound,
    ProtocolTooNew,
)
from rig.link.link import Link
from rig.link.serial_port import SerialTransport, serial_ports
from rig.model.settings import BenchSettings
from rig.procedures.touch_off import touch_off
from rig.wiring import connect
from sim.options import build, read_options
from sim.serve import Server, serve_pty, serve_tcp
from tests.patience import PATIENCE_S

GREETING_S = 0.7  # of a greeting that will fail
Serve = Callable[..., str]


@pytest.fixture
def serve() -> Iterator[Serve]:
    """Serve simulated rigs at real pace; returns what to give as the rig."""
    running: list[tuple[Server, threading.Thread]] = []

    def start(*, tcp: bool = False, **options: str) -> str:
        controller = build(read_options(options))
        server: Server
        if tcp:
            server, (host, port) = serve_tcp(controller)
            name = f"socket://{host}:{port}"
        else:
            server, name = serve_pty(controller)
        thread = threading.Thread(target=server.run, name="simulated rig")
        thread.start()
        running.append((server, thread))
        return name

    yield start
    for server, thread in running:
        server.stop()
        thread.join(PATIENCE_S)
        assert not thread.is_alive()


@pytest.fixture
def bare_pty() -> Iterator[tuple[int, str]]:
    """A pseudo-terminal with nobody behind it: its other end and its name."""
    master, slave = os.openpty()
    yield master, os.ttyname(slave)
    for end in (master, slave):
        with contextlib.suppress(OSError):  # a test may have closed it
            os.close(end)


@pytest.fixture
def open_port() -> Iterator[Callable[[str], SerialTransport]]:
    opened: list[SerialTransport] = []

    def open_one(name: str) -> SerialTransport:
        opened.append(SerialTransport(name))
        return opened[-1]

    yield open_one
    for transport in opened:
        transport.close()


OpenPort = Callable[[str], SerialTransport]


def check_error(error: LinkError) -> None:
    assert "\n" not in str(error)
    assert str(error)
    assert error.hint
    assert error.exit_status == 3


# ------------------------------------------------------------------ what works


@pytest.mark.parametrize("tcp", [False, True], ids=["pty", "tcp"])
def test_a_served_rig_answers_the_greeting(
    serve: Serve, open_port: OpenPort, tcp: bool
) -> None:
    link = Link(open_port(serve(tcp=tcp, seed="7")))

    traits = link.greet()

    assert traits.rig_id == "sim-7"
    assert traits.simulated
    assert link.look().boot == traits.boot_number


def test_a_second_host_may_follow_the_first(serve: Serve) -> None:
    name = serve(seed="7")
    for _ in range(2):
        rig = connect(name, BenchSettings())
        assert rig.mover.traits.rig_id == "sim-7"
        rig.close()


def test_what_lies_there_is_read_at_once(
    bare_pty: tuple[int, str], open_port: OpenPort
) -> None:
    transport = open_port(bare_pty[1])
    os.write(bare_pty[0], b"&n1 abc")

    data = transport.read(1.0)
    while len(data) < 7:
        data += transport.read(1.0)

    assert data == b"&n1 abc"


def test_stop_is_written_while_another_thread_reads(
    bare_pty: tuple[int, str], open_port: OpenPort
) -> None:
    link = Link(open_port(bare_pty[1]))
    reading = threading.Event()

    def read() -> None:
        reading.set()
        link.next_notice(PATIENCE_S)

    owner = threading.Thread(target=read)
    owner.start()
    assert reading.wait(PATIENCE_S)

    link.stop()

    assert os.read(bare_pty[0], 16) == b"###"
    assert owner.is_alive()
    os.write(bare_pty[0], b"\n")
    owner.join(PATIENCE_S)
    assert not owner.is_alive()


def test_the_list_of_ports_is_sorted_by_name() -> None:
    names = [port.name for port in serial_ports()]

    assert names == sorted(names)


# --------------------------------------------------------------- what goes wrong


@pytest.mark.parametrize(
    "name",
    [
        "/dev/there-is-no-such-port",
        "COM99:nonsense",
        "nonsense://somewhere",
        "",
        "/dev/null",
        "/etc/hostname",
    ],
)
def test_a_port_that_is_none_is_not_found(name: str) -> None:
    with pytest.raises(PortNotFound) as caught:
        SerialTransport(name)

    check_error(caught.value)
    assert "gapsweep rigs" in caught.value.hint


def test_a_tcp_port_that_nobody_serves_is_not_found() -> None:
    with socket.create_server(("127.0.0.1", 0)) as listener:
        port = listener.getsockname()[1]

    with pytest.raises(PortNotFound) as caught:
        SerialTransport(f"socket://127.0.0.1:{port}")

    check_error(caught.value)


def test_a_port_that_another_program_holds_is_busy(
    bare_pty: tuple[int, str], open_port: OpenPort
) -> None:
    open_port(bare_pty[1])

    with pytest.raises(PortBusy, match="in use") as caught:
        open_port(bare_pty[1])

    check_error(caught.value)


@pytest.mark.parametrize("tcp", [False, True], ids=["pty", "tcp"])
def test_a_port_that_answers_nonsense_is_no_rig(
    serve: Serve, open_port: OpenPort, tcp: bool
) -> None:
    link = Link(open_port(serve(tcp=tcp, fault="nonsense")))

    with pytest.raises(NotARig, match="but not as a rig") as caught:
        link.greet(GREETING_S)

    check_error(caught.value)


def test_a_port_that_never_answers_is_no_rig(serve: Serve, open_port: OpenPort) -> None:
    link = Link(open_port(serve(fault="silent")))

    with pytest.raises(NotARig, match="gives no answer") as caught:
        link.greet(GREETING_S)

    check_error(caught.value)


def test_a_port_that_echoes_is_no_rig(open_port: OpenPort) -> None:
    link = Link(open_port("loop://"))

    with pytest.raises(NotARig, match="but not as a rig") as caught:
        link.greet(GREETING_S)

    check_error(caught.value)


def test_a_protocol_too_new_is_told_over_the_port(
    serve: Serve, open_port: OpenPort
) -> None:
    link = Link(open_port(serve(fault="too_new")))

    with pytest.raises(ProtocolTooNew) as caught:
        link.greet()

    check_error(caught.value)


def test_a_failed_greeting_lets_go_of_the_port(
    serve: Serve, monkeypatch: pytest.MonkeyPatch
) -> None:
    name = serve(fault="too_new")
    with pytest.raises(ProtocolTooNew):
        connect(name, BenchSettings())

    with pytest.raises(ProtocolTooNew):  # and not that the port is busy
        connect(name, BenchSettings())


@pytest.mark.parametrize("tcp", [False, True], ids=["pty", "tcp"])
def test_a_hang_up_in_mid_motion_is_a_lost_link_that_says_what_the_axis_does(
    serve: Serve, tcp: bool
) -> None:
    name = serve(tcp=tcp, fault="hang_up:1.0")
    rig = connect(name, BenchSettings())

    with pytest.raises(LinkLost, match="went away") as caught:
        touch_off(rig.mover, BenchSettings(), lambda _: None)

    check_error(caught.value)
    assert name in str(caught.value)
    # SPEC.md, "Silence": the limit is between 200 and 2000 ms
    assert "stops by itself within 2 s" in caught.value.hint
    rig.close()


def test_a_hang_up_between_requests_is_a_lost_link(
    bare_pty: tuple[int, str], open_port: OpenPort
) -> None:
    master, name = bare_pty
    transport = open_port(name)
    os.close(master)

    for action in (lambda: transport.read(0.1), lambda: transport.write(b"#")):
        with pytest.raises(LinkLost) as caught:
            action()
        check_error(caught.value)


def test_a_closed_port_is_a_lost_link(
    bare_pty: tuple[int, str], open_port: OpenPort
) -> None:
    transport = open_port(bare_pty[1])
    transport.close()
    transport.close()

    with pytest.raises(LinkLost):
        transport.read(0.1)


def test_a_second_host_on_tcp_is_turned_away_and_the_first_stays(
    serve: Serve, open_port: OpenPort
) -> None:
    name = serve(tcp=True)
    first = Link(open_port(name))
    first.greet()
    # By another name, as another program would come, which knows nothing of our lock
    second = Link(open_port(name.replace("127.0.0.1", "127.1")))

    with pytest.raises(LinkError) as caught:
        second.greet(GREETING_S)

    check_error(caught.value)
    assert first.look().state == "raw"
