"""Operators as rows of text."""

from __future__ import annotations

from dataclasses import dataclass

from rig.inquiry.operators import Operators
from rig.sheets.bench_words import utc


@dataclass(frozen=True, slots=True, kw_only=True)
class OperatorRow:
    """One operator; all text.

    Attributes:
        name: Name that the operator is chosen by.
        may: What the operator may do.
        pin: Whether the operator has a PIN.
        since: When this was put on record.
    """

    name: str
    may: str
    pin: str
    since: str


def operator_rows(found: Operators) -> tuple[OperatorRow, ...]:
    """Lay operators out by name."""
    return tuple(
        OperatorRow(
            name=one.name,
            may="retired"
            if not one.active
            else "inspect and authorise"
            if one.authorises
            else "inspect",
            pin="PIN set" if one.has_pin else "no PIN",
            since=utc(one.entered_at),
        )
        for one in found.operators
    )
