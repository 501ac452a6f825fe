"""The clauses, a module for each part of SPEC.md."""

from __future__ import annotations

from firmware_protocol.conformance.clause import Clause
from firmware_protocol.conformance.clauses import (
    current,
    drive,
    edges,
    home,
    line,
    messages,
    motion,
    notices,
    quantities,
    rate,
    refusals,
    requests,
    scale,
    sessions,
    settings,
    silence,
    start,
    states,
    stop,
    touch,
    turn,
    wraps,
)

_MODULES = (
    line,
    stop,
    requests,
    sessions,
    refusals,
    messages,
    settings,
    quantities,
    states,
    current,
    rate,
    motion,
    turn,
    touch,
    silence,
    home,
    drive,
    notices,
    edges,
    scale,
    wraps,
    start,
)


def _key(clause: Clause) -> tuple[int, ...]:
    return tuple(int(part) for part in clause.id.split("."))


CLAUSES: tuple[Clause, ...] = tuple(
    sorted(
        (clause for module in _MODULES for clause in module.CHAPTER.clauses), key=_key
    )
)
