"""Hands in to a server what a bench put on record: once, in order, whatever happens.

The chain of a bench lists all that it ever put on record. What the server has of it
ends with some link; what follows is handed in, a part at a time: the links as they are,
with the rows that they stand for, in one transaction of the server. So a part is there
as a whole or not at all, whichever side dies, and the server alone says where to go on.
The chain on the server is that of the bench and is checked in the same way.

PINs of operators stay on the bench.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any, Final

from sqlalchemy import Connection, Table, select, update

from rig.errors import RecordsError
from rig.records import schema
from rig.records.chain import chain_end
from rig.records.columns import metadata
from rig.records.failures import records_error
from rig.records.handed_rows import Rows, rows_behind
from rig.records.plain_rows import plain_rows
from rig.records.schema_chain import chain
from rig.records.schema_figures import figure_forms
from rig.records.store import Store

_LINKS_AT_ONCE: Final = 5000


@dataclass(frozen=True, slots=True, kw_only=True)
class HandedIn:
    """What was handed in.

    Attributes:
        links: Links of the chain that the server took this time.
        last: The last link that the server has.
    """

    links: int
    last: int


def hand_in(
    bench: Store,
    server: Store,
    *,
    after_part: Callable[[int, int], None] = lambda _done, _last: None,
) -> HandedIn:
    """Hand in whatever the server has not yet.

    Args:
        bench: Records of the bench, a file.
        server: Records of the same bench on a server, opened for handing in.
        after_part: Called with the last link that is there now and the last there is.

    Raises:
        RecordsError: The server cannot be reached, has records of another bench under
            that name, or what is on record was altered. What it said to have is kept.
    """
    begun = done = -1
    while True:
        with bench.reading() as local, server.writing() as there:
            number, head = chain_end(there)
            last, _ = chain_end(local)
            _refuse_another(local, bench, server, number, head)
            begun = number if begun < 0 else begun
            done = number
            if number < last:
                done = _hand_in_part(local, there, number, bench, server)
            if done == last:
                _hand_in_plan_states(local, there)
        after_part(done, last)
        if done == last:
            return HandedIn(links=done - begun, last=done)


def _refuse_another(
    local: Connection, bench: Store, server: Store, number: int, head: bytes
) -> None:
    """Refuse records that do not begin as those that the server has.

    Raises:
        RecordsError: They do not.
    """
    last, _ = chain_end(local)
    if number > last:
        raise RecordsError(
            f"the server has {number} links of this bench, and the records"
            f" {bench.where} only {last}: they are older than what was handed in",
            hint="hand in from the records themselves, not from a copy; measure for a"
            " new bench under a new name",
        )
    if not number:
        return
    found = local.scalar(select(chain.c.hash).where(chain.c.link == number))
    if found is None or bytes(found) != head:
        raise RecordsError(
            f"what {server.where} has is not the beginning of the records"
            f" {bench.where}",
            hint="another bench has that name, or its records were altered: `gapsweep"
            " verify` on both says which",
        )


def _hand_in_part(
    local: Connection, there: Connection, number: int, bench: Store, server: Store
) -> int:
    """Hand in the next links with their rows; return the last one."""
    query = select(chain).where(
        chain.c.link > number, chain.c.link <= number + _LINKS_AT_ONCE
    )
    links = plain_rows(local, query.order_by(chain.c.link))
    rows, ended = rows_behind(local, links, bench.where)
    _leave_known_forms(there, rows)
    for table in metadata.sorted_tables:
        if rows[table]:
            _copy_in(there, table, rows[table], server.where)
    _copy_in(there, chain, links, server.where)
    for run_id, ending in ended.items():
        runs = schema.runs
        there.execute(update(runs).where(runs.c.run_id == run_id).values(**ending))
    return int(links[-1][0])


def _leave_known_forms(there: Connection, rows: Rows) -> None:
    """Leave out the forms of figures that the server has: runs share them."""
    if rows[figure_forms]:
        known = {row[0] for row in plain_rows(there, select(figure_forms.c.form_id))}
        rows[figure_forms] = [row for row in rows[figure_forms] if row[0] not in known]


def _hand_in_plan_states(local: Connection, there: Connection) -> None:
    """Hand in how far plans have come, which the chain does not say."""
    plans = schema.plans
    query = select(plans.c.plan_id, plans.c.state)
    known = dict(plain_rows(there, query))
    for plan_id, state in plain_rows(local, query):
        if known.get(plan_id, state) != state:
            there.execute(
                update(plans).where(plans.c.plan_id == plan_id).values(state=state)
            )


def _copy_in(
    there: Connection, table: Table, rows: Sequence[Sequence[Any]], where: str
) -> None:
    """Add rows by the server's own means, which takes a fraction of the time."""
    columns = ", ".join(f'"{column.name}"' for column in table.columns)
    driver: Any = there.connection.driver_connection
    order = f'COPY "{table.name}" ({columns}) FROM STDIN'
    try:
        with driver.cursor() as cursor, cursor.copy(order) as copy:
            for row in rows:
                copy.write_row(row)
    except there.dialect.loaded_dbapi.Error as exc:
        raise records_error(exc, where) from exc
