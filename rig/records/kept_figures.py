"""Writes figures with the form that their runs share, and reads them back."""

from __future__ import annotations

import hashlib
import json
import struct
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import asdict
from datetime import datetime
from functools import lru_cache
from typing import Any

from sqlalchemy import Connection, RowMapping, Select, func, select

from rig.model.figure_forms import (
    FIGURE_NAMES,
    FigureBlock,
    FigureForm,
    LineForm,
    figures_from,
    numbers_in,
)
from rig.model.figures import Evaluation, RunFigures
from rig.records import schema
from rig.records.chain import FIGURES, Link, append_links
from rig.records.decoding import decodes
from rig.records.mapping import figure_of, json_text, time_text
from rig.records.plain_rows import insert_plain, plain_rows, streamed_rows
from rig.records.schema_figures import figure_forms, figure_numbers

# Stays below the number of values that any SQLite takes in one statement (999)
_IDS_AT_ONCE = 500
_BYTES = 8  # of a number
# Columns that are given, in the order of the tables
_COMPUTATION = (
    "run_id",
    "analysis_version",
    "software_version",
    "computed_at",
    "warnings",
)
_NUMBERS = ("computation_id", "form_id", "numbers", "digest")
# First line under the digest of a computation; a change of it needs a new one
_HEAD = "computation 1"
_Values = tuple[Any, ...]
_Numbers = tuple[int, bytes, bytes]  # form, numbers, digest


def add_figures_of_runs(
    connection: Connection,
    blocks: Sequence[FigureBlock],
    *,
    computed_at: datetime,
    software_version: str,
) -> None:
    """Add a computation for every run of some blocks, inside a transaction.

    Args:
        connection: Connection in a transaction that writes.
        blocks: No run in more than one of them.
        computed_at: When; aware.
        software_version: Version of the software that made them.
    """
    made = software_version, time_text(computed_at)
    computations: list[_Values] = []
    numbers_of: dict[str, _Numbers] = {}
    for block in blocks:
        form_id, form_digest = _form_of(connection, block.forms)
        packed = block.numbers.astype("<f8", copy=False).tobytes()
        width = _BYTES * block.numbers.shape[1]
        version = block.analysis_version
        for at, run_id in enumerate(block.run_ids):
            head = (run_id, version, *made, _warnings_text(block.warnings[at]))
            numbers = packed[at * width : (at + 1) * width]
            digest = computation_digest(head, form_digest, numbers)
            computations.append(head)
            numbers_of[run_id] = form_id, numbers, digest
    if computations:
        _add(connection, computations, numbers_of)


@decodes("a figure")
def figures_of(
    connection: Connection, heads: Sequence[RowMapping]
) -> dict[int, RunFigures]:
    """Return the figures of computations, whichever version of the tables has them.

    Args:
        connection: Connection of a transaction under way.
        heads: Rows of `computations`.
    """
    words: dict[int, tuple[tuple[str, ...], str]] = {
        head["computation_id"]: (
            tuple(json.loads(head["warnings"])),
            head["analysis_version"],
        )
        for head in heads
    }
    ids = list(words)
    found: dict[int, RunFigures] = {}
    for start in range(0, len(ids), _IDS_AT_ONCE):
        some = ids[start : start + _IDS_AT_ONCE]
        for new, form, numbers in connection.execute(_kept(some)):
            values = struct.unpack(f"<{len(numbers) // _BYTES}d", numbers)
            found[new] = figures_from(_forms_of(form), values, *words[new])
        for new, by_name in _earlier(connection, some).items():
            found[new] = RunFigures(
                **by_name, warnings=words[new][0], analysis_version=words[new][1]
            )
    return found


def place_of_value(form: str, name: str) -> int | None:
    """Return which of the numbers of a form is the value of a figure; None for none.

    Args:
        form: The form as it is kept.
        name: Field of `RunFigures`.
    """
    place = 0
    for one in _forms_of(form):
        if one.name == name:
            return place
        place += numbers_in([one])
    return None


def altered_figures(
    connection: Connection, run_ids: Sequence[str]
) -> list[tuple[str, str]]:
    """Return run and time of each latest computation that was altered.

    Those from before the chain was kept have no digest of their own and are left out.

    Args:
        connection: Connection of a transaction under way.
        run_ids: Few enough for one statement.
    """
    table = schema.computations
    newest = select(func.max(table.c.computation_id), table.c.run_id)
    latest = dict(
        plain_rows(
            connection,
            newest.where(table.c.run_id.in_(run_ids)).group_by(table.c.run_id),
        )
    )
    query = _with_digests().where(table.c.computation_id.in_(latest))
    # The run is the one that it was looked up by: the row may name another one by now
    return [
        (latest[row[0]], row[4])
        for row in plain_rows(connection, query)
        if not _sound(row) or row[1] != latest[row[0]]
    ]


def lost_figures(connection: Connection, run_ids: Sequence[str]) -> list[str]:
    """Return the runs whose figures are there, and which their index does not find.

    Args:
        connection: Connection of a transaction under way.
        run_ids: Runs that seem to have none; few enough for one statement.
    """
    if not run_ids or connection.dialect.name != "sqlite":
        return []
    table = schema.computations
    # Of a text made of it no index helps, and none has the version: the table is read
    query = select(table.c.run_id, table.c.analysis_version).where(
        (table.c.run_id + "").in_(run_ids)
    )
    return sorted({row[0] for row in plain_rows(connection, query)})


