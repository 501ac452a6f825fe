"""Files that people ask for: named after what is in them, whole or not at all."""

from __future__ import annotations

import contextlib
import os
import re
from datetime import datetime
from itertools import count
from pathlib import Path

from rig.errors import InputError
from rig.model.new_file import refuse_existing

_LONGEST_SUBJECT = 60


def write_new(path: Path, text: str) -> None:
    """Write a text file, whole or not at all; never over another.

    Raises:
        InputError: It exists already, or cannot be written there.
    """
    refuse_existing(path)
    part = path.with_name(f".{path.name}.part")
    try:
        part.write_text(text, "utf-8")
        os.replace(part, path)
    except OSError as exc:
        with contextlib.suppress(OSError):
            part.unlink(missing_ok=True)
        reason = (exc.strerror or str(exc)).lower()
        raise InputError(f"{path} cannot be written: {reason}") from exc


def file_name(kind: str, *words: str, at: datetime) -> str:
    """Return a name that says what the file is of, without an ending."""
    subject = "-".join(re.sub(r"[^\w.]+", "-", word).strip("-.") for word in words)
    subject = re.sub(r"-{2,}", "-", subject).strip("-")[:_LONGEST_SUBJECT]
    return "-".join(filter(None, (kind, subject, f"{at:%Y-%m-%d-%H%M%S}")))


def free_path(folder: Path, name: str, ending: str) -> Path:
    """Return a path of that name that nothing has yet, numbered where it is taken.

    Args:
        folder: Where the file is to be.
        name: Name without an ending.
        ending: Ending with its point; empty for a folder.
    """
    if not (first := folder / f"{name}{ending}").exists():
        return first
    return next(
        path
        for number in count(2)
        if not (path := folder / f"{name}-{number}{ending}").exists()
    )
