"""Files that an export writes: whole or not at all."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import IO

from rig.errors import RecordsError


@contextmanager
def told_plainly(path: Path) -> Iterator[None]:
    """Turn what the system says of a file into a sentence.

    Raises:
        RecordsError: It cannot be written.
    """
    try:
        yield
    except OSError as exc:
        reason = (exc.strerror or str(exc)).lower()
        raise RecordsError(
            f"cannot export to {path}: {reason}",
            hint="name a folder that exists, has room and that you may write to",
        ) from exc


@contextmanager
def placed_when_complete(path: Path) -> Iterator[IO[bytes]]:
    """Give a file to write to, which gets its name when it is complete.

    Raises:
        OSError: It cannot be written.
    """
    part = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        with part.open("wb") as file:
            yield file
            file.flush()
            os.fsync(file.fileno())
        part.replace(path)
    finally:
        part.unlink(missing_ok=True)
