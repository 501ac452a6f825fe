"""Runs with their latest figures and the check of their edges."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from rig.model.sweeps import Run
from rig.records import Computation, EdgesCheck, Reader, RunFilter


@dataclass(frozen=True, slots=True, kw_only=True)
class RunBehind:
    """A run that another result rests on.

    Attributes:
        run: The run with its edges.
        computation: Latest figures of the run; None if there are none.
        check: Check of its edges against the checksum stored at its end.
    """

    run: Run
    computation: Computation | None
    check: EdgesCheck


def runs_behind(reader: Reader, run_ids: Sequence[str]) -> tuple[RunBehind, ...]:
    """Return runs with their latest figures and the check of their edges.

    Args:
        reader: Open records.
        run_ids: Identities in any order; empty texts and repeats are passed over.

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
