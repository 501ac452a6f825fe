"""Every message there and back, and what is refused on either way."""

from __future__ import annotations

from dataclasses import replace
from enum import StrEnum
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from firmware_protocol import (
    BadRequest,
    LocalProtocolError,
    Receiver,
    RemoteProtocolError,
    UnknownNotice,
    decode,
    encode,
    messages,
)
from firmware_protocol.checksum import check_digits
from firmware_protocol.fields import Message
from firmware_protocol.messages import (
    ANSWERS,
    HAND_REQUESTS,
    LONGEST_LINE_BYTES,
    NOTICES,
    REQUESTS,
    EdgeNotice,
    ErrorCode,
    GoRequest,
    HailAnswer,
    LookRequest,
    Refusal,
    State,
)
from firmware_protocol.table import Field, load_table

TABLE = load_table()
CLASSES: list[type[Message]] = [
    *REQUESTS.values(),
    *ANSWERS.values(),
    *NOTICES.values(),
    Refusal,
]
_FIELDS: dict[type[Message], tuple[Field, ...]] = {
    **{REQUESTS[row.word]: row.fields for row in TABLE.requests},
    **{ANSWERS[row.word]: row.answer or () for row in TABLE.requests},
    **{NOTICES[row.word]: row.fields for row in TABLE.notices},
}
# Class, name of the field, lowest and highest value: all numbers of all messages
RANGES = [
    *((cls, f.name, f.low, f.high) for cls, fs in _FIELDS.items() for f in fs
      if f.type == "int"),
    *((cls, "lost", 0, 65535) for cls in NOTICES.values()),
    *((cls, "number", 0, 65535) for cls in NOTICES.values()),
    *((cls, "number", 0, 255) for cls in CLASSES if cls.MARK != "n"),
    (Refusal, "error", 1, 255),
    (Refusal, "argument", 0, 9),
]  # fmt: skip


def line(body: str) -> bytes:
    """Return a body with its true check, as `decode` takes it."""
    return body.encode() + b" " + check_digits(body.encode())


def plain(cls: type[Message], **given_values: Any) -> Any:
    """Return a message with some value in each field."""
    values: dict[str, Any] = {"number": 1}
    if cls.MARK == "n":
        values["lost"] = 0
    if cls is Refusal:
        values |= {"error": 1, "argument": 0}
    for field in _FIELDS.get(cls, ()):
        words = getattr(messages, field.type, None)
        some = {"int": field.low, "flag": False, "token": "a"}.get(field.type)
        values[field.name] = next(iter(words)) if words else some
    return cls(**(values | given_values))


@pytest.mark.long
@pytest.mark.parametrize("cls", CLASSES)
@given(data=st.data())
def test_every_message_comes_back_as_it_went(
    cls: type[Message], data: st.DataObject
) -> None:
    message = data.draw(st.from_type(cls))

    assert Receiver().feed(encode(message)) == [message]


@pytest.mark.parametrize(("cls", "name", "low", "high"), RANGES)
def test_both_ends_of_every_number_go_and_come(
    cls: type[Message], name: str, low: int, high: int
) -> None:
    for value in (low, high):
        message = plain(cls, **{name: value})

        assert decode(encode(message)[1:-1]) == message


@pytest.mark.parametrize(("cls", "name", "low", "high"), RANGES)
def test_one_beyond_either_end_is_not_sent(
    cls: type[Message], name: str, low: int, high: int
) -> None:
    for value in (low - 1, high + 1):
        with pytest.raises(LocalProtocolError, match=str(value)):
            encode(plain(cls, **{name: value}))


@pytest.mark.parametrize(("cls", "name", "low", "high"), RANGES)
def test_one_beyond_either_end_is_not_taken(
    cls: type[Message], name: str, low: int, high: int
) -> None:
    for value in (low - 1, high + 1):
        body = _body_with(plain(cls), name, str(value))

        if cls.MARK == "q" and name != "number":
            answer = decode(line(body))
            assert isinstance(answer, BadRequest)
            assert answer.error is ErrorCode.BAD_ARGUMENT
        else:
            with pytest.raises(RemoteProtocolError):
                decode(line(body))


