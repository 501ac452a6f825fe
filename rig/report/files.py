"""Files that people ask for: whole or not at all."""

from __future__ import annotations

import contextlib
import os
from pathlib import Path

from rig.errors import InputError


def write_whole(path: Path, text: str) -> None:
    """Write a text file; an earlier one of that name stays until this one is whole.

    Raises:
        InputError: It cannot be written there.
    """
    part = path.with_name(f".{path.name}.part")
    try:
        part.write_text(text, "utf-8")
        os.replace(part, path)
    except OSError as exc:
        with contextlib.suppress(OSError):
            part.unlink(missing_ok=True)
        reason = (exc.strerror or str(exc)).lower()
        raise InputError(f"{path} cannot be written: {reason}") from exc


def write_new(path: Path, text: str) -> None:
    """Write a text file that somebody may edit by hand later; never over one.

    Raises:
        InputError: It exists already, or cannot be written there.
    """
    if path.exists():
        raise InputError(
            f"{path} already exists and is not overwritten",
            hint="name another file with --out",
        )
    write_whole(path, text)
