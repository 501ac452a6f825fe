"""Keeps two programs from carrying out one plan at once: a lease while it is measured.

It ends with its process, so that a plan whose program was killed can be resumed at
once. Programs on two computers have no lease in common; `records/second_program.py`
ends the second of them.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from rig.errors import RecordsError
from rig.process_lock import Held, ProcessLock


@contextmanager
def leased(plan_id: str) -> Iterator[None]:
    """Have a plan for oneself.

    Args:
        plan_id: Identity of the plan.

    Raises:
        RecordsError: Another program carries it out.
    """
    try:
        lock = ProcessLock("plans", plan_id)
    except Held as exc:
        number = "" if exc.process is None else f" (process {exc.process})"
        raise RecordsError(
            f"another program{number} carries out plan {plan_id} now: two at once"
            " cannot measure for one plan",
            hint="let that one carry it out, or end it and then resume the plan here",
        ) from exc
    try:
        yield
    finally:
        lock.release()