def _body_with(message: Any, name: str, text: str) -> str:
    texts = message.texts()
    number = str(message.number)
    if name == "number":
        number = text
    else:
        texts[[rule.name for rule in message.RULES].index(name)] = text
    return " ".join([message.MARK + number, message.WORD, *texts])


NOT_CANONICAL = [
    "+1", "01", "-0", "00", "1.0", "1e3", "0x1", "1_0", "", "-", "--1", "١", "1,0",
    "99999999999",
]  # fmt: skip


@pytest.mark.parametrize("text", NOT_CANONICAL)
def test_an_integer_is_written_in_one_way_only(text: str) -> None:
    request = decode(line(f"q1 trait {text}"))
    assert isinstance(request, BadRequest)
    assert (request.error, request.argument) == (ErrorCode.BAD_ARGUMENT, 1)
    for body in (f"n1 start 0 {text} power", f"x1 no {text} 0", f"q{text} look"):
        with pytest.raises(RemoteProtocolError):
            decode(line(body))


@pytest.mark.parametrize("number", [True, 1.0, "1", None])
def test_a_number_that_is_no_integer_is_not_sent(number: Any) -> None:
    with pytest.raises(LocalProtocolError):
        encode(LookRequest(number=number))
    with pytest.raises(LocalProtocolError):
        encode(plain(REQUESTS["trait"], index=number))


@pytest.mark.parametrize("token", ["", "a" * 17, "a b", "a_b", "a&", "a#", "ä", 5])
def test_a_token_of_other_characters_is_not_sent_and_not_taken(token: Any) -> None:
    with pytest.raises(LocalProtocolError):
        encode(plain(HailAnswer, rig=token))
    if token not in (5, "a b"):  # on the wire "a b" is two fields
        with pytest.raises(RemoteProtocolError):
            decode(line(f"a1 hail 1 0 0 x {token} 1"))


@pytest.mark.parametrize("flag", [2, 1, "1", None])
def test_a_flag_is_true_or_false(flag: Any) -> None:
    with pytest.raises(LocalProtocolError):
        encode(plain(EdgeNotice, level=flag))


@pytest.mark.parametrize("text", ["2", "-1", "00", "true", ""])
def test_a_flag_on_the_wire_is_0_or_1(text: str) -> None:
    with pytest.raises(RemoteProtocolError):
        decode(line(f"n1 edge 0 out {text} 5 6"))


def test_a_word_of_another_list_is_not_sent_and_not_taken() -> None:
    with pytest.raises(LocalProtocolError):
        encode(plain(EdgeNotice, source=State.READY))
    with pytest.raises(RemoteProtocolError):
        decode(line("n1 edge 0 ready 1 5 6"))


@pytest.mark.parametrize("body", [
    "", "q", "q1", "1 look", "z1 look", "q256 look", "q1look", " q1 look", "Q1 look",
    "a1", "a1 nothing", "x1 yes 1 0", "n65536 start 0 1 power", "q-1 look", "x1 no 1",
    "a1 rearm", "n1 edge 0 out 1 5",
])  # fmt: skip
def test_a_line_that_is_no_message_is_dropped_once_and_not_answered(body: str) -> None:
    receiver = Receiver()

    assert receiver.feed(b"&" + line(body) + b"\n") == []
    assert receiver.dropped == 1


# ------------------------------------------------------------------ refusals


@pytest.mark.parametrize("verb", ["g", "Look", "LOOK", "", "look?", "no", "edge"])
def test_an_unknown_verb_is_error_1(verb: str) -> None:
    request = decode(line(f"q9 {verb} 1"))

    assert request == BadRequest(
        number=9, error=ErrorCode.UNKNOWN_VERB, argument=0, words=(verb, "1")
    )


