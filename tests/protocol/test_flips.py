"""Lines with bits turned on the way: what the check finds, and what it cannot."""

from __future__ import annotations

import random
from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from firmware_protocol import Incoming, Receiver, StopMark, encode
from firmware_protocol.messages import (
    ANSWERS,
    NOTICES,
    REQUESTS,
    EdgeNotice,
    LookAnswer,
    LookRequest,
    Refusal,
    Source,
    State,
)

_CLASSES = [*REQUESTS.values(), *ANSWERS.values(), *NOTICES.values(), Refusal]
any_message = st.sampled_from(_CLASSES).flatmap(st.from_type)


def flipped(line: bytes, places: tuple[int, ...]) -> bytes:
    """Return the line with bits turned; bit 0 is the lowest of the first byte."""
    turned = bytearray(line)
    for place in places:
        turned[place // 8] ^= 1 << place % 8
    return bytes(turned)


def heard(data: bytes) -> list[Incoming]:
    return [x for x in Receiver().feed(data) if not isinstance(x, StopMark)]


SHORT = LookRequest(number=0)
LONG = EdgeNotice(
    number=40123, lost=0, source=Source.OUT, level=True, position=23817, time=3181220417
)


@pytest.mark.parametrize("message", [SHORT, LONG])
def test_no_single_flip_makes_another_message(message: LookRequest) -> None:
    line = encode(message)

    for place in range(8 * len(line)):
        assert heard(flipped(line, (place,))) == []


def test_no_two_flips_make_another_message() -> None:
    line = encode(SHORT)

    for places in combinations(range(8 * len(line)), 2):
        assert heard(flipped(line, places)) == []


@given(any_message, st.data())
def test_one_or_two_flips_in_any_line_make_no_other_message(
    message: LookRequest, data: st.DataObject
) -> None:
    line = encode(message)
    bits = st.integers(0, 8 * len(line) - 1)
    places = data.draw(st.sets(bits, min_size=1, max_size=2))

    assert heard(flipped(line, tuple(places))) == []


@pytest.mark.parametrize("message", [SHORT, LONG])
def test_three_flips_by_chance_make_no_other_message(message: LookRequest) -> None:
    line, chance = encode(message), random.Random(20)

    for _ in range(10_000):
        places = chance.sample(range(8 * len(line)), 3)
        assert heard(flipped(line, tuple(places))) == []


def test_the_check_finds_any_two_flips_but_not_any_three() -> None:
    # Two flips 305 bits apart and one in the check's last digit: the check's own
    # distance is 4, but its digits are text, where one flip can turn two of its bits
    sent = LookAnswer(
        number=110,
        state=State.UNFENCED,
        position=5549,
        time=1571303723,
        inputs=9,
        next_notice=21121,
        boot=20915,
    )
    line = bytearray(encode(sent))
    for place, mask in ((4, 0x02), (42, 0x01), (-2, 0x02)):
        line[place] ^= mask

    assert heard(bytes(line)) == [
        LookAnswer(
            number=112,
            state=State.UNFENCED,
            position=5549,
            time=1571303723,
            inputs=9,
            next_notice=21120,
            boot=20915,
        )
    ]
