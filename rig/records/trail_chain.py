"""The chain of the trail: hashes of its entries. Pure: knows no database.

Whoever can write the file can also work every later hash out anew. The chain shows a
change by anybody who does not do that; a hash that was printed or sent before shows the
rest.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

from rig.records.mapping import StoredRow

# First line of the hashed text; a change of the text needs a new one
CHAIN_HEAD: Final = "trail 1\n"
NO_HASH: Final = ""
"""What stands before the first entry."""
CHAINED: Final = (
    "entry",
    "kind",
    "subject",
    "action",
    "person",
    "authority",
    "reason",
    "state_before",
    "state_after",
    "entered_at",
    "software_version",
    "previous_hash",
)
"""Columns under the hash of an entry, in this order."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ChainFault:
    """An entry of the trail that is not as it was written.

    Attributes:
        entry: Number of the entry, from 1.
        sentence: What is wrong with it.
    """

    entry: int
    sentence: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ChainCheck:
    """Whether the trail is as it was written.

    Attributes:
        entries: Number of entries.
        head: Hash of the last one; empty without any.
        faults: Entries that are not as they were written, in order.
    """

    entries: int
    head: str
    faults: tuple[ChainFault, ...]


def entry_hash(row: StoredRow) -> str:
    """Return the SHA-256 of an entry and the hash before it, in hexadecimal digits.

    The text under it is `CHAIN_HEAD`, then the columns `CHAINED` as a JSON array
    without blanks, every character beyond ASCII escaped.
    """
    columns = [row[name] for name in CHAINED]
    text = json.dumps(columns, ensure_ascii=True, separators=(",", ":"))
    return hashlib.sha256(f"{CHAIN_HEAD}{text}".encode("ascii")).hexdigest()


def check_chain(rows: Iterable[StoredRow]) -> ChainCheck:
    """Check entries of the trail, given in order from the first."""
    number, head = 0, NO_HASH
    count = 0
    faults: list[ChainFault] = []
    for row in rows:
        count += 1
        entry = int(row["entry"])
        if entry != number + 1:
            missing = f"entries {number + 1} to {entry - 1} are"
            if entry == number + 2:
                missing = f"entry {number + 1} is"
            words = f"{missing} missing from the trail"
            faults.append(ChainFault(entry=number + 1, sentence=words))
        elif row["previous_hash"] != head and number:
            words = (
                f"entry {number} is not the one that entry {entry} was written after"
            )
            faults.append(ChainFault(entry=number, sentence=words))
        elif row["previous_hash"] != head:
            words = "entry 1 was written after another, which is missing"
            faults.append(ChainFault(entry=1, sentence=words))
        if entry_hash(row) != row["hash"]:
            words = f"entry {entry} was altered after it was written"
            faults.append(ChainFault(entry=entry, sentence=words))
        number, head = entry, row["hash"]
    return ChainCheck(entries=count, head=head, faults=tuple(faults))