@pytest.mark.parametrize("cls", REQUESTS.values())
def test_too_few_or_too_many_arguments_are_error_2(cls: type[Message]) -> None:
    words = [cls.WORD, *plain(cls).texts()]

    for wrong in ([*words, "1"], [*words, ""], words[:-1] if len(words) > 1 else None):
        if wrong is None:
            continue
        request = decode(line(" ".join(["q9", *wrong])))

        assert request == BadRequest(
            number=9, error=ErrorCode.WRONG_COUNT, argument=0, words=tuple(wrong)
        )


@pytest.mark.parametrize(
    ("cls", "index"),
    [(cls, i) for cls in REQUESTS.values() for i in range(len(cls.RULES))],
)
def test_a_malformed_argument_is_error_3_and_named(
    cls: type[Message], index: int
) -> None:
    texts = plain(cls).texts()
    texts[index] = "x"

    request = decode(line(" ".join(["q9", cls.WORD, *texts])))

    assert isinstance(request, BadRequest)
    assert (request.error, request.argument) == (ErrorCode.BAD_ARGUMENT, index + 1)


def test_of_two_malformed_arguments_the_first_is_named() -> None:
    request = decode(line("q9 go 0 0 x 0 0 1"))

    assert isinstance(request, BadRequest)
    assert request.argument == 2


def test_two_bad_requests_with_other_words_are_told_apart() -> None:
    # A controller refuses the second with error 14 if both have the same number
    assert decode(line("q9 wave 1")) != decode(line("q9 wave 2"))


def test_number_0_is_for_what_only_asks_or_greets() -> None:
    assert {cls.WORD for cls in HAND_REQUESTS} == {
        "hail",
        "trait",
        "look",
        "tally",
        "read",
    }


# ------------------------------------------------------------------ versions


@pytest.mark.parametrize("cls", [c for c in CLASSES if c.MARK != "q"])
@given(data=st.data())
def test_fields_that_a_later_version_adds_are_passed_over(
    cls: type[Message], data: st.DataObject
) -> None:
    message = data.draw(st.from_type(cls))
    body = encode(message)[1:-6].decode()

    assert decode(line(f"{body} 7 new")) == message


def test_a_notice_of_a_later_version_keeps_its_number() -> None:
    assert decode(line("n70 hum 3 loud 5")) == UnknownNotice(number=70, lost=3)
    assert decode(line("n70 hum 3")) == UnknownNotice(number=70, lost=3)


@pytest.mark.parametrize("body", ["n70 hum", "n70 hum x", "n70 hum 65536"])
def test_an_unknown_notice_without_a_count_of_the_lost_is_dropped(body: str) -> None:
    with pytest.raises(RemoteProtocolError):
        decode(line(body))


def test_an_error_of_a_later_version_is_a_refusal_all_the_same() -> None:
    assert decode(line("x4 no 99 1")) == Refusal(number=4, error=99, argument=1)


# -------------------------------------------------------------------- length


def _longest_text(field: Field) -> Any:
    if field.type == "int":
        return max((field.low, field.high), key=lambda value: len(str(value)))
    if field.type == "flag":
        return True
    if field.type == "token":
        return "x" * field.longest
    words: type[StrEnum] = getattr(messages, field.type)
    return max(words, key=len)


@pytest.mark.parametrize("cls", CLASSES)
def test_the_longest_form_of_every_message_fits_a_line(cls: type[Message]) -> None:
    longest = {f.name: _longest_text(f) for f in _FIELDS.get(cls, ())}
    if cls.MARK == "n":
        longest |= {"lost": 65535}
    if cls is Refusal:
        longest |= {"error": 255, "argument": 9}

    number = 65535 if cls.MARK == "n" else 255
    text = encode(cls(number=number, **longest))  # type: ignore[call-arg]

    assert len(text) - 1 <= LONGEST_LINE_BYTES
    assert decode(text[1:-1]).number == number


def test_messages_cannot_be_changed() -> None:
    message = plain(GoRequest, speed=1, acceleration=1)

    with pytest.raises(AttributeError):
        message.target = 5  # type: ignore[misc]
    assert replace(message, target=5).target == 5
