"""Teaches hypothesis to make every message of the protocol, from the table."""

from __future__ import annotations

import string
from typing import Any

from hypothesis import strategies as st

from firmware_protocol import messages
from firmware_protocol.fields import Message
from firmware_protocol.messages import ANSWERS, NOTICES, REQUESTS, Refusal
from firmware_protocol.table import Field, load_table

_TOKEN_LETTERS = string.ascii_letters + string.digits + ".-"


def _integers(low: int, high: int) -> st.SearchStrategy[int]:
    return st.sampled_from([low, high]) | st.integers(low, high)


def _values(field: Field) -> st.SearchStrategy[Any]:
    if field.type == "int":
        return _integers(field.low, field.high)
    if field.type == "flag":
        return st.booleans()
    if field.type == "token":
        return st.text(_TOKEN_LETTERS, min_size=1, max_size=field.longest)
    return st.sampled_from(list(getattr(messages, field.type)))


def _teach(
    cls: type[Message], fields: tuple[Field, ...], **more: st.SearchStrategy[int]
) -> None:
    parts = {field.name: _values(field) for field in fields}
    st.register_type_strategy(cls, st.builds(cls, **parts, **more))


_request_numbers = _integers(0, 255)
_notice_numbers = _integers(0, 65535)
_table = load_table()
for _row in _table.requests:
    _teach(REQUESTS[_row.word], _row.fields, number=_request_numbers)
    _teach(ANSWERS[_row.word], _row.answer or (), number=_request_numbers)
for _row in _table.notices:
    _teach(
        NOTICES[_row.word], _row.fields, number=_notice_numbers, lost=_notice_numbers
    )
_teach(
    Refusal,
    (),
    number=_request_numbers,
    error=_integers(1, 255),
    argument=_integers(0, 9),
)
