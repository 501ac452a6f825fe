"""Runs named shortly: by the beginning of their identity, or as the last one."""

from __future__ import annotations

from collections.abc import Iterable

from sqlalchemy import select, union

from rig.errors import InputError
from rig.records.failures import not_on_record
from rig.records.schema import runs
from rig.records.schema_attempts import attempts
from rig.records.store import Store

LAST = "last"
_NAMED_AT_MOST = 3  # of several that begin alike


def run_named(store: Store, name: str) -> str:
    """Return the identity of the run, or of the attempt without one, that is named.

    Args:
        store: Open records.
        name: An identity, the beginning of one that no other has, or "last" for what
            was begun last.

    Raises:
        InputError: Several begin so.
        RecordsError: There is none, or the records cannot be read.
    """
    ids = union(select(runs.c.run_id), select(attempts.c.run_id)).subquery().c.run_id
    if name == LAST:
        # Identities sort by the clock on the wall; that of a simulated rig may run on
        found, at_most = select(ids).order_by(ids.desc()), 1
    else:
        begins = ids.startswith(name, autoescape=True)
        found, at_most = select(ids).where(begins).order_by(ids), _NAMED_AT_MOST + 1
    with store.reading() as connection:
        identities = connection.scalars(found.limit(at_most)).all()
    if not (name and identities):
        raise not_on_record("run", name or "without a name", store.where)
    # One that is named in full may be the beginning of another
    if len(identities) == 1 or identities[0] == name:
        return str(identities[0])
    several = ", ".join(identities[:_NAMED_AT_MOST])
    more = ", …" if len(identities) > _NAMED_AT_MOST else ""
    raise InputError(
        f"several runs begin with {name}: {several}{more}",
        hint="give more of the identity, as far as no other run has it",
    )


def runs_named(store: Store, names: Iterable[str]) -> tuple[str, ...]:
    """Return the identities of several runs, as `run_named` does, in their order.

    Raises:
        InputError: Several begin as one is named.
        RecordsError: There is none of a name, or the records cannot be read.
    """
    return tuple(run_named(store, name) for name in names)
