"""The clauses, a module for each part of SPEC.md."""

from __future__ import annotations

from firmware_protocol.conformance.clause import Clause
from firmware_protocol.conformance.clauses import (
    home,
    line,
    motion,
    notices,
    rate,
    requests,
    states,
)


def _key(clause: Clause) -> tuple[int, ...]:
    return tuple(int(part) for part in clause.id.split("."))


CLAUSES: tuple[Clause, ...] = tuple(
    sorted(
        (
            clause
            for module in (line, requests, states, rate, motion, home, notices)
            for clause in module.CHAPTER.clauses
        ),
        key=_key,
    )
)
