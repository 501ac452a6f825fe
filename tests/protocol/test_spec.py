"""SPEC.md tells the truth: every line in it is sound and says what it claims."""

from __future__ import annotations

import re
from typing import Any

import pytest

from firmware_protocol import BadRequest, Receiver, decode, encode, generate
from firmware_protocol.checksum import check_digits
from firmware_protocol.messages import (
    ANSWERS,
    LONGEST_LINE_BYTES,
    MAJOR,
    MINOR,
    NOTICES,
    REQUESTS,
    Answer,
    ErrorCode,
    Input,
    LookAnswer,
    Notice,
    Refusal,
    Request,
    Source,
)
from firmware_protocol.table import MessageRow, load_table

TABLE = load_table()
SPEC = (generate.HERE / "SPEC.md").read_text("utf-8")
# A start byte and a mark with its number is meant as a line wherever it stands
LINES = re.findall(r"&[qaxn]\d[^`|\n]*", SPEC)
CHECK_TABLE = re.findall(
    r"^\| `([^`]+)` \| `([0-9a-f]{4})` \| `([^`]+)` \|$", SPEC, re.M
)
ORDER = re.search(r"the first that fails is the refusal:([^*]*?)\.\n", SPEC)


def section(title: str) -> str:
    found = re.search(
        rf"^### {re.escape(title)}\n(.*?)(?=^##|^<!--)", SPEC, re.M | re.S
    )
    assert found is not None, title
    return found[1]


def code_lines(text: str) -> list[str]:
    return [
        line
        for block in re.findall(r"^```\n(.*?)^```", text, re.M | re.S)
        for line in block.splitlines()
    ]


def message_of(line: str) -> Any:
    return decode(line[1:].encode())


def as_made(cls: type[Any], row_values: dict[str, Any], **more: Any) -> Any:
    return cls(**(more | row_values))


@pytest.mark.parametrize("line", LINES)
def test_every_line_in_the_spec_is_sound(line: str) -> None:
    receiver = Receiver()

    out = receiver.feed(line.encode() + b"\n")

    assert receiver.dropped == 0
    assert len(out) == 1
    assert not isinstance(out[0], BadRequest)
    assert len(line) <= LONGEST_LINE_BYTES
    assert encode(out[0]).decode() == line + "\n"  # type: ignore[arg-type]


def test_no_line_of_a_code_block_is_missed() -> None:
    in_blocks = [
        line.removeprefix("> ").removeprefix("< ")
        for line in code_lines(SPEC)
        if re.match(r"([<>] )?&", line)
    ]

    assert len(in_blocks) >= 2 * len(REQUESTS) + len(NOTICES) + 14
    assert set(in_blocks) <= set(LINES)


@pytest.mark.parametrize("row", TABLE.requests, ids=lambda row: row.word)
def test_the_example_of_a_request_says_what_the_table_says(row: MessageRow) -> None:
    asked, answered = code_lines(section(f"Request `{row.word}`"))

    assert message_of(asked) == as_made(REQUESTS[row.word], row.example, number=17)
    assert message_of(answered) == as_made(
        ANSWERS[row.word], row.example_answer, number=17
    )


@pytest.mark.parametrize("row", TABLE.notices, ids=lambda row: row.word)
def test_the_example_of_a_notice_says_what_the_table_says(row: MessageRow) -> None:
    (line,) = code_lines(section(f"Notice `{row.word}`"))

    assert message_of(line) == as_made(NOTICES[row.word], row.example)


def test_every_message_has_its_section_and_no_other_has() -> None:
    titles = re.findall(r"^### (Request|Notice) `(\w+)`$", SPEC, re.M)

    assert [w for kind, w in titles if kind == "Request"] == list(REQUESTS)
    assert [w for kind, w in titles if kind == "Notice"] == list(NOTICES)


def test_the_example_of_a_refusal_is_one() -> None:
    lines = [line for line in LINES if line.startswith("&x")]

    assert lines
    assert all(isinstance(message_of(line), Refusal) for line in lines)


def test_the_table_of_checks_is_right() -> None:
    assert len(CHECK_TABLE) >= 3
    for body, check, line in CHECK_TABLE:
        assert check_digits(body.encode()).decode() == check
        assert line == f"&{body} {check}"


