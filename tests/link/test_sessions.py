"""Sessions of the link: what orders end with, and when it greets anew."""

from __future__ import annotations

import pytest

from firmware_protocol.messages import (
    ErrorCode,
    FenceAnswer,
    FenceRequest,
    GoAnswer,
    GoRequest,
)
from rig.errors import ReplyTimeout, RigRestarted, RigTaken, Stopped
from rig.link.link import TRIES_S, Link
from rig.link.session import Session

from .conftest import ScriptedPort

GO = {"target": 9000, "speed": 1600, "acceleration": 160_000, "edges": 0, "overrun": 0}
WORDS = "go 9000 1600 160000 0 0"
OLD_SESSION = f"x{{n}} no {int(ErrorCode.OLD_SESSION)} 0"


def go(link: Link) -> GoAnswer:
    return link.request(GoRequest, GoAnswer, **GO)


def numbers(port: ScriptedPort) -> list[int]:
    """Return the numbers of the orders that were sent."""
    return [int(data.split()[0][2:]) for data in port.sent if b" go " in data]


def be_quiet(port: ScriptedPort, seconds: float) -> None:
    """Let the host have something else to do."""
    port.read(seconds)


def test_orders_carry_the_session_and_rising_numbers(
    port: ScriptedPort, link: Link
) -> None:
    for _ in range(3):
        go(link)

    assert port.requests() == [f"{WORDS} 1"] * 3
    assert numbers(port) == [1, 2, 3]


def test_numbers_are_never_used_twice_in_a_session(
    port: ScriptedPort, link: Link
) -> None:
    for _ in range(300):
        go(link)

    used = [
        (data.split()[0], data.split()[-2]) for data in port.sent if b" go " in data
    ]
    assert len(set(used)) == 300
    # And readings have the others, so that no late reply passes for that to an order
    assert max(numbers(port)) == 127
    assert port.requests().count("hail 1") == 2


def test_a_host_that_was_quiet_greets_before_it_orders(
    port: ScriptedPort, link: Link
) -> None:
    be_quiet(port, 0.2)
    go(link)
    be_quiet(port, 0.3)
    go(link)

    assert port.requests() == [f"{WORDS} 1", "hail 1", f"{WORDS} 2"]


def test_looks_keep_the_session(port: ScriptedPort, link: Link) -> None:
    for _ in range(20):
        be_quiet(port, 0.2)
        link.look()
    go(link)

    assert "hail 1" not in port.requests()


def test_a_look_brings_back_no_session_that_silence_ended(
    port: ScriptedPort, link: Link
) -> None:
    go(link)
    be_quiet(port, 0.3)
    link.look()
    go(link)

    assert port.requests() == [f"{WORDS} 1", "look", "hail 1", f"{WORDS} 2"]


def test_after_an_order_that_was_lost_the_host_greets_anew(
    port: ScriptedPort, link: Link
) -> None:
    for _ in TRIES_S:
        port.then()
    with pytest.raises(ReplyTimeout):
        go(link)
    port.sent.clear()

    go(link)

    assert port.requests() == ["hail 1", f"{WORDS} 2"]


def test_after_an_order_that_a_stop_dropped_the_host_greets_anew(
    port: ScriptedPort, link: Link
) -> None:
    port.then()
    port.on_read = lambda: None if link.stop_asked else link.stop()
    with pytest.raises(Stopped):
        go(link)
    link.forget_stop()
    port.on_read = lambda: None
    port.sent.clear()

    go(link)

    assert port.requests() == ["hail 1", f"{WORDS} 2"]


def test_tries_that_came_too_late_are_ordered_anew(
    port: ScriptedPort, link: Link
) -> None:
    for _ in range(4):
        port.then()
    port.then(OLD_SESSION)

    answer = link.request(FenceRequest, FenceAnswer, low=400, high=500)

    assert (answer.low, answer.high) == (400, 500)
    assert port.requests() == ["fence 400 500 1"] * 5 + ["hail 1", "fence 400 500 2"]


def test_a_motion_that_may_have_been_carried_out_is_not_ordered_anew(
    port: ScriptedPort, link: Link
) -> None:
    for _ in range(4):
        port.then()
    port.then(OLD_SESSION)

    with pytest.raises(ReplyTimeout, match="did not answer `go`"):
        go(link)

    assert port.requests() == [f"{WORDS} 1"] * 5


def test_a_session_that_another_program_ended_is_told_as_such(
    port: ScriptedPort, link: Link
) -> None:
    port.then(OLD_SESSION)

    with pytest.raises(RigTaken, match="another program") as caught:
        go(link)

    assert "\n" not in str(caught.value)
    assert "one program" in caught.value.hint
    assert caught.value.exit_status == 3
    assert port.requests() == [f"{WORDS} 1"]


def test_a_restart_is_found_when_greeting_anew(port: ScriptedPort, link: Link) -> None:
    be_quiet(port, 5.0)
    port.boot = 213

    with pytest.raises(RigRestarted):
        go(link)

    assert port.requests() == ["hail 1"]


def test_a_rig_that_answers_no_second_greeting_is_a_timeout(
    port: ScriptedPort, link: Link
) -> None:
    be_quiet(port, 5.0)
    for _ in range(40):
        port.then()

    with pytest.raises(ReplyTimeout, match="did not answer `hail`"):
        go(link)


def begun() -> Session:
    session = Session()
    session.silence_limit_s = 0.5
    session.begin(7, 10.0)
    return session


def test_a_session_goes_on_while_replies_come() -> None:
    session = begun()
    for tenth in range(1, 100):
        session.hear(10.0 + tenth / 10.0)

    assert not session.is_over(20.0)


def test_a_reading_after_a_silence_does_not_bring_the_session_back() -> None:
    session = begun()
    session.hear(12.0)

    assert session.is_over(12.1)
    session.begin(8, 12.2)
    assert not session.is_over(12.3)
