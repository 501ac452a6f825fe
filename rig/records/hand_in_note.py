"""What a bench knows of its server while it cannot reach it: a note beside its records.

The server alone says what it has; the note says what it said last, and where it is. No
password is kept in it.
"""

from __future__ import annotations

import json
import os
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from typing import Final

from sqlalchemy import func, select
from sqlalchemy.engine import make_url

from rig.errors import RecordsError
from rig.records.chain import RUN_ENDED
from rig.records.failures import told_plainly
from rig.records.mapping import time_text
from rig.records.schema import run_conditions, runs, sweeps
from rig.records.schema_attempts import attempts, outcomes
from rig.records.schema_chain import chain
from rig.records.schema_datum import datum_checks
from rig.records.schema_notes import run_notes
from rig.records.server_engine import shown_url
from rig.records.store import Store

_SUFFIX: Final = "-server.json"
_MOST_BYTES: Final = 10_000
_OF_RUNS: Final = (
    *(runs, run_conditions, sweeps, datum_checks, attempts, outcomes, run_notes),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class HandInNote:
    """What the server said last.

    Attributes:
        server: URL of the bench's records on the server, without a password.
        bench: Name of the bench.
        last: The last link that the server has.
        handed_in_at: When it said so, UTC.
    """

    server: str
    bench: str
    last: int
    handed_in_at: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class Waiting:
    """What is not handed in.

    Attributes:
        runs: Runs and attempts of which something is not.
        links: Links of the chain that are not.
        missing: Links that the server has and these records do not.
    """

    runs: int
    links: int
    missing: int


def write_note(records: Path, note: HandInNote) -> HandInNote:
    """Put the note beside the records, whole or as it was, without a password.

    Returns:
        The note as it was written.

    Raises:
        RecordsError: It cannot be written.
    """
    path = _place(records)
    part = path.with_name(f".{path.name}.part")
    url = make_url(note.server).set(password=None)
    kept = replace(note, server=shown_url(url))
    content = {
        "server": kept.server,
        "bench": kept.bench,
        "last_link": kept.last,
        "handed_in_at": time_text(kept.handed_in_at),
    }
    with told_plainly(str(path)):
        part.write_text(json.dumps(content, indent=1) + "\n", encoding="utf-8")
        os.replace(part, path)
    return kept


def read_note(records: Path) -> HandInNote | None:
    """Return the note beside the records; None where none was written yet.

    Raises:
        RecordsError: It is damaged.
    """
    path = _place(records)
    if not path.exists():
        return None
    with (
        told_plainly(str(path)),
        path.open(encoding="utf-8", errors="replace") as file,
    ):
        text = file.read(_MOST_BYTES)
    try:
        content = json.loads(text)
        return HandInNote(
            server=str(content["server"]),
            bench=str(content["bench"]),
            last=int(content["last_link"]),
            handed_in_at=datetime.fromisoformat(content["handed_in_at"]),
        )
    except (ValueError, TypeError, LookupError) as exc:
        raise RecordsError(
            f"{path} is damaged: it says what the server has of these records",
            hint="remove it and run gapsweep sync with --server and --bench, which"
            " writes it anew",
        ) from exc


def waiting(store: Store, last: int) -> Waiting:
    """Return what of records follows upon a link.

    Raises:
        RecordsError: The records cannot be read.
    """
    kinds = [*(table.name for table in _OF_RUNS), RUN_ENDED]
    of_runs = select(func.count(chain.c.subject.distinct())).where(
        chain.c.link > last, chain.c.kind.in_(kinds)
    )
    with store.reading() as connection:
        end = connection.scalar(select(func.max(chain.c.link))) or 0
        count = connection.scalar(of_runs) or 0
    return Waiting(runs=count, links=max(0, end - last), missing=max(0, last - end))


def _place(records: Path) -> Path:
    return records.with_name(records.name + _SUFFIX)
