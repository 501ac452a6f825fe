"""Whether runs are as they were written: their rows held against the chain. Reads only.

What belongs to a run is its row, its later conditions, sweeps with edges, datum checks,
attempts, outcomes and notes, and its latest figures.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence, Set
from typing import Any, Final

from sqlalchemy import Connection, Table, func, select

from rig.records import schema
from rig.records.chain import EARLIER_FIGURES, RUN_ENDED, Link
from rig.records.chained_tables import links_of_rows, links_of_sweeps
from rig.records.checksum import checksum_of_lines
from rig.records.earlier_figures import links_of_earlier_figures
from rig.records.edge_lines import stored_edge_lines
from rig.records.entries import RunCheck
from rig.records.kept_figures import altered_figures, lost_figures
from rig.records.plain_rows import plain_rows
from rig.records.run_content import digests_of_runs
from rig.records.schema_attempts import attempts, outcomes
from rig.records.schema_chain import CHAIN_BEGAN, chain
from rig.records.schema_datum import datum_checks
from rig.records.schema_notes import run_notes

# Stays below the number of values that any SQLite takes in one statement (999)
_IDS_AT_ONCE: Final = 500
RUN_TABLES: Final[tuple[Table, ...]] = (
    schema.runs,
    schema.run_conditions,
    datum_checks,
    attempts,
    outcomes,
    run_notes,
)
# What is added to a run by itself, whether it has ended or not
_AFTER_THE_END: Final = frozenset(
    {attempts.name, outcomes.name, run_notes.name, EARLIER_FIGURES}
)
_WHAT: Final[Mapping[str, str]] = {
    "runs": "what was known of it before its first sweep",
    "run_conditions": "the conditions under which it was resumed ({place})",
    "sweeps": "sweep {place}",
    "datum_checks": "check {place} of its datum",
    "attempts": "what was known of attempt {place} before it",
    "outcomes": "how attempt {place} ended",
    "run_notes": "note {place}",
    RUN_ENDED: "its ending",
    EARLIER_FIGURES: "figures number {place}",
}
_Key = tuple[str, int]


def checks_of_runs(
    connection: Connection, run_ids: Sequence[str]
) -> dict[str, RunCheck]:
    """Check those of these runs that are on record, and attempts that came to none.

    Args:
        connection: Connection of a transaction under way.
        run_ids: Any number of them.
    """
    found: dict[str, RunCheck] = {}
    for start in range(0, len(run_ids), _IDS_AT_ONCE):
        found |= _checks(connection, run_ids[start : start + _IDS_AT_ONCE])
    return found


def chain_kept(connection: Connection) -> bool:
    """Return whether a chain is kept, as it is in all but earlier records."""
    version = select(func.max(schema.schema_table.c.version))
    return int(connection.scalar(version) or 0) >= CHAIN_BEGAN


def _checks(connection: Connection, run_ids: Sequence[str]) -> dict[str, RunCheck]:
    runs = schema.runs
    query = select(runs.c.run_id, runs.c.edges_checksum, runs.c.ended_at)
    stored = plain_rows(connection, query.where(runs.c.run_id.in_(run_ids)))
    changes: defaultdict[str, list[str]] = defaultdict(list)
    chained: Mapping[str, Mapping[_Key, bytes]] = {}
    whole: set[str] = set()
    if chain_kept(connection):
        ended = [run_id for run_id, _, ended_at in stored if ended_at is not None]
        digests = digests_of_runs(connection, ended)
        chained = _chained(connection, run_ids)
        whole = {
            run_id
            for run_id, digest in digests.items()
            if chained[run_id].get((RUN_ENDED, 0)) == digest
        }
        changes |= _changes(connection, run_ids, chained, whole)
        for run_id in set(ended) - whole:
            if (RUN_ENDED, 0) not in chained[run_id]:
                changes[run_id].append("its ending is not in the chain of the records")
            elif not changes[run_id]:
                changes[run_id].append("its ending was altered")
    for run_id, when in altered_figures(connection, run_ids):
        changes[run_id].append(f"its figures of {when} were altered")
    for run_id in lost_figures(connection, _without_figures(connection, run_ids)):
        changes[run_id].append("its figures are not found: an index is damaged")
    found = {}
    for run_id, checksum, _ in stored:
        computed = checksum
        if run_id not in whole:
            computed = checksum_of_lines(stored_edge_lines(connection, run_id))
        if checksum and checksum != computed and not changes[run_id]:
            changes[run_id].append("its edges are not as they were at its end")
        found[run_id] = RunCheck(
            run_id=run_id,
            stored=checksum,
            computed=computed,
            changes=tuple(changes[run_id]),
        )
    for run_id in (chained.keys() | changes.keys()) - found.keys():
        found[run_id] = RunCheck(
            run_id=run_id,
            stored="",
            computed="",
            changes=tuple(changes[run_id]),
        )
    return found


def _changes(
    connection: Connection,
    run_ids: Sequence[str],
    chained: Mapping[str, Mapping[_Key, bytes]],
    whole: Set[str],
) -> defaultdict[str, list[str]]:
    """Return what is on record of runs otherwise than the chain has it, in words.

    Args:
        connection: Connection of a transaction under way.
        run_ids: Few enough for one statement.
        chained: What the chain has of each.
        whole: Those of them that are known to be as they were at their end.
    """
    changes: defaultdict[str, list[str]] = defaultdict(list)
    left = {run_id: set(own) - {(RUN_ENDED, 0)} for run_id, own in chained.items()}
    for run_id in whole:
        left[run_id] = {key for key in left[run_id] if key[0] in _AFTER_THE_END}
    for link in _on_record(connection, run_ids, whole):
        key = link.kind, link.place
        digest = chained.get(link.subject, {}).get(key)
        what = _what(link.kind, link.place)
        if digest is None:
            changes[link.subject].append(f"{what} is not in the chain of the records")
        elif digest != link.digest:
            changes[link.subject].append(f"{what} was altered")
        left.get(link.subject, set()).discard(key)
    for run_id, missing in left.items():
        changes[run_id] += [
            f"{_what(kind, place)} is missing" for kind, place in sorted(missing)
        ]
    return changes


def _what(kind: str, place: int) -> str:
    """Return in words what a link stands for; damage may have made up its kind."""
    return _WHAT.get(kind, "row {place} of an unknown kind").format(place=place)


def _on_record(
    connection: Connection, run_ids: Sequence[str], whole: Set[str]
) -> Iterator[Link]:
    doubtful = [run_id for run_id in run_ids if run_id not in whole]
    for table in RUN_TABLES:
        some = run_ids if table.name in _AFTER_THE_END else doubtful
        yield from links_of_rows(connection, table, table.c.run_id.in_(some))
    yield from links_of_sweeps(connection, schema.sweeps.c.run_id.in_(doubtful))
    yield from links_of_earlier_figures(
        connection, schema.computations.c.run_id.in_(run_ids)
    )


def _without_figures(connection: Connection, run_ids: Sequence[str]) -> list[str]:
    table = schema.computations
    latest = (
        select(func.max(table.c.computation_id))
        .where(table.c.run_id.in_(run_ids))
        .group_by(table.c.run_id)
    )
    # The index alone knows the run; the version makes it look at the row
    query = select(table.c.run_id, table.c.analysis_version).where(
        table.c.computation_id.in_(latest)
    )
    found = {row[0] for row in plain_rows(connection, query)}
    return [one for one in run_ids if one not in found]


def _chained(
    connection: Connection, run_ids: Sequence[str]
) -> defaultdict[str, dict[_Key, bytes]]:
    """Return what the chain has of each run."""
    found: defaultdict[str, dict[_Key, bytes]] = defaultdict(dict)
    columns: tuple[Any, ...] = chain.c.subject, chain.c.kind, chain.c.place
    query = select(*columns, chain.c.digest).where(
        chain.c.kind.in_(_WHAT), chain.c.subject.in_(run_ids)
    )
    for run_id, kind, place, digest in plain_rows(connection, query):
        found[run_id][kind, place] = bytes(digest)
    return found
