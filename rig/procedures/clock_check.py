"""Whether the clock of this computer fits what is on record."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Final

from rig.records import Reader, RunFilter

# Clocks of several computers that write to one server differ by less
_CLOCKS_APART: Final = timedelta(seconds=2)


def clock_remark(reader: Reader, now: datetime) -> str:
    """Say that a run on record is from later than now; empty if none is.

    Args:
        reader: Reads the records.
        now: Time by the clock; aware.

    Raises:
        RecordsError: The records cannot be read.
    """
    newest = reader.runs(RunFilter(newest=1))
    if not newest or newest[0].started_at <= now + _CLOCKS_APART:
        return ""
    run = newest[0]
    return (
        f"The clock says {_words(now)}, but run {run.run_id} on record began at"
        f" {_words(run.started_at)}, later than that: the clock was set back, or was"
        " ahead then. Runs stay in the order in which they are recorded, but days and"
        " due dates go by the clock: set it right."
    )


def _words(moment: datetime) -> str:
    return f"{moment.astimezone(UTC):%Y-%m-%d %H:%M:%S} UTC"
