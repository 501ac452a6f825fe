"""Which setting of the trimmer a run of a lesson belongs to."""

from __future__ import annotations

from typing import Final

from rig.model.sweeps import RunHeader

BEFORE: Final = "trimmer: before"
TURNED: Final = "trimmer: after"


def setting_of(header: RunHeader) -> str:
    """Return the setting of a run; empty for one that is of no comparison of two."""
    note = header.conditions.note
    return note if note in (BEFORE, TURNED) else ""
