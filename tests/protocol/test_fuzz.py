"""Whatever bytes come in, only what somebody sent comes out.

The bytes are judged a second time by a plain reading of the rules on lines: regular
expressions and a check worked out bit by bit, with nothing taken from the package.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from itertools import pairwise

import pytest
from hypothesis import assume, example, given
from hypothesis import strategies as st

from firmware_protocol import (
    BadRequest,
    Incoming,
    LocalProtocolError,
    Receiver,
    StopMark,
    UnknownNotice,
    encode,
)
from firmware_protocol.messages import (
    ANSWERS,
    NOTICES,
    REQUESTS,
    GoRequest,
    LookRequest,
    Refusal,
)

LONGEST = 64
_CLASSES = [*REQUESTS.values(), *ANSWERS.values(), *NOTICES.values(), Refusal]
any_message = st.sampled_from(_CLASSES).flatmap(st.from_type)
lines = any_message.map(encode)


def check_bit_by_bit(data: bytes) -> bytes:
    register = 0xFFFF
    for byte in data:
        for place in range(7, -1, -1):
            top = register >> 15 ^ (byte >> place & 1)
            register = (register << 1 & 0xFFFF) ^ (0x1021 if top else 0)
    return f"{register:04x}".encode()


def checked(body: bytes) -> bytes:
    return b"&" + body + b" " + check_bit_by_bit(body) + b"\n"


_vocabulary = sorted(
    {cls.WORD for cls in _CLASSES} | {"", "x", "0", "-1", "00", "4294967296", "out"}
)
_heads = st.sampled_from(["q1", "q256", "a7", "x7", "n65535", "n65536", "z1", "q", ""])
# Lines whose check is right and whose words are nonsense
_sound_nonsense = st.builds(
    lambda head, words: checked(" ".join([head, *words]).encode()),
    _heads,
    st.lists(st.sampled_from(_vocabulary), max_size=8),
)
_printable = st.text(st.characters(min_codepoint=0x20, max_codepoint=0x7E), max_size=80)


@st.composite
def _damaged(draw: st.DrawFn) -> bytes:
    line = bytearray(draw(lines))
    place = draw(st.integers(0, len(line) - 1))
    what = draw(st.sampled_from(["flip", "cut", "insert", "double"]))
    if what == "flip":
        line[place] ^= 1 << draw(st.integers(0, 7))
    elif what == "cut":
        del line[place : place + draw(st.integers(1, 5))]
    elif what == "insert":
        line[place:place] = draw(st.sampled_from([b"\r", b"\0", b"&", b"#", b"\n"]))
    else:
        line[place:place] = line
    return bytes(line)


_pieces = st.one_of(
    st.binary(max_size=80),
    lines,
    lines.map(lambda line: line[:-1] + b"\r\n"),
    _damaged(),
    _sound_nonsense,
    _printable.map(lambda text: checked(text.encode())),
    _printable.map(lambda text: b"&" + text.encode()),
    st.sampled_from([b"&", b"#", b"\n", b"\r", b"\r\n", b"&\n", b"\0", b"&&", b"&\r"]),
)
any_bytes = st.lists(_pieces, max_size=8).map(b"".join)


@dataclass(frozen=True)
class Reading:
    """What the rules make of some bytes.

    Attributes:
        bodies: Bodies of the lines whose check fits, in order.
        damaged: Lines that were dropped and count.
        stops: Stop bytes.
    """

    bodies: list[bytes]
    damaged: int
    stops: int


def read_by_the_rules(data: bytes) -> Reading:
    bodies, damaged = [], 0
    for match in re.finditer(rb"&([^&#\n]*)(?=([&#\n])?)", data):
        content, end = match[1], match[2]
        allowed = re.fullmatch(rb"([ -~]{0,%d})\r?" % (LONGEST - 1), content)
        if not allowed or end == b"&":
            damaged += 1
        elif end == b"\n":
            body, blank, check = re.fullmatch(  # type: ignore[union-attr]
                rb"(.*?)( ?)(.{0,4})", allowed[1]
            ).groups()
            if blank and check == check_bit_by_bit(body):
                bodies.append(body)
            else:
                damaged += 1
    return Reading(bodies=bodies, damaged=damaged, stops=data.count(b"#"))


def says(body: bytes, message: Incoming) -> bool:
    """Whether a body is how this version writes the message, or a later one."""
    if isinstance(message, BadRequest):
        words = [f"q{message.number}", *message.words]
        return body == " ".join(words).encode()
    if isinstance(message, UnknownNotice):
        pattern = rf"n{message.number} [^ ]* {message.lost}( .*)?"
        return re.fullmatch(pattern.encode(), body) is not None
    written = encode(message)[1:-6]
    if message.MARK == "q":
        return body == written
    return body == written or body.startswith(written + b" ")


@given(any_bytes)
@example(b"&q0 look 8d95\r\n")
@example(b"&q0 look 8d95\r\r\n&q0 look\r 8d95\n&q0 look 8d95 \n&q0 look 8d95\r#\n")
@example(b"#&#&&q0 look 8d95#\n&q0 look 8d95\n\n")
def test_what_comes_out_is_what_the_rules_let_through(data: bytes) -> None:
    receiver = Receiver()
    reading = read_by_the_rules(data)

    out = receiver.feed(data)

    messages = [item for item in out if not isinstance(item, StopMark)]
    left = iter(reading.bodies)
    for message in messages:
        assert any(says(body, message) for body in left), message
    assert len(out) - len(messages) == reading.stops
    senseless = len(reading.bodies) - len(messages)
    assert receiver.dropped == reading.damaged + senseless


@given(any_bytes)
def test_every_request_whose_check_fits_comes_out(data: bytes) -> None:
    requests = [
        body
        for body in read_by_the_rules(data).bodies
        if re.match(rb"q(0|[1-9][0-9]{0,2}) ", body) and int(body.split()[0][1:]) <= 255
    ]

    out = [
        item
        for item in Receiver().feed(data)
        if isinstance(item, BadRequest) or getattr(item, "MARK", "") == "q"
    ]

    assert len(out) == len(requests)


@given(any_bytes, st.lists(st.integers(0, 600)))
def test_how_the_bytes_are_cut_changes_nothing(data: bytes, cuts: list[int]) -> None:
    whole, single, cut = Receiver(), Receiver(), Receiver()
    ends = sorted({min(cut, len(data)) for cut in cuts} | {0, len(data)})

    expected = whole.feed(data)

    assert [item for byte in data for item in single.feed(bytes([byte]))] == expected
    pieces = [data[a:b] for a, b in pairwise(ends)]
    assert [item for piece in pieces for item in cut.feed(piece)] == expected
    assert whole.dropped == single.dropped == cut.dropped


@given(any_bytes, any_message)
def test_what_stands_before_a_line_never_hides_it(
    before: bytes, message: LookRequest
) -> None:
    receiver = Receiver()
    receiver.feed(before)

    assert receiver.feed(encode(message)) == [message]


@given(any_message, st.binary(max_size=80))
def test_what_stands_between_lines_is_passed_over_uncounted(
    message: LookRequest, between: bytes
) -> None:
    assume(not set(between) & set(b"&#"))
    receiver = Receiver()

    assert receiver.feed(encode(message) + between + encode(message)) == [message] * 2
    assert receiver.dropped == 0


# ---------------------------------------------------------------- the stop byte


@given(any_message, st.data())
def test_a_stop_byte_in_a_line_stops_and_drops_the_line(
    message: LookRequest, data: st.DataObject
) -> None:
    line = encode(message)
    place = data.draw(st.integers(1, len(line) - 1))
    receiver = Receiver()

    out = receiver.feed(line[:place] + b"#" + line[place:] + line)

    assert out == [StopMark.STOP, message]
    assert receiver.dropped == 0


@given(any_message)
def test_stop_bytes_around_a_line_leave_it_whole(message: LookRequest) -> None:
    out = Receiver().feed(b"###" + encode(message) + b"#")

    assert out == [StopMark.STOP] * 3 + [message, StopMark.STOP]


@given(any_bytes)
def test_a_stop_byte_is_heard_after_anything(before: bytes) -> None:
    receiver = Receiver()
    receiver.feed(before)

    assert receiver.feed(b"#") == [StopMark.STOP]


# ------------------------------------------------------------------- corner cases


SHORT = LookRequest(number=0)


def _line_of(length: int) -> bytes:
    """Return an unknown request that is this long, check included."""
    return checked(b"q1 " + b"x" * (length - 9))[:-1]


@pytest.mark.parametrize("end", [b"\n", b"\r\n"])
def test_64_bytes_are_a_line_and_65_are_none(end: bytes) -> None:
    longest, too_long = _line_of(64), _line_of(65)
    assert (len(longest), len(too_long)) == (64, 65)
    receiver = Receiver()

    assert len(receiver.feed(longest + end)) == 1
    assert receiver.dropped == 0
    assert receiver.feed(too_long + end) == []
    assert receiver.dropped == 1


def test_a_line_without_end_is_counted_once_and_takes_no_room() -> None:
    receiver = Receiver()

    assert receiver.feed(b"&" + b"x" * 100_000) == []
    assert receiver.dropped == 1
    assert receiver.feed(encode(SHORT)) == [SHORT]
    assert receiver.dropped == 1


@pytest.mark.parametrize(
    ("data", "dropped"),
    [
        (b"&q0 look 8d95\r\n", 0),
        (b"&q0 look 8d95\r\r\n", 1),
        (b"&q0 look\r 8d95\n", 1),
        (b"\r&q0 look 8d95\n\r", 0),
        (b"&q0 look\0 8d95\n", 1),
        (b"\0\0&q0 look 8d95\n\0", 0),
        (b"&q0 look\t8d95\n", 1),
        (b"&q0 look 8d95 \n", 1),
        (b"&q0 look 8D95\n", 1),
        (b"&q0 look 8d95", 0),
        (b"&q0 lo&q0 look 8d95\n", 1),
        (b"&&q0 look 8d95\n", 1),
        (b"&\n", 1),
        (b"&\r\n", 1),
        (b"q0 look 8d95\n", 0),
        (b"\n\n", 0),
        (b"&q0 look 8d95\xff\n", 1),
        (b"&q0 look\x7f 8d95\n", 1),
    ],
)
def test_each_damaged_line_counts_once(data: bytes, dropped: int) -> None:
    receiver = Receiver()
    whole = re.search(rb"&q0 look 8d95\r?\n", data) is not None

    assert receiver.feed(data) == ([SHORT] if whole else [])
    assert receiver.dropped == dropped


@pytest.mark.parametrize("byte", sorted({*range(0x20), *range(0x7F, 0x100)} - {0x0A}))
def test_another_byte_spoils_a_line_whose_check_fits(byte: int) -> None:
    receiver = Receiver()

    assert receiver.feed(checked(b"q1 lo%cok" % byte)) == []
    assert receiver.dropped == 1


@given(any_message)
def test_no_line_holds_a_start_or_stop_byte_inside(message: LookRequest) -> None:
    line = encode(message)

    assert line[:1] == b"&"
    assert line[-1:] == b"\n"
    assert not set(line[1:]) & set(b"&#\r")


def test_a_request_is_not_made_of_two_halves() -> None:
    go = GoRequest(
        number=5, target=9, speed=1, acceleration=1, edges=0, overrun=0, session=7
    )
    line = encode(go)

    for place in range(2, len(line)):
        out = Receiver().feed(line[:place] + b"&" + line[place:])

        assert out == []


def test_what_cannot_be_written_within_64_bytes_is_not_sent() -> None:
    class Wordy(LookRequest):
        WORD = "w" * 64

    with pytest.raises(LocalProtocolError, match="bytes"):
        encode(Wordy(number=1))