def all_computations(
    connection: Connection,
) -> Iterator[tuple[int, str, bytes, bool]]:
    """Yield identity, run and digest of each computation, and whether it has that.

    They come in order of identity; those from before the chain was kept are left out.
    """
    query = _with_digests().order_by(schema.computations.c.computation_id)
    for row in streamed_rows(connection, query):
        yield row[0], row[1], bytes(row[7]), _sound(row)


def _with_digests() -> Select[Any]:
    table = schema.computations
    return (
        select(
            table.c.computation_id,
            *(table.c[name] for name in _COMPUTATION),
            figure_numbers.c.numbers,
            figure_numbers.c.digest,
            figure_forms.c.digest,
            figure_forms.c.form,
        )
        .join(figure_numbers, figure_numbers.c.computation_id == table.c.computation_id)
        .join(figure_forms, figure_forms.c.form_id == figure_numbers.c.form_id)
        .where(figure_numbers.c.digest.is_not(None))
    )


def _sound(row: Sequence[Any]) -> bool:
    """Whether a computation and its form have the digests that are kept of them."""
    _, *head, numbers, digest, form_digest, form = row
    computed = computation_digest(head, form_digest, bytes(numbers))
    return computed == bytes(digest) and form_digest_of(form) == form_digest


def _kept(computation_ids: Sequence[int]) -> Select[Any]:
    return (
        select(
            figure_numbers.c.computation_id,
            figure_forms.c.form,
            figure_numbers.c.numbers,
        )
        .join(figure_forms, figure_forms.c.form_id == figure_numbers.c.form_id)
        .where(figure_numbers.c.computation_id.in_(computation_ids))
    )


def _earlier(
    connection: Connection, computation_ids: Sequence[int]
) -> defaultdict[int, dict[str, Any]]:
    """Return the figures that earlier versions kept, by computation and by name."""
    figures = schema.figures
    found: defaultdict[int, dict[str, Any]] = defaultdict(
        lambda: dict.fromkeys(FIGURE_NAMES)
    )
    query = select(figures).where(figures.c.computation_id.in_(computation_ids))
    for row in connection.execute(query).mappings():
        found[row["computation_id"]][row["name"]] = figure_of(row)
    return found


@lru_cache(maxsize=1024)
def _warnings_text(warnings: tuple[str, ...]) -> str:
    return json_text(warnings)


def _add(
    connection: Connection,
    computations: list[_Values],
    numbers_of: dict[str, _Numbers],
) -> None:
    """Add computations, then their numbers under the identities that they were given.

    The database gives the identities, so that none is given twice on a server.
    """
    table = schema.computations
    before = connection.scalar(select(func.max(table.c.computation_id))) or 0
    insert_plain(connection, table, _COMPUTATION, computations)
    added = connection.execute(
        select(table.c.computation_id, table.c.run_id).where(
            table.c.computation_id > before
        )
    )
    # On a server somebody else's may be among them
    rows = [(new, *numbers_of[run]) for new, run in added if run in numbers_of]
    insert_plain(connection, figure_numbers, _NUMBERS, rows)
    link = figures_link([(row[0], row[3]) for row in rows])
    append_links(connection, [link])


def figures_link(digests: Sequence[tuple[int, bytes]]) -> Link:
    """Return the link of computations that were added at once.

    Args:
        digests: Identity and digest of each, in any order.
    """
    in_order = sorted(digests)
    under = b"".join(new.to_bytes(8, "little") + digest for new, digest in in_order)
    return Link(
        kind=FIGURES,
        subject=str(len(in_order)),
        place=in_order[0][0],
        digest=hashlib.sha256(under).digest(),
    )


def computation_digest(head: Sequence[str], form_digest: str, numbers: bytes) -> bytes:
    """Return the SHA-256 of a computation.

    Args:
        head: Run, version of the analysis and of the software, time and warnings, as
            they are kept.
        form_digest: SHA-256 of the form, in hexadecimal digits.
        numbers: The numbers as they are kept.
    """
    text = "\n".join((_HEAD, *map(str, head), form_digest, ""))
    return hashlib.sha256(text.encode("utf-8", "backslashreplace") + numbers).digest()


def _form_of(connection: Connection, forms: tuple[FigureForm, ...]) -> tuple[int, str]:
    """Return identity and digest of a form, which is added if it is not there yet."""
    text = _form_text(forms)
    digest = form_digest_of(text)
    found = connection.scalar(
        select(func.min(figure_forms.c.form_id)).where(figure_forms.c.digest == digest)
    )
    if found is not None:
        return int(found), digest
    result = connection.execute(figure_forms.insert(), {"digest": digest, "form": text})
    (added,) = result.inserted_primary_key or (0,)
    return int(added), digest


@lru_cache(maxsize=1024)
def form_digest_of(text: str) -> str:
    """Return the SHA-256 of a form's text, in hexadecimal digits."""
    return hashlib.sha256(text.encode("utf-8", "backslashreplace")).hexdigest()


@lru_cache(maxsize=1024)
def _form_text(forms: tuple[FigureForm, ...]) -> str:
    return json_text([asdict(form) for form in forms])


@lru_cache(maxsize=1024)
def _forms_of(text: str) -> tuple[FigureForm, ...]:
    return tuple(
        FigureForm(
            **row
            | {
                "given": tuple(row["given"]),
                "budget": tuple(
                    LineForm(**line | {"evaluation": Evaluation(line["evaluation"])})
                    for line in row["budget"]
                ),
            }
        )
        for row in json.loads(text)
    )
