"""Messages to lines and back. Knows no port, no clock and no state of a rig."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import cast

from firmware_protocol.checksum import check_digits
from firmware_protocol.errors import LocalProtocolError, RemoteProtocolError
from firmware_protocol.fields import FieldRule, Message, Value
from firmware_protocol.framing import LineAssembler, StopMark
from firmware_protocol.messages import (
    ANSWERS,
    LONGEST_LINE_BYTES,
    NOTICE_NUMBER_HIGH,
    NOTICES,
    REQUEST_NUMBER_HIGH,
    REQUESTS,
    Answer,
    ErrorCode,
    Notice,
    Refusal,
    Request,
)

_HEAD = re.compile(r"([qaxn])(0|[1-9][0-9]{0,4})")


@dataclass(frozen=True, slots=True, kw_only=True)
class BadRequest:
    """A sound line with a request that cannot be understood; it wants a refusal.

    Attributes:
        number: Number of the request.
        error: Why.
        argument: Which argument, from 1; 0 for none.
    """

    number: int
    error: ErrorCode
    argument: int


@dataclass(frozen=True, slots=True, kw_only=True)
class UnknownNotice:
    """A sound notice of a kind that a later minor version brought.

    Attributes:
        number: Its number.
        lost: Notices lost so far.
    """

    number: int
    lost: int


Incoming = Request | Answer | Refusal | Notice | BadRequest | UnknownNotice


def encode(message: Request | Answer | Refusal | Notice) -> bytes:
    """Return the line for a message, newline included.

    Raises:
        LocalProtocolError: A number or field is outside what the protocol allows.
    """
    high = NOTICE_NUMBER_HIGH if message.MARK == "n" else REQUEST_NUMBER_HIGH
    if not 0 <= message.number <= high:
        raise LocalProtocolError(f"number must be 0 to {high}, got {message.number}")
    words = " ".join([message.WORD, *message.texts()])
    body = f"{message.MARK}{message.number} {words}".encode("ascii")
    line = b"&" + body + b" " + check_digits(body)
    if len(line) > LONGEST_LINE_BYTES:
        raise LocalProtocolError(f"`{message.WORD}` makes {len(line)} bytes")
    return line + b"\n"


def decode(body: bytes) -> Incoming:
    """Return what a line says.

    Args:
        body: The line between its start byte and its newline, check included.

    Raises:
        RemoteProtocolError: The check fails, or the line is no message.
    """
    content, blank, check = body[:-5], body[-5:-4], body[-4:]
    if blank != b" " or check_digits(content) != check:
        raise RemoteProtocolError("the check does not fit the line")
    head, *words = content.decode("ascii", "replace").split(" ")
    match = _HEAD.fullmatch(head)
    if match is None or not words:
        raise RemoteProtocolError("the line has no mark, number and word")
    mark, number = match[1], int(match[2])
    if number > (NOTICE_NUMBER_HIGH if mark == "n" else REQUEST_NUMBER_HIGH):
        raise RemoteProtocolError("the number is out of range")
    word, texts = words[0], words[1:]
    if mark == "q":
        return _request(number, word, texts)
    if mark == "a":
        return cast("Answer", _build(ANSWERS.get(word), number, texts))
    if mark == "x":
        refusal = Refusal if word == Refusal.WORD else None
        return cast("Refusal", _build(refusal, number, texts))
    return _notice(number, word, texts)


def _request(number: int, word: str, texts: list[str]) -> Request | BadRequest:
    cls = REQUESTS.get(word)
    if cls is None:
        return BadRequest(number=number, error=ErrorCode.UNKNOWN_VERB, argument=0)
    if len(texts) != len(cls.RULES):
        return BadRequest(number=number, error=ErrorCode.WRONG_COUNT, argument=0)
    values: dict[str, Value] = {"number": number}
    for index, (rule, text) in enumerate(zip(cls.RULES, texts, strict=True), start=1):
        try:
            values[rule.name] = rule.read(text)
        except ValueError:
            error = ErrorCode.BAD_ARGUMENT
            return BadRequest(number=number, error=error, argument=index)
    return cls(**values)  # type: ignore[arg-type]  # each rule gives its field's type


def _notice(number: int, word: str, texts: list[str]) -> Notice | UnknownNotice:
    if word in NOTICES:
        return cast("Notice", _build(NOTICES[word], number, texts))
    lost_rule = next(iter(NOTICES.values())).RULES[0]
    (lost,) = _read((lost_rule,), texts).values()
    return UnknownNotice(number=number, lost=cast("int", lost))


def _build(cls: type[Message] | None, number: int, texts: list[str]) -> Message:
    if cls is None:
        raise RemoteProtocolError("no such word in this protocol")
    values = {"number": number, **_read(cls.RULES, texts)}
    return cls(**values)


def _read(rules: tuple[FieldRule, ...], texts: list[str]) -> dict[str, Value]:
    # A later minor version may add fields at the end: they are passed over
    if len(texts) < len(rules):
        raise RemoteProtocolError("a field is missing")
    try:
        pairs = zip(rules, texts, strict=False)
        return {rule.name: rule.read(text) for rule, text in pairs}
    except ValueError as exc:
        raise RemoteProtocolError(str(exc)) from exc


class Receiver:
    """Bytes to messages for either side: framing, check and decoding in one.

    Attributes:
        dropped: Damaged lines so far, whatever the damage.
    """

    def __init__(self) -> None:
        self._assembler = LineAssembler()
        self._undecodable = 0

    @property
    def dropped(self) -> int:
        """Damaged lines so far."""
        return self._assembler.dropped + self._undecodable

    def feed(self, data: bytes) -> list[Incoming | StopMark]:
        """Take bytes as they come; return messages and stop marks in order."""
        messages: list[Incoming | StopMark] = []
        for item in self._assembler.feed(data):
            if isinstance(item, StopMark):
                messages.append(item)
                continue
            try:
                messages.append(decode(item))
            except RemoteProtocolError:
                self._undecodable += 1
        return messages
