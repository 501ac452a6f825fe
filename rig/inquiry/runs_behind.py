"""Runs with their latest figures, and whether they are as they were written."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from rig.errors import RunChanged
from rig.model.sweeps import Run
from rig.records import Computation, Reader, RunCheck, RunFilter


@dataclass(frozen=True, slots=True, kw_only=True)
class RunBehind:
    """A run that another result rests on.

    Attributes:
        run: The run with its edges.
        computation: Latest figures of the run; None if there are none.
        check: Whether it is as it was written.
    """

    run: Run
    computation: Computation | None
    check: RunCheck


def runs_behind(reader: Reader, run_ids: Sequence[str]) -> tuple[RunBehind, ...]:
    """Return runs with their latest figures, and whether they are as they were written.

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
    checks = reader.checks(wanted)
    return tuple(
        RunBehind(
            run=run,
            computation=known.get(run.header.run_id),
            check=checks[run.header.run_id],
        )
        for run in reader.iter_runs(RunFilter(run_ids=wanted))
    )


def sound_runs_behind(reader: Reader, run_ids: Sequence[str]) -> tuple[RunBehind, ...]:
    """Return runs as `runs_behind` does, for a result that is to rest on them.

    Raises:
        RunChanged: One of them is not as it was written.
        RecordsError: The records cannot be read.
    """
    found = runs_behind(reader, run_ids)
    refuse_changed(one.check for one in found)
    return found


def refuse_changed(checks: Iterable[RunCheck | None]) -> None:
    """Let runs be used only if they are as they were written.

    Raises:
        RunChanged: One of them is not.
    """
    for check in checks:
        if check is not None and check.changes:
            raise RunChanged(check.sentence)
