"""The whole chain, and all rows held against it. Reads only."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Final

from sqlalchemy import Connection, select

from rig.records import schema
from rig.records.chain import FIGURES, NO_HASH, Link, link_hash
from rig.records.chained_tables import BY_ROWS, links_of_rows
from rig.records.kept_figures import (
    all_computations,
    figures_link,
)
from rig.records.plain_rows import streamed_rows
from rig.records.run_check import RUN_TABLES, chain_kept
from rig.records.schema_attempts import ATTEMPT_TABLES
from rig.records.schema_chain import chain
from rig.records.schema_notes import run_notes

_NOUNS: Final[Mapping[str, str]] = {
    "plans": "plan",
    "plan_items": "item of plan",
    "attempts": "attempt",
    "outcomes": "outcome of attempt",
    "lots": "lot",
    "lot_parts": "reading of a part in lot",
    "lot_decisions": "decision about lot",
    "switching_states": "switching state",
    "calibrations": "calibration",
    "hand_readings": "reading by hand",
    "studies": "study",
    "study_rows": "row of study",
    "study_readings": "reading of study",
    "run_notes": "note to run",
    "bench_declarations": "bench declaration",
    "place_checks": "check of a screw",
    "supply_switchings": "switchings of a supply",
    "product_versions": "version of product",
    "product_approvals": "approval of product",
    "issued_documents": "document",
    "rigs": "entry of a rig",
    "operators": "entry of an operator",
    "trail": "entry of the trail",
}
# What needs no number to be told from others
_BY_NAME: Final = {
    "plans",
    "lots",
    "lot_decisions",
    "calibrations",
    "studies",
    "place_checks",
    "supply_switchings",
    "issued_documents",
}
# Parts of runs that may be there without their run
_BY_THEMSELVES: Final = {*(table.name for table in ATTEMPT_TABLES), run_notes.name}
_Key = tuple[str, str, int]


@dataclass(frozen=True, slots=True, kw_only=True)
class RecordsChain:
    """The chain of the records, and whether what it holds is as it was written.

    Attributes:
        kept: Whether a chain is kept; earlier records that are only read have none.
        links: Number of links.
        head: Hash of the last one in hexadecimal digits; empty without any.
        faults: What is not as it was written, in words; runs are checked by themselves.
    """

    kept: bool
    links: int
    head: str
    faults: tuple[str, ...]


def check_records_chain(connection: Connection) -> RecordsChain:
    """Check every link, and every row that is no part of a run, against its link."""
    if not chain_kept(connection):
        return RecordsChain(kept=False, links=0, head="", faults=())
    walk = _Walk()
    faults = list(walk.faults(connection))
    faults += _row_faults(connection, walk.digests)
    faults += _figure_faults(connection, walk.digests)
    faults += _missing(connection, walk.digests)
    return RecordsChain(
        kept=True, links=walk.number, head=walk.head.hex(), faults=tuple(faults)
    )


def hash_at(connection: Connection, link: int) -> str:
    """Return the hash of a link in hexadecimal digits; empty if there is none."""
    if not chain_kept(connection):
        return ""
    found = connection.scalar(select(chain.c.hash).where(chain.c.link == link))
    return "" if found is None else bytes(found).hex()


class _Walk:
    """Goes through the links in order, and remembers what they hold.

    Attributes:
        number: Number of the last link.
        head: Hash of the last link.
        digests: Digest of what is linked, by its key; none of parts of runs, which are
            looked up when their run is checked.
    """

    def __init__(self) -> None:
        self.number, self.head = 0, NO_HASH
        self.digests: dict[_Key, bytes] = {}

    def faults(self, connection: Connection) -> Iterator[str]:
        """Yield in words what is wrong with the links themselves."""
        apart = {"sweeps", *(t.name for t in RUN_TABLES if t is not schema.runs)}
        apart -= _BY_THEMSELVES
        query = select(chain).order_by(chain.c.link)
        for number, kind, subject, place, digest, found in streamed_rows(
            connection, query
        ):
            if number != self.number + 1:
                missing = f"links {self.number + 1} to {number - 1}"
                yield f"{missing} of the chain are missing"
            link = Link(kind=kind, subject=subject, place=place, digest=bytes(digest))
            if link_hash(self.head, number, link) != bytes(found):
                yield (
                    f"link {number} of the chain is not the one that was written after"
                    f" link {number - 1}"
                )
            self.number, self.head = number, bytes(found)
            if kind not in apart:
                self.digests[kind, subject, place] = link.digest


def _row_faults(connection: Connection, digests: dict[_Key, bytes]) -> Iterator[str]:
    """Yield the rows that are not as they were written, and leave what has none."""
    runs = set(connection.scalars(select(schema.runs.c.run_id)))
    for table in BY_ROWS:
        if table in RUN_TABLES and table.name not in _BY_THEMSELVES:
            continue
        for link in links_of_rows(connection, table):
            digest = digests.pop((link.kind, link.subject, link.place), None)
            if digest == link.digest:
                continue
            if table.name in _BY_THEMSELVES and link.subject in runs:
                continue  # said of the run
            state = "is not in the chain" if digest is None else "was altered"
            yield f"{_named(link.kind, link.subject, link.place)} {state}"


def _figure_faults(connection: Connection, digests: dict[_Key, bytes]) -> Iterator[str]:
    """Yield what computations are not as they were written."""
    added = {
        place: (int(subject), digests.pop((kind, subject, place)))
        for kind, subject, place in list(digests)
        if kind == FIGURES
    }
    known: list[tuple[int, bytes]] = []
    for new, run_id, digest, sound in all_computations(connection):
        known.append((new, digest))
        if not sound:
            yield f"figures number {new}, of run {run_id}, were altered"
    at = {new: place for place, (new, _) in enumerate(known)}
    linked = 0
    for first, (count, digest) in sorted(added.items()):
        start = at.get(first)
        some = [] if start is None else known[start : start + count]
        linked += count
        if not some or figures_link(some).digest != digest:
            last = f" to {first + count - 1}" if count > 1 else ""
            yield f"figures number {first}{last} are not those that were added"
    if linked < len(known):
        yield f"{len(known) - linked} computations of figures are not in the chain"


def _missing(connection: Connection, digests: Mapping[_Key, bytes]) -> Iterator[str]:
    """Yield what the chain has, and the tables have not."""
    runs = set(connection.scalars(select(schema.runs.c.run_id)))
    for kind, subject, place in digests:
        if kind == schema.runs.name and subject not in runs:
            yield f"run {subject} is missing"
        elif kind in _NOUNS and not (kind in _BY_THEMSELVES and subject in runs):
            yield f"{_named(kind, subject, place)} is missing"


def _named(kind: str, subject: str, place: int) -> str:
    if kind in _BY_NAME:
        return f"{_NOUNS[kind]} {subject}"
    return f"{_NOUNS[kind]} {subject and f'{subject}, '}number {place}"
