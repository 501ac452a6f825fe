"""Whatever comes in: no exception, no wrong line out, no motion that nobody ordered."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from firmware_protocol import Receiver, StopMark
from firmware_protocol.checksum import check_digits
from firmware_protocol.messages import (
    REQUESTS,
    Answer,
    HailAnswer,
    LookAnswer,
    Notice,
    Refusal,
)
from sim.bench import Bench
from sim.device import Controller
from sim.machine import Machine, Mounting
from sim.presets import SENSORS, TARGETS

MOUNTING = Mounting(sensor=SENSORS["inductive"], target=TARGETS["steel"])
KINDS = (Answer, Refusal, Notice)

words = st.sampled_from([*REQUESTS, "dance"])
numbers = st.integers(-(2**31) - 1, 2**32) | st.integers(0, 40_000)
bodies = st.builds(
    lambda number, verb, fields: f"q{number} {' '.join([verb, *map(str, fields)])}",
    st.integers(0, 256),
    words,
    st.lists(numbers, max_size=5),
)


def line(body: str) -> bytes:
    content = body.encode()
    return b"&" + content + b" " + check_digits(content) + b"\n"


pieces = st.binary(max_size=80) | bodies.map(line) | st.just(line("q1 hail 1"))


@pytest.mark.long
@settings(max_examples=200)
@given(st.lists(st.tuples(pieces, st.floats(0.0, 3.0)), max_size=30))
def test_any_bytes_are_answered_with_whole_lines_only(exchanges):
    controller = Controller(Bench(Machine(), MOUNTING))
    receiver = Receiver()
    for data, seconds in exchanges:
        controller.receive(data)
        controller.advance(seconds)
        for message in receiver.feed(controller.take_output()):
            assert isinstance(message, KINDS)
    assert receiver.dropped == 0


@settings(max_examples=100)
@given(st.lists(st.binary(max_size=80), max_size=20))
def test_bytes_that_are_no_order_move_nothing(chunks):
    controller = Controller(Bench(Machine(), MOUNTING))
    for data in chunks:
        controller.receive(data)
        controller.advance(0.5)
    controller.take_output()
    controller.receive(b"&" + line("q0 hail 1") + line("q0 look"))
    controller.advance(0.1)

    messages = Receiver().feed(controller.take_output())

    (look,) = (m for m in messages if isinstance(m, LookAnswer))
    assert look.position == 0
    assert look.state in ("raw", "held")


@settings(max_examples=50)
@given(st.integers(0, 40), st.integers(1, 30_000))
def test_a_stop_byte_at_any_moment_stops(offset, delay_us):
    controller = Controller(Bench(Machine(), MOUNTING))
    receiver = Receiver()
    controller.receive(line("q1 hail 1"))
    controller.advance(0.1)
    heard = receiver.feed(controller.take_output())
    (word,) = (m.session for m in heard if isinstance(m, HailAnswer))
    controller.receive(line(f"q2 home 16000 400 {word}"))
    controller.advance(0.05)
    assert controller.count_steps() < 0
    controller.take_output()
    damaged = line("q3 look")
    controller.receive(damaged[:offset] + b"#")
    controller.advance(delay_us * 1e-6 + 0.01)
    at = controller.count_steps()

    controller.receive(line("q0 look"))
    controller.advance(1.0)

    assert controller.count_steps() == at
    messages = receiver.feed(controller.take_output())
    assert not any(isinstance(m, StopMark) for m in messages)
    (look,) = (m for m in messages if isinstance(m, LookAnswer) and m.number == 0)
    assert look.state == "held"
