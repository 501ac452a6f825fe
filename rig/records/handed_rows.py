"""The rows behind links of the chain, held against them. Reads only."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from typing import Any, Final

from sqlalchemy import Connection, Integer, Table, select, tuple_

from rig.errors import RecordsError
from rig.records import schema
from rig.records.chain import EARLIER_FIGURES, FIGURES, RUN_ENDED, row_link
from rig.records.chained_tables import BY_ROWS
from rig.records.kept_figures import figures_link
from rig.records.plain_rows import plain_rows
from rig.records.run_content import digests_of_runs
from rig.records.schema_figures import figure_forms, figure_numbers
from rig.records.sweep_text import edge_text, sweep_link

# Stays below the number of values that any SQLite takes in one statement (999)
_KEYS_AT_ONCE: Final = 300
_TABLES: Final = {table.name: table for table in BY_ROWS}
_RUN_COLUMNS: Final = tuple(column.name for column in schema.runs.columns)
# How a run begins: what its ending says is written when it ends
_OPEN: Final = dict.fromkeys(schema.RUN_ENDING) | {
    "void": "",
    "edges_checksum": "",
}

Rows = defaultdict[Table, list[Sequence[Any]]]
_Link = Sequence[Any]


def rows_behind(
    connection: Connection, links: Sequence[_Link], where: str
) -> tuple[Rows, dict[str, dict[str, Any]]]:
    """Return the rows that links stand for, and how runs ended that do so in them.

    Args:
        connection: Connection of a transaction under way.
        links: Rows of `chain`.
        where: Location of the records, fit to be shown.

    Returns:
        Rows by table, whole, runs as they began; and the columns of the ending by run.

    Raises:
        RecordsError: A row is missing, or is not as its link has it.
    """
    by_kind: defaultdict[str, list[_Link]] = defaultdict(list)
    for link in links:
        by_kind[link[1]].append(link)
    rows: Rows = defaultdict(list)
    digests: dict[tuple[str, str, int], bytes] = {}
    for kind, own in by_kind.items():
        if kind in _TABLES:
            table = _TABLES[kind]
            for row in _by_keys(connection, table, [_key(table, one) for one in own]):
                named = dict(zip(table.columns.keys(), row, strict=True))
                found = row_link(table, named)
                digests[kind, found.subject, found.place] = found.digest
                rows[table].append(_begun(row) if table is schema.runs else row)
        elif kind == schema.sweeps.name:
            digests |= _sweeps(connection, own, rows)
        elif kind in (FIGURES, EARLIER_FIGURES):
            digests |= _figures(connection, kind, own, rows)
    ended = [one[2] for one in by_kind[RUN_ENDED]]
    for some in _chunks(ended):
        for run_id, digest in digests_of_runs(connection, some).items():
            digests[RUN_ENDED, run_id, 0] = digest
    for _, kind, subject, place, digest, _ in links:
        if digests.get((kind, subject, place)) != bytes(digest):
            raise RecordsError(
                f"the records {where} are not as they were written ({kind} {subject},"
                f" {place}), and nothing from there on is handed in",
                hint="`gapsweep verify` says what was changed; restore a copy from"
                " before the damage",
            )
    return rows, _endings(connection, ended)


def _begun(row: Sequence[Any]) -> list[Any]:
    return [
        _OPEN.get(name, value) for name, value in zip(_RUN_COLUMNS, row, strict=True)
    ]


def _endings(
    connection: Connection, run_ids: Sequence[str]
) -> dict[str, dict[str, Any]]:
    runs = schema.runs
    found = {}
    for some in _chunks(run_ids):
        query = select(runs.c.run_id, *(runs.c[name] for name in schema.RUN_ENDING))
        for run_id, *ending in plain_rows(
            connection, query.where(runs.c.run_id.in_(some))
        ):
            found[run_id] = dict(zip(schema.RUN_ENDING, ending, strict=True))
    return found


def _key(table: Table, link: _Link) -> tuple[Any, ...]:
    """Return the primary key that a link names.

    Only the first text of a key may have a blank: those after it are numbers.
    """
    _, _, subject, place, *_ = link
    columns = list(table.primary_key.columns)
    numbered = isinstance(columns[-1].type, Integer)
    texts = columns[:-1] if numbered else columns
    words = subject.rsplit(" ", len(texts) - 1) if texts else []
    key = [
        int(word) if isinstance(column.type, Integer) else word
        for column, word in zip(texts, words, strict=True)
    ]
    return (*key, place) if numbered else tuple(key)


def _by_keys(
    connection: Connection, table: Table, keys: Sequence[tuple[Any, ...]]
) -> Iterator[Sequence[Any]]:
    key = list(table.primary_key.columns)
    for some in _chunks(keys):
        if len(key) == 1:
            wanted = key[0].in_([one for (one,) in some])
        else:
            wanted = tuple_(*key).in_(some)
        yield from plain_rows(connection, select(table).where(wanted))


def _sweeps(
    connection: Connection, links: Iterable[_Link], rows: Rows
) -> dict[tuple[str, str, int], bytes]:
    """Add sweeps with their edges; return their digests."""
    sweeps, edges = schema.sweeps, schema.edges
    indexes: defaultdict[str, list[int]] = defaultdict(list)
    for _, _, run_id, index, *_ in links:
        indexes[run_id].append(index)
    digests = {}
    for run_id, own in indexes.items():
        of_sweep: defaultdict[int, list[Any]] = defaultdict(list)
        for row in plain_rows(connection, _between(edges, run_id, own)):
            of_sweep[row[1]].append(row)
        for row in plain_rows(connection, _between(sweeps, run_id, own)):
            link = sweep_link(
                dict(zip(sweeps.columns.keys(), row, strict=True)),
                (
                    edge_text(dict(zip(edges.columns.keys(), edge, strict=True)))
                    for edge in of_sweep[row[1]]
                ),
            )
            digests[sweeps.name, run_id, row[1]] = link.digest
            rows[sweeps].append(row)
            rows[edges] += of_sweep[row[1]]
    return digests


def _between(table: Table, run_id: str, indexes: Sequence[int]) -> Any:
    """Return the query of rows of sweeps that followed upon one another."""
    place = table.c.sweep_index
    chosen = (table.c.run_id == run_id) & place.between(min(indexes), max(indexes))
    return select(table).where(chosen).order_by(*table.primary_key.columns)


def _figures(
    connection: Connection, kind: str, links: Iterable[_Link], rows: Rows
) -> dict[tuple[str, str, int], bytes]:
    """Add computations with all that belongs to them; return their digests."""
    digests = {}
    ids: list[int] = []
    for _, _, subject, place, digest, _ in links:
        if kind == EARLIER_FIGURES:
            ids.append(place)
            # Their link is held against them by `gapsweep verify`, there as here
            digests[kind, subject, place] = bytes(digest)
            continue
        query = select(figure_numbers.c.computation_id, figure_numbers.c.digest).where(
            figure_numbers.c.computation_id >= place,
            figure_numbers.c.digest.is_not(None),
        )
        query = query.order_by(figure_numbers.c.computation_id).limit(int(subject))
        own = [(new, bytes(of_it)) for new, of_it in plain_rows(connection, query)]
        if own and len(own) == int(subject):
            digests[kind, subject, place] = figures_link(own).digest
            ids += [new for new, _ in own]
    forms: set[int] = set()
    for some in _chunks(ids):
        for table in (schema.computations, schema.figures, figure_numbers):
            query = select(table).where(table.c.computation_id.in_(some))
            rows[table] += plain_rows(connection, query)
        query = select(figure_numbers.c.form_id).where(
            figure_numbers.c.computation_id.in_(some)
        )
        forms |= {form for (form,) in plain_rows(connection, query)}
    added = {row[0] for row in rows[figure_forms]}
    for some in _chunks(sorted(forms - added)):
        query = select(figure_forms).where(figure_forms.c.form_id.in_(some))
        rows[figure_forms] += plain_rows(connection, query)
    return digests


def _chunks(items: Sequence[Any]) -> Iterator[Sequence[Any]]:
    for start in range(0, len(items), _KEYS_AT_ONCE):
        yield items[start : start + _KEYS_AT_ONCE]
