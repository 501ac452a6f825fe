"""Runs with their latest figures and the check of their edges."""

from __future__ import annotations

from collections.abc import Sequence

from rig.records import Reader, RunFilter
from rig.report.run_facts import RunBehind


def runs_of(reader: Reader, run_ids: Sequence[str]) -> tuple[RunBehind, ...]:
    """Return runs with their latest figures and the check of their edges.

    Raises:
        RecordsError: The records cannot be read.
    """
    wanted = tuple(dict.fromkeys(run_id for run_id in run_ids if run_id))
    if not wanted:
        return ()
    known = reader.latest_computations(wanted)
    return tuple(
        RunBehind(
            run=run,
            computation=known.get(run.header.run_id),
            check=reader.verify(run.header.run_id),
        )
        for run in reader.iter_runs(RunFilter(run_ids=wanted))
    )
