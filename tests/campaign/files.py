"""Records files with flipped bits, and what a reader is shown of them."""

from __future__ import annotations

import json
import random
import sqlite3
from collections import Counter
from collections.abc import Iterator
from contextlib import closing
from datetime import timedelta
from pathlib import Path

from rig.analysis.run.run_figures import run_figures
from rig.errors import RigError
from rig.inquiry.documents import document
from rig.inquiry.recorded_run import recorded_run
from rig.inquiry.run_document import run_document
from rig.inquiry.run_list import run_list
from rig.inquiry.verification import verify_records
from rig.model.attempts import Attempt, AttemptEnd, Outcome
from rig.model.sweeps import Run
from rig.records import RunFilter, Store, Writer, open_records
from rig.records.attempt_book import AttemptBook
from rig.records.notes import NoteBook
from tests import builders
from tests.builders import NOON

RUN_IDS = ("20261125-120000-000-0000", "20261125-120100-000-0001")


def measured(number: int) -> Run:
    """Return a run of six sweeps of which one is void."""
    chance = random.Random(number)
    sweeps = [
        builders.sweep(
            index,
            [
                builders.edge(
                    13600 + chance.randrange(20),
                    level=True,
                    approaching=True,
                    number=2 * index,
                    time_us=2000 * index,
                ),
                builders.edge(
                    12736 + chance.randrange(20),
                    level=False,
                    approaching=False,
                    number=2 * index + 1,
                    time_us=2000 * index + 900,
                ),
            ],
            speed_mm_s=(1.0, 4.0)[index % 2],
            void="an edge too many" if index == 3 else "",
        )
        for index in range(6)
    ]
    begun = NOON + timedelta(minutes=number)
    return builders.run(
        sweeps,
        ended_at=begun + timedelta(seconds=50),
        run_id=RUN_IDS[number],
        part=f"S-{number}",
        started_at=begun,
    )


def put_on_record(store: Store, run: Run) -> None:
    header, writer, book = run.header, Writer(store), AttemptBook(store)
    attempt = Attempt(
        run_id=header.run_id,
        index=0,
        sensor=header.sensor,
        target=header.target,
        sweeps_wanted=header.sweeps_wanted,
        simulated=True,
        rig_id=header.conditions.rig_id,
        started_at=header.started_at,
        part=header.part,
    )
    assert run.ended_at is not None
    book.begin(attempt)
    writer.begin_run(header)
    for sweep in run.sweeps:
        writer.add_sweep(header.run_id, sweep)
    for index, check in enumerate(run.datum_checks):
        writer.add_datum_check(header.run_id, index, check)
    writer.end_run(header.run_id, ended_at=run.ended_at, home_shift_steps=0)
    writer.add_figures(header.run_id, run_figures(run), computed_at=run.ended_at)
    end = AttemptEnd(
        outcome=Outcome.FIGURES, sentence="", causes="", ended_at=run.ended_at
    )
    book.end(attempt, end)
    notes = NoteBook(store)
    notes.add(header.run_id, "by the window", author="K. Ames", entered_at=NOON)


def sound_file(path: Path) -> bytes:
    """Return a small file with two runs, their attempts, figures and notes."""
    with open_records(path) as store:
        for number in range(2):
            put_on_record(store, measured(number))
    with closing(sqlite3.connect(path)) as tool:
        tool.execute("PRAGMA journal_mode = DELETE")
        # Small pages: more of the file is rows
        tool.execute("PRAGMA page_size = 512")
        tool.execute("VACUUM")
    return path.read_bytes()


def flipped(sound: bytes, chance: random.Random) -> bytes:
    damaged = bytearray(sound)
    for _ in range(chance.choice((1, 4))):
        damaged[chance.randrange(len(damaged))] ^= 1 << chance.randrange(8)
    return bytes(damaged)


def shown(path: Path) -> Iterator[str]:
    """Yield what is shown of the list, and of each run."""
    with open_records(path, read_only=True) as store:
        yield json.dumps(document("results", run_list(store, RunFilter())), default=str)
        for run_id in RUN_IDS:
            found = run_document(recorded_run(store, run_id))
            yield json.dumps(document("run", found), default=str)


def outcome_of(path: Path, sound: list[str]) -> str:
    """Return refused, flagged, verified, unchanged, silent or the name of an error."""
    seen: list[str] = []
    try:
        seen.extend(shown(path))
    except RigError as exc:
        return "refused" if str(exc) and "\n" not in str(exc) else "no sentence"
    except Exception as exc:  # which must not be, so it is counted by its name
        return type(exc).__name__
    if seen == sound:
        return "unchanged"
    # The list comes first
    told = [json.loads(one) for one in seen]
    if any(one["changes"] for one in [*told[0]["runs"], *told[1:]]):
        return "flagged"
    listed, whole = told[0]["runs"], json.loads(sound[0])["runs"]
    if seen[1:] == sound[1:] and all(row in whole for row in listed):
        with open_records(path, read_only=True) as store:
            return "silent" if verify_records(store).intact else "verified"
    return "silent"


def damaged_files(count: int, folder: Path) -> Counter[str]:
    """Damage a file so many times, each time anew; return what came of it."""
    path = folder / "measured.sqlite"
    sound = sound_file(path)
    as_it_was = list(shown(path))
    chance = random.Random(count)
    found: Counter[str] = Counter()
    for _ in range(count):
        path.write_bytes(flipped(sound, chance))
        found[outcome_of(path, as_it_was)] += 1
    return found
