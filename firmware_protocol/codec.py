"""Messages to lines and back. Knows no port, no clock and no state of a rig."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import cast

from firmware_protocol.checksum import check_digits
from firmware_protocol.errors import LocalProtocolError, RemoteProtocolError
from firmware_protocol.fields import FieldRule, Message, Value, int_field
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

_HEAD = re.compile(r"([qaxn])(.*)")
_NUMBER_RULES = {
    mark: int_field("number", 0, high)
    for mark, high in [
        ("q", REQUEST_NUMBER_HIGH),
        ("a", REQUEST_NUMBER_HIGH),
        ("x", REQUEST_NUMBER_HIGH),
        ("n", NOTICE_NUMBER_HIGH),
    ]
}


@dataclass(frozen=True, slots=True, kw_only=True)
class BadRequest:
    """A sound line with a request that cannot be understood; it wants a refusal.

    Attributes:
        number: Number of the request.
        error: Error number of the refusal.
        argument: Number of the argument at fault, from 1; 0 for none.
        words: The verb and its arguments as they came: a repeat has the same, and
            some refusals go before this one.
    """

    number: int
    error: ErrorCode
    argument: int
    words: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class UnknownNotice:
    """A sound notice of a kind that a later minor version brought.

    Attributes:
        number: Number of the notice.
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
    try:
        number = _NUMBER_RULES[message.MARK].write(message.number)
    except ValueError as exc:
        raise LocalProtocolError(f"`{message.WORD}`: {exc}") from exc
    words = " ".join([message.WORD, *message.texts()])
    body = f"{message.MARK}{number} {words}".encode("ascii")
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
    mark, word, texts = match[1], words[0], words[1:]
    try:
        number = cast("int", _NUMBER_RULES[mark].read(match[2]))
    except ValueError as exc:
        raise RemoteProtocolError(str(exc)) from exc
    if mark == "q":
        return _request(number, word, texts)
    if mark == "a":
        return cast("Answer", _build(ANSWERS.get(word), number, texts))
    if mark == "x":
        refusal = Refusal if word == Refusal.WORD else None
        return cast("Refusal", _build(refusal, number, texts))
    return _notice(number, word, texts)


def _request(number: int, word: str, texts: list[str]) -> Request | BadRequest:
    def bad(error: ErrorCode, argument: int = 0) -> BadRequest:
        words = (word, *texts)
        return BadRequest(number=number, error=error, argument=argument, words=words)

    cls = REQUESTS.get(word)
    if cls is None:
        return bad(ErrorCode.UNKNOWN_VERB)
    if len(texts) != len(cls.RULES):
        return bad(ErrorCode.WRONG_COUNT)
    values: dict[str, Value] = {"number": number}
    for index, (rule, text) in enumerate(zip(cls.RULES, texts, strict=True), start=1):
        try:
            values[rule.name] = rule.read(text)
        except ValueError:
            return bad(ErrorCode.BAD_ARGUMENT, index)
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
    if len(texts) < sum(not rule.optional for rule in rules):
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
