"""The head of the chain kept elsewhere, and the records held against it.

The chain has no key, so it shows a change by somebody who worked its hashes out anew
only to somebody who kept an earlier head: on paper, in another's hands, or in a file
whose time a service attests (RFC 3161).
"""

from __future__ import annotations

import json
import re
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any, Final

from rig.catalogue.input_file import read_text
from rig.errors import InputError
from rig.records import Store
from rig.records.chain import chain_end
from rig.records.chain_check import hash_at
from rig.records.mapping import json_text, time_text
from rig.records.run_check import chain_kept
from rig.version import SOFTWARE_VERSION

_WHAT: Final = "head of the chain of gapsweep's records"
_TYPED: Final = re.compile(r"(\d{1,18}):([0-9a-f]{64})")
_MOST_BYTES: Final = 10_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Anchor:
    """A head of the chain.

    Attributes:
        link: Number of the link that was the last one.
        hash: Hash of that link in hexadecimal digits.
    """

    link: int
    hash: str

    @property
    def typed(self) -> str:
        """The head as it is printed and typed."""
        return f"{self.link}:{self.hash}"


def head_of(store: Store) -> Anchor | None:
    """Return the head of the chain as it is now; None if the records have none yet.

    Raises:
        RecordsError: The records cannot be read.
    """
    with store.reading() as connection:
        if not chain_kept(connection):
            return None
        link, found = chain_end(connection)
    return Anchor(link=link, hash=found.hex()) if link else None


def anchor_text(anchor: Anchor, now: datetime) -> str:
    """Return a head as the text of a file that can be kept or given a time stamp."""
    known = {
        "what": _WHAT,
        "link": anchor.link,
        "hash": anchor.hash,
        "noted_at": time_text(now),
        "software_version": SOFTWARE_VERSION,
    }
    return json_text(known) + "\n"


def anchor_from(given: str) -> Anchor:
    """Return a head that somebody kept: a file, or as it was printed.

    Raises:
        InputError: It is neither.
    """
    typed = _TYPED.fullmatch(given.strip())
    if typed:
        return Anchor(link=int(typed[1]), hash=typed[2])
    text = read_text(Path(given), most_bytes=_MOST_BYTES)
    try:
        known: Any = json.loads(text)
        found = Anchor(link=known["link"], hash=known["hash"])
        if not _TYPED.fullmatch(found.typed):
            raise ValueError(found.typed)
    except (ValueError, TypeError, KeyError) as exc:
        raise InputError(
            f"{given} holds no head of a chain",
            hint="give a file that `gapsweep verify --anchor` wrote, or LINK:HASH as a"
            " report prints it",
        ) from exc
    return found


def fault_against(store: Store, anchor: Anchor) -> str:
    """Say in what the records differ from a head that was kept; empty if in nothing.

    Raises:
        RecordsError: The records cannot be read.
    """
    with store.reading() as connection:
        found = hash_at(connection, anchor.link)
    if found == anchor.hash:
        return ""
    if not found:
        return (
            f"link {anchor.link} of the chain, whose hash was kept, is not there: these"
            " are other records, an earlier copy, or what was recorded last is missing"
        )
    return (
        f"link {anchor.link} of the chain has the hash {found}, and not the one that"
        f" was kept, {anchor.hash}: what was recorded up to there was changed, or these"
        " are other records"
    )
