"""A run that was changed: whatever comes of that is told as the change."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from rig.errors import RunChanged
from rig.records import RunCheck


@contextmanager
def change_told(check: RunCheck) -> Iterator[None]:
    """Let what goes wrong with a run that was changed pass as that alone.

    What stands there then may be anything: no number, no name, a speed of 0.

    Args:
        check: The run against what was written.

    Raises:
        RunChanged: The run was changed, and something went wrong.
    """
    try:
        yield
    except Exception as exc:
        if not check.changes:
            raise
        raise RunChanged(check.sentence) from exc
