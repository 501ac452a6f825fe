"""The chain over every row that decides: its links, and how they are added.

Whoever can write the file can also work every later hash out anew. The chain shows
accidents and changes by anybody who does not do that; a hash that was printed or sent
before shows the rest.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from sqlalchemy import Connection, Table, select

from rig.records import schema
from rig.records.plain_rows import insert_plain
from rig.records.row_text import row_text_of
from rig.records.schema_chain import chain

# First bytes under a link's hash; a change of what follows them needs new ones
_HEAD: Final = b"chain 1\n"
_COLUMNS: Final = ("link", "kind", "subject", "place", "digest", "hash")
_ROWS_AT_ONCE: Final = 10_000
NO_HASH: Final = b""
"""What stands before the first link."""

RUN_ENDED: Final = "run ended"
"""A run as a whole: `rig.records.run_content`."""
FIGURES: Final = "figures added"
"""Computations that were added at once: `rig.records.kept_figures`."""
EARLIER_FIGURES: Final = "earlier figures"
"""A computation from before the chain was kept."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Link:
    """What is linked, before it has its place in the chain.

    Attributes:
        kind: Table of the row, or what else it is.
        subject: Texts of its key.
        place: Number of its key; 0 without one.
        digest: SHA-256 of it.
    """

    kind: str
    subject: str
    place: int
    digest: bytes


def link_hash(previous: bytes, number: int, link: Link) -> bytes:
    """Return the SHA-256 of a link and the hash before it.

    The bytes under it are `_HEAD`, the hash before, number, kind, subject and place as
    a JSON array without blanks, every character beyond ASCII escaped, and the digest.
    """
    words = [number, link.kind, link.subject, link.place]
    text = json.dumps(words, ensure_ascii=True, separators=(",", ":"))
    return hashlib.sha256(
        b"".join((_HEAD, previous, text.encode("ascii"), link.digest))
    ).digest()


def append_links(connection: Connection, links: Iterable[Link]) -> None:
    """Add links to the end of the chain, inside the transaction that adds the rows."""
    number, head = chain_end(connection)
    rows: list[tuple[Any, ...]] = []
    for link in links:
        number += 1
        head = link_hash(head, number, link)
        rows.append((number, link.kind, link.subject, link.place, link.digest, head))
        if len(rows) == _ROWS_AT_ONCE:
            insert_plain(connection, chain, _COLUMNS, rows)
            rows.clear()
    if rows:
        insert_plain(connection, chain, _COLUMNS, rows)


def chain_end(connection: Connection) -> tuple[int, bytes]:
    """Return number and hash of the last link; 0 and no hash without one."""
    last = connection.execute(
        select(chain.c.link, chain.c.hash).order_by(chain.c.link.desc()).limit(1)
    ).first()
    return (0, NO_HASH) if last is None else (last.link, bytes(last.hash))


def insert_chained(
    connection: Connection, table: Table, *rows: Mapping[str, Any]
) -> None:
    """Insert rows that decide, each with its link, inside a transaction."""
    links = []
    for row in rows:
        whole = dict(row)
        result = connection.execute(table.insert(), whole)
        given = result.inserted_primary_key or ()
        whole |= {c.name: v for c, v in zip(table.primary_key, given, strict=True)}
        links.append(row_link(table, whole))
    append_links(connection, links)


def row_link(table: Table, row: Mapping[str, Any]) -> Link:
    """Return the link of a row, given by all its columns that are not empty."""
    text = row_text_of(table, schema.FREE.get(table, ())).of_row(dict(row))
    subject, place = key_of(table, [row[c.name] for c in table.primary_key])
    return Link(kind=table.name, subject=subject, place=place, digest=text_digest(text))


def key_of(table: Table, values: Sequence[Any]) -> tuple[str, int]:
    """Return subject and place of a row with this primary key."""
    *texts, last = values
    if isinstance(last, int):
        return " ".join(map(str, texts)), last
    return " ".join(map(str, values)), 0


def text_digest(text: str) -> bytes:
    """Return the SHA-256 of an ASCII text."""
    return hashlib.sha256(text.encode("ascii")).digest()
