"""That no file is overwritten which was there before."""

from __future__ import annotations

from pathlib import Path

from rig.errors import InputError


def refuse_existing(*paths: Path) -> None:
    """Let files be written only where there is none yet.

    Raises:
        InputError: One exists already.
    """
    for path in paths:
        if path.exists():
            raise InputError(
                f"{path} already exists and is not overwritten",
                hint="name another file, or remove it first",
            )
