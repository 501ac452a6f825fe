"""New files that somebody may go on writing by hand."""

from __future__ import annotations

from pathlib import Path

from rig.errors import InputError
from rig.report.files import write_whole


def write_new(path: Path, text: str) -> None:
    """Write a text file that somebody may go on writing by hand; never over one.

    Raises:
        InputError: It is there already, or cannot be written there.
    """
    if path.exists():
        raise InputError(
            f"{path} is there already and is left alone",
            hint="name another file with --out",
        )
    write_whole(path, text)