def test_the_session_is_one_that_could_be() -> None:
    session = code_lines(
        SPEC[SPEC.index("A session begins like this") : SPEC.index("## 13.")]
    )
    notices: list[int] = []
    outstanding: Request | None = None
    for line in session:
        message = message_of(line[2:])
        if line.startswith("> "):
            assert isinstance(message, Request)
            outstanding = message
        elif isinstance(message, Notice):
            notices.append(message.number)
        else:
            assert isinstance(message, Answer)
            assert outstanding is not None
            assert (message.number, message.WORD) == (
                outstanding.number,
                outstanding.WORD,
            )

    assert notices == list(range(notices[0], notices[0] + len(notices)))


def test_the_output_in_the_session_changes_from_what_it_was() -> None:
    session = code_lines(
        SPEC[SPEC.index("A session begins like this") : SPEC.index("## 13.")]
    )
    messages = [message_of(line[2:]) for line in session]
    (look,) = (m for m in messages if isinstance(m, LookAnswer))
    (edge,) = (m for m in messages if getattr(m, "source", "") == Source.OUT)

    assert edge.level != bool(look.inputs & Input.OUT)


@pytest.mark.parametrize("kind", ["errors", "faults", "traits", "abilities", "inputs"])
def test_every_number_of_the_table_is_listed(kind: str) -> None:
    for row in TABLE.numbers[kind]:
        assert re.search(rf"^\| {row.number} \| `{row.name}` \|", SPEC, re.M), row


@pytest.mark.parametrize("name", TABLE.words)
def test_every_word_of_the_table_is_listed(name: str) -> None:
    for word in TABLE.words[name]:
        assert word == "doc" or f"| `{word}` |" in SPEC, word


def test_the_order_of_refusals_names_every_error_once() -> None:
    assert ORDER is not None
    numbers = [int(text) for text in re.findall(r"\b\d+\b", ORDER[1])]

    assert sorted(numbers) == sorted(ErrorCode)


def test_the_order_of_refusals_is_that_of_the_codec() -> None:
    assert ORDER is not None
    order = [int(text) for text in re.findall(r"\b\d+\b", ORDER[1])]
    unknown_with_bad = message_of(_line("q1 wave x x x"))
    too_many_and_bad = message_of(_line("q1 trait x x"))

    assert [unknown_with_bad.error, too_many_and_bad.error] == [1, 2]
    assert order.index(1) < order.index(2) < order.index(3)


def _line(body: str) -> str:
    return f"&{body} {check_digits(body.encode()).decode()}"


@pytest.mark.parametrize(
    ("claim", "number"),
    [
        (r"Version (\d+)\.\d+\. ", MAJOR),
        (r"Version \d+\.(\d+)\. ", MINOR),
        (r"at most (\d+) bytes long", TABLE.protocol["longest_line_bytes"]),
        (r"from 1 to (\d+); the\ncontroller", TABLE.protocol["request_number_high"]),
        (r"stop bit, (\d+) bits a second", TABLE.protocol["first_rate_bits_s"]),
        (r"from 0 at the start; (\d+) is followed by 0",
         TABLE.protocol["notice_number_high"]),
    ],
)  # fmt: skip
def test_numbers_in_the_text_are_those_of_the_table(claim: str, number: int) -> None:
    found = re.search(claim, SPEC)

    assert found is not None
    assert int(found[1]) == number


@pytest.mark.parametrize(
    ("claim", "number"),
    [
        (r"begins with `&` \(0x([0-9A-F]{2})\)", TABLE.protocol["start_byte"]),
        (r"ends with LF \(0x([0-9A-F]{2})\)", TABLE.protocol["end_byte"]),
        (r"`#` \(0x([0-9A-F]{2})\), alone", TABLE.protocol["stop_byte"]),
        (r"polynomial 0x([0-9A-F]{4})", TABLE.protocol["check_polynomial"]),
        (r"start value 0x([0-9A-F]{4})", TABLE.protocol["check_start"]),
    ],
)
def test_bytes_in_the_text_are_those_of_the_table(claim: str, number: int) -> None:
    found = re.search(claim, SPEC)

    assert found is not None
    assert int(found[1], 16) == number
